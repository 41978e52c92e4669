"""What a piece earned, in one sentence with its largest causes."""

from decimal import Decimal

from inventory.ground.money import Currency
from inventory.ground.wording import money_text
from studio.profit.piece import Account, BridgeLine, StepGroup, StepPart
from studio.profit.wording import hours_text, lowered

__all__ = ["sentence"]

MOST_CAUSES = 3
LEAST_SHARE = Decimal("0.1")  # of the largest: what is smaller explains nothing


def sentence(account: Account) -> str:
    """Return one plain sentence: profit against the quote, then the two or three largest causes.

    Those that explain the result come first, those that worked against it after a semicolon. Operations are one cause
    unless one of them makes up half of what all together differ. Where nothing differs, no cause is named. Time that
    nobody logged, where it is more than a few minutes, has a sentence of its own.
    """
    missing = _missing(account.missing_hours) if account.is_unsure else ""
    difference = account.profit - account.quoted_profit
    head = _head(account, difference)
    lines = _largest(_operations_together(account), difference)
    if not lines:
        return f"{head}.{missing}"
    falls = difference < 0
    told = [", ".join(_cause(line, account.currency) for line in side) for side in _sides(lines, falls=falls) if side]
    return f"{head}: {'; '.join(told)}.{missing}"


def _missing(hours: Decimal) -> str:
    """What nobody logged, as a sentence after another one.

    >>> _missing(Decimal("1.0")), _missing(Decimal("2.5"))
    (' 1 hour of it was not logged and counts as planned.', ' 2.5 hours of it were not logged and count as planned.')
    """
    words = hours_text(hours)
    was, counts = ("was", "counts") if words.startswith("1 ") else ("were", "count")
    return f" {words.capitalize()} of it {was} not logged and {counts} as planned."


def _head(account: Account, difference: Decimal) -> str:
    code = account.currency.code
    if account.profit < 0:
        was = "loss" if account.quoted_profit < 0 else "profit"
        quoted = money_text(abs(account.quoted_profit), code)
        return f"It lost {money_text(-account.profit, code)} where a {was} of {quoted} was quoted"
    if not difference:
        return f"It earned {money_text(account.profit, code)}, just as quoted"
    sense = "less" if difference < 0 else "more"
    return f"It earned {money_text(abs(difference), code)} {sense} than quoted"


def _operations_together(account: Account) -> list[BridgeLine]:
    """The bridge with one line for all operations, where they differ in many small things."""
    operations = [line for line in account.bridge if _is_efficiency(line)]
    together = sum((line.amount for line in operations), Decimal(0))
    if not operations or 2 * max(abs(line.amount) for line in operations) >= abs(together):
        return list(account.bridge)
    hours = account.hours - account.rework_hours - account.quoted_hours
    words = f"The work took {hours_text(abs(hours))} {'longer' if hours > 0 else 'less'} in all"
    others = [line for line in account.bridge if not _is_efficiency(line)]
    return [BridgeLine(group=StepGroup.LABOUR, part=StepPart.HOURS, what=words, amount=together), *others]


def _largest(bridge: list[BridgeLine], difference: Decimal) -> list[BridgeLine]:
    """The causes to name, largest first; the largest in the result's own direction is always among them."""
    ranked = sorted(bridge, key=lambda line: -abs(line.amount))
    if not ranked:
        return []
    leading = next((line for line in ranked if line.amount * difference > 0), ranked[0])
    others = [
        line for line in ranked if line is not leading and abs(line.amount) >= LEAST_SHARE * abs(ranked[0].amount)
    ]
    return sorted([leading, *others[: MOST_CAUSES - 1]], key=lambda line: -abs(line.amount))


def _is_efficiency(line: BridgeLine) -> bool:
    return line.group is StepGroup.LABOUR and line.part is StepPart.HOURS


def _sides(lines: list[BridgeLine], *, falls: bool) -> tuple[list[BridgeLine], list[BridgeLine]]:
    lowering = [line for line in lines if line.amount < 0]
    raising = [line for line in lines if line.amount > 0]
    return (lowering, raising) if falls else (raising, lowering)


def _cause(line: BridgeLine, currency: Currency) -> str:
    sign = "+" if line.amount > 0 else ""
    return f"{lowered(line.what)} ({sign}{money_text(line.amount, currency.code)})"
