"""Stock over time as a drawing: steps of the balance, a line at nothing, what is short below it."""

from collections.abc import Sequence
from datetime import date

from inventory.ground.svg import Canvas
from inventory.reckoning.projection import Point

__all__ = ["balance_plot"]

WIDTH, HEIGHT, MARGIN = 600.0, 150.0, 34.0


def balance_plot(on_hand: int, points: Sequence[Point], *, start: date, words: Sequence[str], title: str) -> str:
    """Return an SVG of a projected balance from `start` on; `words` say the balance at each point."""
    days = [start, *(max(start, point.day) for point in points)]
    balances = [on_hand, *(point.balance for point in points)]
    span = max(1, (days[-1] - start).days)
    low, high = min(0, *balances), max(1, *balances)

    def x(day: date) -> float:
        return WIDTH * (day - start).days / span

    def y(balance: int) -> float:
        return HEIGHT * (balance - low) / (high - low)

    canvas = Canvas(
        title=title,
        left=-MARGIN,
        bottom=-MARGIN,
        width=WIDTH + 3 * MARGIN,
        height=HEIGHT + 2 * MARGIN,
        classes="drawing drawing-plot",
    )
    canvas.text((0, y(on_hand) + 8), "now", "place", anchor="start")
    canvas.line([(0, y(0)), (WIDTH, y(0))], "zero-line")
    steps: list[tuple[float, float]] = [(0, y(on_hand))]
    for day, balance in zip(days[1:], balances[1:], strict=True):
        steps += [(x(day), steps[-1][1]), (x(day), y(balance))]
    steps.append((WIDTH, steps[-1][1]))
    canvas.line(steps, "balance-line")
    # Words keep clear of each other: one is written only where the last ended.
    free_from = -MARGIN
    for day, balance, said in zip(days[1:], balances[1:], words, strict=True):
        at = min(max(x(day), 0.0), WIDTH)
        canvas.ring((at, y(balance)), 3, "balance-short" if balance < 0 else "balance-point")
        if at > free_from:
            canvas.text((at + 7, y(balance) - 4), said, "measure", anchor="start")
            canvas.text((at, -MARGIN + 12), f"{day.day} {day:%b}", "place", anchor="middle")
            free_from = at + 7 * len(said)
    return canvas.markup()
