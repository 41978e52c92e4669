"""The bridge from quoted to actual profit: one line per reason, which add up without a remainder.

Every amount of the quote and of what happened stands in one line with the opposite sign, or in two with a middle figure
that cancels out: what the actual quantity would have cost at the quoted rate.

- quantity = quoted amount − actual quantity × quoted rate; price = actual quantity × quoted rate − actual value
- efficiency = quoted amount − actual hours × quoted rate; rate = actual hours × quoted rate − actual amount

Each middle figure is rounded once and used in both lines. Source: Horngren, Datar and Rajan, Cost Accounting, ch. 7.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.measures import amount_text
from studio.profit.causes import causes
from studio.profit.piece import Actual, Amount, BridgeLine, Quoted, QuotedMaterial, UsedMaterial
from studio.profit.wording import hours_text, lowered, named

__all__ = ["BridgeGroup", "bridge", "bridge_groups"]

_GROUPS = {
    "Price and fees": ("change", "discount", "invoice", "fee"),
    "Materials": ("material", "spoiled"),
    "Work": ("labour", "rework"),
    "Overhead and the rest": ("overhead", "contingency", "extra"),
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
            "labour.rate",
            "An hour of work cost {}",
            sum(labour_at_quoted_rate, _ZERO) - labour,
        ),
        *_overhead(quoted, actual, overhead, overhead_at_quoted_rate),
        BridgeLine(code="contingency", what="Contingency was not needed", amount=quoted.contingency),
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
        by_title[next(title for title, codes in _GROUPS.items() if line.code.partition(".")[0] in codes)].append(line)
    return [BridgeGroup(title=title, lines=tuple(by_title[title])) for title in _GROUPS if title in by_title]


def _line(code: str, words: str, amount: Decimal, *, better: str = "less", worse: str = "more") -> BridgeLine:
    """A line whose `words` end in what the sign says."""
    return BridgeLine(code=code, what=words.format(better if amount > 0 else worse), amount=amount)


def _price(quoted: Quoted, actual: Actual) -> Iterator[BridgeLine]:
    for number, change in enumerate(actual.change_orders, start=1):
        yield BridgeLine(code=f"change.{number}", what=f"Change agreed: {change.what}", amount=change.amount)
    yield BridgeLine(code="discount", what="A discount was given", amount=-actual.discount)
    agreed = quoted.net + sum((change.amount for change in actual.change_orders), _ZERO) - actual.discount
    yield _line("invoice", "The invoices say {} than was agreed", actual.net - agreed, better="more", worse="less")
    yield _line("fee", "Fees were {}", quoted.fee - actual.fee, better="lower", worse="higher")


def _materials(quoted: Quoted, actual: Actual) -> Iterator[BridgeLine]:
    used = _used(actual.materials)
    for planned in quoted.materials:
        row = used.pop(planned.code, None)
        if row is None:
            what = f"{named(planned.what)} went unused"
            yield BridgeLine(code=f"material.{planned.code}.unused", what=what, amount=planned.amount)
            continue
        # As much as quoted costs what was quoted, even where the quote rounded it in two lines.
        same = row.quantity == planned.quantity
        at_quoted_rate = planned.amount if same else quoted.currency.round(row.quantity * planned.rate)
        yield BridgeLine(
            code=f"material.{planned.code}.quantity",
            what=_quantity_words(planned, row),
            amount=planned.amount - at_quoted_rate,
        )
        yield BridgeLine(
            code=f"material.{planned.code}.price",
            what=f"{named(row.what)} cost {'less' if at_quoted_rate > row.value else 'more'}",
            amount=at_quoted_rate - row.value,
        )
    for row in used.values():
        what = f"{named(row.what)} came on top of the quote"
        yield BridgeLine(code=f"material.{row.code}.unquoted", what=what, amount=-row.value)


def _used(rows: Iterable[UsedMaterial]) -> dict[str, UsedMaterial]:
    """What was used by code, rows of one code added up."""
    found: dict[str, UsedMaterial] = {}
    for row in rows:
        before = found.get(row.code)
        found[row.code] = UsedMaterial(
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
        yield BridgeLine(code=f"spoiled.{code}", what=f"Material was spoiled by {cause.words}", amount=-value)


def _efficiency(quoted: Quoted, actual: Actual, at_quoted_rate: Sequence[Decimal]) -> Iterator[BridgeLine]:
    planned = {row.code: row for row in quoted.operations}
    names = {code: row.name for code, row in planned.items()} | {row.code: row.name for row in actual.hours}
    for code in names:
        rows = [index for index, row in enumerate(actual.hours) if row.code == code]
        hours = sum((actual.hours[index].hours for index in rows), _ZERO)
        spent = sum((at_quoted_rate[index] for index in rows), _ZERO)
        row = planned.get(code)
        yield BridgeLine(
            code=f"labour.{code}.hours",
            what=_efficiency_words(names[code], row.hours if row else None, hours),
            amount=(row.amount if row else _ZERO) - spent,
        )


def _efficiency_words(name: str, planned: Decimal | None, hours: Decimal) -> str:
    if planned is None:
        return f"{named(name)} was not quoted and took {hours_text(hours)}"
    if not hours:
        return f"No time was logged for {lowered(named(name))}"
    sense = "longer" if hours > planned else "less"
    return f"{named(name)} took {hours_text(abs(hours - planned))} {sense}"


def _rework(actual: Actual, at_quoted_rate: Sequence[Decimal]) -> Iterator[BridgeLine]:
    for code, cause in causes().items():
        rows = [index for index, row in enumerate(actual.rework) if row.cause == code]
        hours = sum((actual.rework[index].hours for index in rows), _ZERO)
        yield BridgeLine(
            code=f"rework.{code}",
            what=f"Work was done again for {hours_text(hours)} after {cause.words}",
            amount=-sum((at_quoted_rate[index] for index in rows), _ZERO),
        )


def _overhead(quoted: Quoted, actual: Actual, overhead: Decimal, at_quoted_rate: Decimal) -> Iterator[BridgeLine]:
    difference = sum(actual.hours_of_rows, _ZERO) - sum((row.hours for row in quoted.operations), _ZERO)
    sense = "more" if difference > 0 else "less"
    yield BridgeLine(
        code="overhead.hours",
        what=f"{hours_text(abs(difference)).capitalize()} {sense} carried overhead",
        amount=quoted.overhead - at_quoted_rate,
    )
    yield _line("overhead.rate", "An hour carried {} overhead", at_quoted_rate - overhead)


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
        yield BridgeLine(code=f"extra.{number}", what=f"{named(what)} {words}", amount=amount)
