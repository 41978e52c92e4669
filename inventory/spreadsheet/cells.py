"""The cells of one row of a maker's table: text to exact figures, or one sentence that says what is wrong and the mend."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache

from babel.numbers import get_currency_symbol

from inventory.ground.findings import Finding, stop
from inventory.ground.materials import CLOTHS, MaterialKind, StockUnit
from inventory.ground.measures import BASES_PER_UNIT, bases_of, buying_units
from inventory.ground.money import Currency, nearest
from inventory.ground.rec20 import UNITS
from inventory.ground.units import LengthUnit, parse_length, parse_number
from inventory.spreadsheet.words import LABELS, Field, kind_of, unit_codes

__all__ = ["MOST_LETTERS", "Amount", "CellReader", "KnownMaterial", "RowCells", "price_text"]

IN_LENGTHS = (MaterialKind.FLAT, MaterialKind.BUSK)
MOST_LETTERS = {
    Field.NAME: 120,
    Field.COLOUR: 40,
    Field.DYE_LOT: 60,
    Field.PLACE: 60,
    Field.NOTE: 200,
}
MOST_UNIT_COST = 1_000_000
MOST_BASES = 10_000_000_000
MOST_VALUE = 1_000_000_000
LENGTHS_MM = (30, 1000)
CLOTH_WIDTHS_MM = (200, 5000)
OTHER_WIDTHS_MM = (1, 200)

_AMOUNT = re.compile(r"(?P<number>.*?\d|.*?[½¼¾⅛⅜⅝⅞⅓⅔])\s*(?P<unit>[^\W\d_]+)\.?")
_SLIPS = str.maketrans({"o": "0", "O": "0", "l": "1", "I": "1"})
_ONE = {StockUnit.METRE: "metre", StockUnit.EACH: "piece", StockUnit.PAIR: "pair", StockUnit.SET: "set"}


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownMaterial:
    """A material that is on the shelf already. `unit_cost` is for one stock unit."""

    code: str
    name: str
    kind: MaterialKind
    unit_cost: Decimal
    lengths_tenths_mm: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RowCells:
    """The cells of a row by field, and the units that their headers name for bare lengths."""

    number: int
    said: Mapping[Field, str]
    units: Mapping[Field, LengthUnit]

    def text(self, field: Field) -> str:
        """What the row says; empty where it says nothing."""
        return self.said.get(field, "")

    def wrong(self, field: Field, message: str) -> Finding:
        """A stop at one cell of this row."""
        return stop(f"sheet.{field.value}", f"Row {self.number}, {LABELS[field]}", message)


def price_text(millionths: int) -> str:
    """Return a price with two decimals, or as many as it has.

    >>> price_text(4_500_000), price_text(8_000)
    ('4.50', '0.008')
    """
    exact = (Decimal(millionths) / 1_000_000).normalize()
    return f"{exact:.{max(2, -int(exact.as_tuple().exponent))}f}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """What lies there in base units, exact and as kept, and how many of them the row's price is for."""

    exact: Fraction
    quantity: int
    price_bases: Fraction
    is_nothing: bool


class CellReader:
    """Reads the cells of one row; what is wrong gathers in `findings`."""

    def __init__(self, cells: RowCells, currency: Currency) -> None:
        self.cells, self.currency = cells, currency
        self.findings: list[Finding] = []

    def wrong(self, field: Field, message: str) -> None:
        self.findings.append(self.cells.wrong(field, message))

    def short(self, field: Field) -> str:
        text, most = self.cells.text(field), MOST_LETTERS[field]
        if len(text) > most:
            self.wrong(field, f"“{text[:20]}…” has {len(text)} letters: shorten it to {most}.")
        return text

    def supplier(self, suppliers: Mapping[str, str]) -> str:
        text = self.cells.text(Field.SUPPLIER)
        if text and text.casefold() not in suppliers:
            self.wrong(Field.SUPPLIER, f"“{text[:60]}” is no supplier of this shelf: add it first, or leave it empty.")
        return suppliers.get(text.casefold(), "")

    def kind(self, known: KnownMaterial | None) -> MaterialKind | None:
        text = self.cells.text(Field.KIND)
        standing = known.kind if known else None
        kind = kind_of(text) if text else standing
        if kind is None:
            said = f"“{text[:40]}” is no kind known here" if text else "No kind is said"
            self.wrong(Field.KIND, f"{said}: write one of {', '.join(MaterialKind)}.")
        elif known and kind is not known.kind:
            there = f"{known.code} is on the shelf as {known.kind.value}, not as {kind.value}"
            self.wrong(Field.KIND, f"{there}: write its kind, or give this one a code of its own.")
        return kind

    def number(self, field: Field, text: str) -> Fraction | None:
        """A number of zero or more; None for a cell that is empty or wrong."""
        if not text:
            return None
        try:
            number = _parsed(text)
        except ValueError:
            self.wrong(field, f"“{text[:40]}” is not a number: write {_likely(text)}.")
            return None
        if number < 0:
            self.wrong(field, f"{text[:40]} is less than zero: write 0 or more.")
            return None
        return number

    def amount(self, kind: MaterialKind) -> Amount:
        """The quantity on hand: exact in base units, but yards, feet and inches rounded down to the millimetre."""
        unit = kind.unit
        cell, unit_text = self.cells.text(Field.QUANTITY), self.cells.text(Field.UNIT)
        match = _AMOUNT.fullmatch(cell) if cell and not cell[-1].isdigit() else None
        if match and unit_codes(match["unit"]):
            cell, unit_text = match["number"], match["unit"]
        bases = price_bases = Fraction(BASES_PER_UNIT[unit])
        if unit_text:
            codes, allowed = unit_codes(unit_text), buying_units(unit)
            if codes and codes[0] in (*allowed, "MMT") and codes[1] in allowed:
                bases, price_bases = (bases_of(code, unit) for code in codes)
            else:
                ways = ", ".join(UNITS[code].name for code in allowed)
                self.wrong(Field.UNIT, f"“{unit_text[:20]}” is no unit for a {kind.value}: write one of {ways}.")
        written = self.number(Field.QUANTITY, cell)
        exact = (written or 0) * bases
        quantity = round(exact)
        # What a formula filled may be off by its last digit.
        if abs(exact - quantity) >= Fraction(1, 1_000_000):
            quantity = int(exact)
            may_round = unit is StockUnit.METRE and (bases.denominator > 1 or _is_computed(cell))
            if not (may_round and quantity):
                least = "a millimetre" if unit is StockUnit.METRE else f"one {_ONE[unit]}"
                self.wrong(Field.QUANTITY, f"{cell[:40]} is finer than {least}: round it.")
        if quantity > MOST_BASES:
            self.wrong(Field.QUANTITY, f"{cell[:40]} is more than can be kept: check its unit.")
        is_nothing = written == 0 or not cell
        return Amount(exact=exact, quantity=quantity, price_bases=price_bases, is_nothing=is_nothing)

    def unit_cost(self, unit: StockUnit, amount: Amount, *, is_needed: bool) -> Fraction | None:
        """What one stock unit costs; the cell's price is for one of the row's own unit."""
        text = self._money(Field.UNIT_COST)
        price = self.number(Field.UNIT_COST, text)
        if price is None:
            if is_needed and not text:
                self.wrong(Field.UNIT_COST, f"No price is said: write what one {_ONE[unit]} costs, or 0.")
            return None
        if 1_000_000 % price.denominator and not _is_computed(text):
            self.wrong(Field.UNIT_COST, f"{text[:40]} has more than six decimals: write {float(price):.6f}.")
        if price > MOST_UNIT_COST:
            self.wrong(Field.UNIT_COST, f"{text[:40]} is more than can be kept: check its decimal point.")
        bases = BASES_PER_UNIT[unit]
        return price if amount.price_bases == bases else price * bases / amount.price_bases

    def value_minor(self, amount: Amount, unit: StockUnit, cost: Fraction) -> int:
        """What the stock is worth in minor units, half up: as said, else quantity × unit cost."""
        text = self._money(Field.VALUE)
        worth = self.number(Field.VALUE, text)
        if worth and amount.is_nothing:
            self.wrong(Field.VALUE, f"{text[:40]} is the value of no quantity: write how much lies there.")
        if worth is None:
            worth = amount.exact * cost / BASES_PER_UNIT[unit]
        if worth > MOST_VALUE:
            self.wrong(Field.VALUE, "The stock is worth more than can be kept: check quantity and price.")
        return nearest(worth.numerator * 10**self.currency.digits, worth.denominator)

    def size_tenths_mm(self, kind: MaterialKind) -> int:
        text = self.cells.text(Field.LENGTH)
        if text and kind not in IN_LENGTHS:
            self.wrong(Field.LENGTH, f"“{text[:20]}” is said, and a {kind.value} comes in no lengths: leave it empty.")
            return 0
        return self.tenths_mm(Field.LENGTH, LENGTHS_MM) or 0

    def width_tenths_mm(self, kind: MaterialKind) -> int | None:
        return self.tenths_mm(Field.WIDTH, CLOTH_WIDTHS_MM if kind in CLOTHS else OTHER_WIDTHS_MM)

    def tenths_mm(self, field: Field, limits: tuple[int, int]) -> int | None:
        """A length within limits in mm; None for a cell that is empty or wrong."""
        text = self.cells.text(field)
        if not text:
            return None
        try:
            length = parse_length(text, self.cells.units.get(field, LengthUnit.MM))
        except ValueError:
            self.wrong(field, f"“{text[:40]}” is not a length: write it in mm, or with its unit, as in 10 in.")
            return None
        least, most = limits
        if not least <= length <= most:
            self.wrong(field, f"{text} would be {length:g} mm, outside {least} to {most} mm: write its unit behind it.")
        return round(length * 10)

    def _money(self, field: Field) -> str:
        """The cell without the sign or code of the shelf's own currency."""
        text = self.cells.text(field)
        if text.isdecimal():
            return text
        for sign in _signs(self.currency.code):
            text = text.removeprefix(sign).removesuffix(sign)
        return text.strip()


@lru_cache(maxsize=4000)
def _parsed(text: str) -> Fraction:
    """A number of a cell; a column repeats itself."""
    return parse_number(text)


@cache
def _signs(code: str) -> tuple[str, ...]:
    return (code, get_currency_symbol(code, locale="en_GB"))


def _is_computed(text: str) -> bool:
    """Whether a formula filled the cell: a person writes few decimals, it has some fifteen digits."""
    return re.search(r"[.,]\d{11}", text) is not None


def _likely(text: str) -> str:
    """The number that was likely meant: without slips of the finger and marks between thousands."""
    plain = re.sub(r"[\s'’]", "", text.translate(_SLIPS))
    if "," in plain and "." in plain:
        plain = plain.replace(min(",.", key=plain.index), "")
    try:
        parse_number(plain)
    except ValueError:
        return "a plain number such as 4.50"
    return plain.replace(",", ".")
