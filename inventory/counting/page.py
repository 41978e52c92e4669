"""A stocktake in words: its lines place by place, what differs, which work is short now."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.forms import BoundField

from inventory.counting.stocktaking import Difference, Shortfall, lines_of
from inventory.ground.measures import quantity_text, signed_quantity_text
from inventory.ground.money import currency_of
from inventory.ground.wording import signed_money_text
from inventory.models import CountLine, Lot, Reservation, StockItem, Stocktake
from inventory.reckoning.weighing import unit_weight
from inventory.stock.ledger import Remnant

__all__ = [
    "DifferenceRow",
    "LineRow",
    "ShortRow",
    "by_place",
    "difference_row",
    "line_row",
    "lot_words",
    "place_of",
    "short_row",
    "total_words",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """A line; `book` is empty where the count is blind, `counted` before it was."""

    pk: int
    place: str
    item: StockItem
    lot: str
    remnant_counts_as: str
    unit: str
    rate: str
    book: str
    counted: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferenceRow:
    """A line that differs; `field` asks for the reason until the stocktake is posted."""

    item: StockItem
    lot: str
    counted: str
    book: str
    quantity: str
    value: str
    how: str
    needs_reason: bool
    reason: str
    field: BoundField | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortRow:
    """An item of which less is there than work needs, with what each piece still needs of it."""

    item: StockItem
    on_hand: str
    needed: str
    lines: list[tuple[Reservation, str]]


def by_place(stocktake: Stocktake) -> list[tuple[str, list[LineRow]]]:
    """Return the lines' rows, place by place in the order of counting."""
    rows = sorted((line_row(line, stocktake) for line in lines_of(stocktake)), key=lambda row: row.place)
    return [(place, list(at_place)) for place, at_place in groupby(rows, key=lambda row: row.place)]


def line_row(line: CountLine, stocktake: Stocktake) -> LineRow:
    """Return a line as pages show it."""
    item = line.lot.item
    grams = unit_weight(item.material.facts, item.unit)
    book = line.lot.on_hand if line.book_quantity is None else line.book_quantity
    return LineRow(
        pk=line.pk,
        place=place_of(line),
        item=item,
        lot=lot_words(line.lot),
        remnant_counts_as=_remnant_words(line.lot),
        unit=item.unit.value,
        rate=f"{grams.normalize():f} {'g/m' if item.unit == 'm' else 'g per 100'}" if grams else "",
        book="" if stocktake.is_blind else quantity_text(book, item.unit),
        counted="" if line.counted is None else quantity_text(line.counted, item.unit),
        how=line.how,
    )


def difference_row(difference: Difference, currency: str, field: BoundField | None = None) -> DifferenceRow:
    """Return a difference in words."""
    line, unit = difference.line, difference.line.lot.item.unit
    return DifferenceRow(
        item=line.lot.item,
        lot=lot_words(line.lot),
        counted=quantity_text(line.counted or 0, unit),
        book=quantity_text(line.book_quantity or 0, unit),
        quantity=signed_quantity_text(difference.quantity, unit),
        value=_signed_money(difference.value_minor, currency),
        how=line.how,
        needs_reason=difference.needs_reason,
        reason=line.reason,
        field=field,
    )


def short_row(shortfall: Shortfall) -> ShortRow:
    """Return what is short in words."""
    item = shortfall.item
    return ShortRow(
        item=item,
        on_hand=quantity_text(item.on_hand, item.unit),
        needed=quantity_text(shortfall.needed, item.unit),
        lines=[(line.reservation, quantity_text(line.remaining, item.unit)) for line in shortfall.lines],
    )


def total_words(differing: Iterable[Difference], currency: str) -> str:
    """Return what all differences are worth together."""
    return _signed_money(sum(difference.value_minor for difference in differing), currency)


def place_of(line: CountLine) -> str:
    """Return where a line lies."""
    return line.lot.place or line.lot.item.place


def lot_words(lot: Lot) -> str:
    """Return a lot as it is told from its neighbours, a remnant by its size."""
    return f"{lot}, remnant of {lot.remnant_size}" if lot.is_remnant else str(lot)


def _signed_money(minor: int, currency: str) -> str:
    return signed_money_text(currency_of(currency).from_minor(minor), currency)


def _remnant_words(lot: Lot) -> str:
    """What a whole remnant counts as: its area as a length of the full width."""
    if lot.remnant_width_mm is None or lot.remnant_length_mm is None:
        return ""
    whole = Remnant(width_mm=lot.remnant_width_mm, length_mm=lot.remnant_length_mm)
    return quantity_text(whole.length_of_width(lot.item.material.usable_width_mm), lot.item.unit)
