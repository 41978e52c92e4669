"""The bridge from quoted to actual profit: one line per reason, which add up without a remainder.

Every amount of the quote and of what happened stands in one line with the opposite sign, or in two with a middle figure
that cancels out: what the actual quantity would have cost at the quoted rate.

- quantity = quoted amount − actual quantity × quoted rate; price = actual quantity × quoted rate − actual value
- efficiency = quoted amount − actual hours × quoted rate; rate = actual hours × quoted rate − actual amount

Each middle figure is rounded once and used in both lines. Source: Horngren, Datar and Rajan, Cost Accounting, ch. 7.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.materials import StockUnit
from inventory.ground.measures import amount_text
from studio.profit.causes import causes
from studio.profit.piece import Actual, Amount, BridgeLine, Quoted, QuotedMaterial, Unlogged, UsedMaterial, subjects
from studio.profit.piece import StepGroup as Group
from studio.profit.piece import StepPart as Part
from studio.profit.wording import hours_text, lowered, named

__all__ = ["BridgeGroup", "bridge", "bridge_groups"]

_GROUPS = {
    "Price and fees": (Group.CHANGE, Group.DISCOUNT, Group.INVOICE, Group.CREDIT, Group.FEE),
    "Materials": (Group.MATERIAL, Group.SPOILED),
    "Work": (Group.LABOUR, Group.REWORK),
    "Overhead and the rest": (Group.OVERHEAD, Group.CONTINGENCY, Group.EXTRA),
}

_ZERO = Decimal(0)


def bridge(
    quoted: Quoted,
    actual: Actual,
    *,
    labour: Decimal,
    labour_at_quoted_rate: Sequence[Decimal],
    overhead: Decimal,
    overhead_at_quoted_rate: Decimal,
) -> tuple[BridgeLine, ...]:
    """Return the lines in the order price, fee, materials, spoilage, labour, rework, overhead, contingency, extras.

    Args:
        labour, overhead: of all hours at the actual rates, rounded.
        labour_at_quoted_rate: one part per row of `actual.hours`, then of `actual.rework`.

    A line of nothing is left out.
    """
    operations = len(actual.hours)
    lines = (
        *_price(quoted, actual),
        *_materials(quoted, actual),
        *_spoiled(actual),
        *_efficiency(quoted, actual, labour_at_quoted_rate[:operations]),
        *_rework(actual, labour_at_quoted_rate[operations:]),
        _line(
            Group.LABOUR,
            "An hour of work cost {}",
            sum(labour_at_quoted_rate, _ZERO) - labour,
            part=Part.RATE,
        ),
        *_overhead(quoted, actual, overhead, overhead_at_quoted_rate),
        BridgeLine(group=Group.CONTINGENCY, what="Contingency was not needed", amount=quoted.contingency),
        *_extras(quoted.extras, actual.extras),
    )
    return tuple(line for line in lines if line.amount)


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeGroup:
    """Lines of one kind, in the bridge's order."""

    title: str
    lines: tuple[BridgeLine, ...]

    @property
    def amount(self) -> Decimal:
        """What its lines come to."""
        return sum((line.amount for line in self.lines), Decimal(0))


def bridge_groups(lines: Sequence[BridgeLine]) -> list[BridgeGroup]:
    """Return a bridge's lines by what they speak of: price, materials, work, the rest; only kinds that have lines."""
    by_title: dict[str, list[BridgeLine]] = defaultdict(list)
    for line in lines:
        by_title[next(title for title, groups in _GROUPS.items() if line.group in groups)].append(line)
    return [BridgeGroup(title=title, lines=tuple(by_title[title])) for title in _GROUPS if title in by_title]


def _line(
    group: Group, words: str, amount: Decimal, *, better: str = "less", worse: str = "more", part: Part = Part.WHOLE
) -> BridgeLine:
    """A line whose `words` end in what the sign says."""
    return BridgeLine(group=group, part=part, what=words.format(better if amount > 0 else worse), amount=amount)


def _price(quoted: Quoted, actual: Actual) -> Iterator[BridgeLine]:
    for number, change in enumerate(actual.change_orders, start=1):
        yield BridgeLine(group=Group.CHANGE, number=number, what=f"Change agreed: {change.what}", amount=change.amount)
    yield BridgeLine(group=Group.DISCOUNT, what="A discount was given", amount=-actual.discount)
    agreed = quoted.net + sum((change.amount for change in actual.change_orders), _ZERO) - actual.discount
    invoiced = actual.invoiced
    yield _line(Group.INVOICE, "The invoices say {} than was agreed", invoiced - agreed, better="more", worse="less")
    for number, credit in enumerate(actual.credits, start=1):
        words = "The price was lowered" if credit.amount > 0 else "A lower price was taken back"
        yield BridgeLine(group=Group.CREDIT, number=number, what=f"{words}: {credit.what}", amount=-credit.amount)
    yield _line(Group.FEE, "Fees were {}", quoted.fee - actual.fee, better="lower", worse="higher")


def _materials(quoted: Quoted, actual: Actual) -> Iterator[BridgeLine]:
    used, subject = _used(actual.materials), subjects(quoted, actual)
    for planned in quoted.materials:
        key = planned.code, planned.unit
        row = used.pop(key, None)
        if row is None:
            what = f"{named(planned.what)} went unused"
            yield _of_material(subject[key], Part.UNUSED, what, planned.amount)
            continue
        at_quoted_rate = planned.at_quoted_rate(row.quantity, quoted.currency)
        yield _of_material(subject[key], Part.QUANTITY, _quantity_words(planned, row), planned.amount - at_quoted_rate)
        what = f"{named(row.what)} cost {'less' if at_quoted_rate > row.value else 'more'}"
        yield _of_material(subject[key], Part.PRICE, what, at_quoted_rate - row.value)
    for key, row in used.items():
        what = f"{named(row.what)} came on top of the quote"
        yield _of_material(subject[key], Part.UNQUOTED, what, -row.value)


def _of_material(subject: str, part: Part, what: str, amount: Decimal) -> BridgeLine:
    return BridgeLine(group=Group.MATERIAL, subject=subject, part=part, what=what, amount=amount)


def _used(rows: Iterable[UsedMaterial]) -> dict[tuple[str, StockUnit], UsedMaterial]:
    """What was used by code and unit, rows of one added up."""
    found: dict[tuple[str, StockUnit], UsedMaterial] = {}
    for row in rows:
        before = found.get((row.code, row.unit))
        found[row.code, row.unit] = UsedMaterial(
            code=row.code,
            what=row.what,
            quantity=row.quantity + (before.quantity if before else 0),
            unit=row.unit,
            value=row.value + (before.value if before else 0),
        )
    return found


def _quantity_words(planned: QuotedMaterial, row: UsedMaterial) -> str:
    difference = row.quantity - planned.quantity
    sense = "more" if difference > 0 else "less"
    return f"{amount_text(abs(difference), row.unit)} {sense} {lowered(named(row.what))} went in"


def _spoiled(actual: Actual) -> Iterator[BridgeLine]:
    for code, cause in causes().items():
        value = sum((row.value for row in actual.spoiled if row.cause == code), _ZERO)
        what = f"Material was spoiled by {cause.words}"
        yield BridgeLine(group=Group.SPOILED, subject=code, what=what, amount=-value)


def _efficiency(quoted: Quoted, actual: Actual, at_quoted_rate: Sequence[Decimal]) -> Iterator[BridgeLine]:
    planned = {row.code: row for row in quoted.operations}
    names = {code: row.name for code, row in planned.items()} | {row.code: row.name for row in actual.hours}
    for code in names:
        rows = [index for index, row in enumerate(actual.hours) if row.code == code]
        hours = sum((actual.hours[index].hours for index in rows), _ZERO)
        spent = sum((at_quoted_rate[index] for index in rows), _ZERO)
        row = planned.get(code)
        yield BridgeLine(
            group=Group.LABOUR,
            subject=code,
            part=Part.HOURS,
            what=_efficiency_words(
                names[code], row.hours if row else None, hours, {actual.hours[index].unlogged for index in rows}
            ),
            amount=(row.amount if row else _ZERO) - spent,
        )


def _efficiency_words(name: str, planned: Decimal | None, hours: Decimal, unlogged: Set[Unlogged]) -> str:
    if planned is None:
        return f"{named(name)} was not quoted and took {hours_text(hours)}"
    if Unlogged.MISSING in unlogged:
        return f"{named(name)} was not logged and counts as planned"
    if Unlogged.ELSEWHERE in unlogged:
        return f"The time of {lowered(named(name))} stands with other work"
    if Unlogged.UNDONE in unlogged:
        return f"{named(name)} was left undone"
    if not hours:
        return f"No time was logged for {lowered(named(name))}"
    sense = "longer" if hours > planned else "less"
    return f"{named(name)} took {hours_text(abs(hours - planned))} {sense}"


def _rework(actual: Actual, at_quoted_rate: Sequence[Decimal]) -> Iterator[BridgeLine]:
    for code, cause in causes().items():
        rows = [index for index, row in enumerate(actual.rework) if row.cause == code]
        hours = sum((actual.rework[index].hours for index in rows), _ZERO)
        yield BridgeLine(
            group=Group.REWORK,
            subject=code,
            what=f"Work was done again for {hours_text(hours)} after {cause.words}",
            amount=-sum((at_quoted_rate[index] for index in rows), _ZERO),
        )


def _overhead(quoted: Quoted, actual: Actual, overhead: Decimal, at_quoted_rate: Decimal) -> Iterator[BridgeLine]:
    difference = sum(actual.hours_of_rows, _ZERO) - sum((row.hours for row in quoted.operations), _ZERO)
    sense = "more" if difference > 0 else "less"
    yield BridgeLine(
        group=Group.OVERHEAD,
        part=Part.HOURS,
        what=f"{hours_text(abs(difference)).capitalize()} {sense} carried overhead",
        amount=quoted.overhead - at_quoted_rate,
    )
    yield _line(Group.OVERHEAD, "An hour carried {} overhead", at_quoted_rate - overhead, part=Part.RATE)


def _extras(quoted: Sequence[Amount], actual: Sequence[Amount]) -> Iterator[BridgeLine]:
    for number, what in enumerate(dict.fromkeys(row.what for row in (*quoted, *actual)), start=1):
        planned = [row.amount for row in quoted if row.what == what]
        spent = [row.amount for row in actual if row.what == what]
        amount = sum(planned, _ZERO) - sum(spent, _ZERO)
        if not planned:
            words = "came on top of the quote"
        elif not spent:
            words = "cost nothing"
        else:
            words = "cost less" if amount > 0 else "cost more"
        yield BridgeLine(group=Group.EXTRA, number=number, what=f"{named(what)} {words}", amount=amount)
