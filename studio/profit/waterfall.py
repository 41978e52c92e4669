"""The bridge drawn: from the quoted profit down or up, step by step, to what was earned."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.svg import Canvas
from inventory.ground.wording import money_text
from studio.profit.piece import Account, BridgeLine, StepGroup, StepPart

__all__ = ["Step", "steps", "waterfall"]

ROW, BAR, WIDTH = 26.0, 15.0, 340.0
BARS_FROM, BARS_TO = 112.0, 264.0

_STEPS = {
    "change": "Changes agreed",
    "discount": "Discount",
    "invoice": "Invoiced apart",
    "credit": "Price lowered",
    "fee": "Fees",
    "quantity": "Material used",
    "price": "Material prices",
    "spoiled": "Spoiled",
    "hours": "Time",
    "rate": "Rate of an hour",
    "rework": "Done again",
    "overhead": "Overhead",
    "contingency": "Contingency",
    "extra": "Extras",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Lines of a bridge that are drawn as one."""

    words: str
    amount: Decimal


def steps(bridge: Sequence[BridgeLine]) -> tuple[Step, ...]:
    """Return the bridge in few steps, which add up to the same; a step of nothing is left out."""
    amounts: dict[str, Decimal] = defaultdict(Decimal)
    for line in bridge:
        amounts[_step(line)] += line.amount
    return tuple(Step(words=words, amount=amounts[key]) for key, words in _STEPS.items() if amounts.get(key))


def waterfall(account: Account) -> str:
    """Return an SVG of an account's bridge: quoted profit on top, a bar for each step, what was earned below."""
    found = steps(account.bridge)
    code = account.currency.code
    ends = [account.quoted_profit]
    for step in found:
        ends.append(ends[-1] + step.amount)
    low, high = float(min(Decimal(0), *ends)), float(max(Decimal(0), *ends))
    scale = (BARS_TO - BARS_FROM) / ((high - low) or 1)

    def x(amount: Decimal | float) -> float:
        return BARS_FROM + (float(amount) - low) * scale

    height = ROW * (len(found) + 2)
    canvas = Canvas(
        title="From the quoted profit to what was earned",
        left=0,
        bottom=-height,
        width=WIDTH,
        height=height,
        classes="drawing drawing-bridge",
    )
    canvas.line([(x(0), 0), (x(0), -height)], "zero-line")
    rows: list[tuple[str, Decimal, Decimal, Decimal, str]] = [
        ("Quoted", Decimal(0), account.quoted_profit, account.quoted_profit, "bar-whole"),
        *(
            (step.words, before, after, step.amount, "bar-gain" if step.amount > 0 else "bar-loss")
            for step, before, after in zip(found, ends[:-1], ends[1:], strict=True)
        ),
        ("Earned", Decimal(0), account.profit, account.profit, "bar-whole"),
    ]
    for place, (words, start, end, amount, classes) in enumerate(rows):
        middle = -ROW * (place + 0.5)
        top, bottom = middle + BAR / 2, middle - BAR / 2
        corners = [(x(start), top), (x(end), top), (x(end), bottom), (x(start), bottom)]
        canvas.line(corners, classes, closed=True)
        if place < len(rows) - 1:
            canvas.line([(x(end), bottom), (x(end), bottom - ROW + BAR)], "bridge-thread")
        canvas.text((0, middle - 4), words, "step-name", anchor="start")
        sign = "+" if classes == "bar-gain" else ""
        canvas.text((WIDTH, middle - 4), f"{sign}{money_text(amount, code)}", "step-amount", anchor="end")
    return canvas.markup()


def _step(line: BridgeLine) -> str:
    match line.group:
        case StepGroup.MATERIAL:
            return "price" if line.part is StepPart.PRICE else "quantity"
        case StepGroup.LABOUR:
            return line.part
        case _:
            return line.group
