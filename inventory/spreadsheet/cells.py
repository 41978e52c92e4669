"""The cells of one row of a maker's table: text to exact figures, or one sentence that says what is wrong and the mend."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from decimal import Decimal
from fractions import Fraction
from functools import cache

from babel.numbers import get_currency_name, get_currency_symbol

from inventory.ground.findings import Finding, stop
from inventory.ground.materials import CLOTHS, MaterialKind, StockUnit
from inventory.ground.measures import BASES_PER_UNIT, bases_of, buying_units
from inventory.ground.money import Currency, nearest
from inventory.ground.rec20 import UNITS
from inventory.ground.units import LengthUnit, parse_length
from inventory.spreadsheet.points import Mark, NumberCell, OpenMark, number_of
from inventory.spreadsheet.words import LABELS, Field, kind_of, plain_words, unit_codes

__all__ = [
    "ASKED_KIND",
    "ASKED_MARK",
    "MOST_LETTERS",
    "Amount",
    "CellReader",
    "KnownMaterial",
    "RowCells",
    "price_text",
]

ASKED_KIND = "sheet.kind-asked"
"""The code of a row whose kind the maker is asked for, once for all rows with its word."""
ASKED_MARK = "sheet.mark-asked"
"""The code of a number that waits for the word on its column's decimal mark."""

IN_LENGTHS = (MaterialKind.FLAT, MaterialKind.BUSK)
MOST_LETTERS = {
    Field.NAME: 120,
    Field.COLOUR: 40,
    Field.DYE_LOT: 60,
    Field.PLACE: 60,
    Field.NOTE: 200,
}
MOST_LETTERS_LEARNT = 200
MOST_UNIT_COST = 1_000_000
MOST_BASES = 10_000_000_000
MOST_VALUE = 1_000_000_000
LENGTHS_MM = (30, 1000)
CLOTH_WIDTHS_MM = (200, 5000)
OTHER_WIDTHS_MM = (1, 200)

_AMOUNT = re.compile(r"(?P<number>.*?\d|.*?[½¼¾⅛⅜⅝⅞⅓⅔])\s*(?P<unit>[^\W\d_](?:[^\d,/]*[^\W\d_])?)\.?")
_PRICED = re.compile(r"(?P<money>.*?\d.*?)\s*(?:/|\b(?:per|je|pro|par|la|le|the|an?)\b)\s*(?P<unit>[^\W\d_][^\d]*)")
_LENGTH_UNITS = {
    "MTR": LengthUnit.METRE,
    "CMT": LengthUnit.CM,
    "MMT": LengthUnit.MM,
    "YRD": LengthUnit.YARD,
    "INH": LengthUnit.INCH,
}
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
    """The cells of a row by field.

    Attributes:
        units: those that headers name for bare lengths.
        marks: the decimal marks of columns, where they are known.
        page: the sheet's name; empty where there is but one.
        letters: of the columns, as the maker's program names them; empty where nobody knows.
    """

    number: int
    said: Mapping[Field, str]
    units: Mapping[Field, LengthUnit]
    marks: Mapping[Field, Mark] = dataclass_field(default_factory=dict)
    page: str = ""
    letters: Mapping[Field, str] = dataclass_field(default_factory=dict)

    def text(self, field: Field) -> str:
        """What the row says; empty where it says nothing."""
        return self.said.get(field, "")

    def place(self, field: Field) -> str:
        """Where a cell stands in the maker's file."""
        row = f"Sheet {self.page}, row {self.number}" if self.page else f"Row {self.number}"
        column = f", column {self.letters[field]}" if field in self.letters else ""
        return f"{row}{column}, {LABELS[field]}"

    def wrong(self, field: Field, message: str, code: str = "") -> Finding:
        """A stop at one cell of this row."""
        return stop(code or f"sheet.{field.value}", self.place(field), message)

    @property
    def kind_words(self) -> str:
        """What says the kind of a material that is new: its own cell, else the name; plain, as it is learnt."""
        return plain_words(self.text(Field.KIND) or self.text(Field.NAME))

    @property
    def kind_can_be_asked(self) -> bool:
        """Whether there are words for its kind that can be learnt."""
        return 0 < len(self.kind_words) <= MOST_LETTERS_LEARNT


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

    def __init__(self, cells: RowCells, currency: Currency, kinds: Mapping[str, MaterialKind]) -> None:
        self.cells, self.currency, self.kinds = cells, currency, kinds
        self.findings: list[Finding] = []

    def wrong(self, field: Field, message: str, code: str = "") -> None:
        self.findings.append(self.cells.wrong(field, message, code))

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
        learnt = self.kinds.get(self.cells.kind_words) if self.kinds and (text or known is None) else None
        kind = learnt or (kind_of(text) if text else standing)
        if kind is None:
            code = ASKED_KIND if self.cells.kind_can_be_asked else ""
            said = f"“{text[:40]}” is no kind known here" if text else "No kind is said"
            self.wrong(Field.KIND, f"{said}: write one of {', '.join(MaterialKind)}.", code)
        elif known and kind is not known.kind:
            there = f"{known.code} is on the shelf as {known.kind.value}, not as {kind.value}"
            self.wrong(Field.KIND, f"{there}: write its kind, or give this one a code of its own.")
        return kind

    def number(self, field: Field, text: str) -> Fraction | None:
        """A number of zero or more; None for a cell that is empty or wrong."""
        if not text:
            return None
        try:
            number = number_of(text, self.cells.marks.get(field))
        except OpenMark as asked:
            self.wrong(field, f"{asked} Say what the column’s commas and points are.", ASKED_MARK)
            return None
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
        if match:
            cell, unit_text = match["number"].strip(), match["unit"]
        bases = price_bases = Fraction(BASES_PER_UNIT[unit])
        if unit_text:
            codes, allowed = unit_codes(unit_text), buying_units(unit)
            if codes and codes[0] in (*allowed, "MMT") and codes[1] in allowed:
                bases, price_bases = (bases_of(code, unit) for code in codes)
            else:
                ways = ", ".join(UNITS[code].name for code in allowed)
                at = Field.QUANTITY if match else Field.UNIT
                self.wrong(at, f"“{unit_text[:20]}” is no unit for a {kind.value}: write one of {ways}.")
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
        text, bases_priced = self._priced(unit, amount)
        price = self.number(Field.UNIT_COST, text)
        if price is None:
            if is_needed and not self.cells.text(Field.UNIT_COST):
                self.wrong(Field.UNIT_COST, f"No price is said: write what one {_ONE[unit]} costs, or 0.")
            return None
        if 1_000_000 % price.denominator and not _is_computed(text):
            self.wrong(Field.UNIT_COST, f"{text[:40]} has more than six decimals: write {float(price):.6f}.")
        if price > MOST_UNIT_COST:
            self.wrong(Field.UNIT_COST, f"{text[:40]} is more than can be kept: check its decimal point.")
        bases = BASES_PER_UNIT[unit]
        return price if bases_priced == bases else price * bases / bases_priced

    def value_minor(self, amount: Amount, unit: StockUnit, cost: Fraction) -> int:
        """What the stock is worth in minor units, half up: as said, else quantity × unit cost."""
        text = self._money(self.cells.text(Field.VALUE))
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
        bare, unit = text, self.cells.units.get(field, LengthUnit.MM)
        if (match := _AMOUNT.fullmatch(text)) and (codes := unit_codes(match["unit"])):
            bare, unit = match["number"], _LENGTH_UNITS.get(codes[0], unit)
        try:
            length = parse_length(bare, unit)
        except ValueError:
            self.wrong(field, f"“{text[:40]}” is not a length: write it in mm, or with its unit, as in 10 in.")
            return None
        least, most = limits
        if not least <= length <= most:
            self.wrong(field, f"{text} would be {length:g} mm, outside {least} to {most} mm: write its unit behind it.")
        return round(length * 10)

    def _priced(self, unit: StockUnit, amount: Amount) -> tuple[str, Fraction]:
        """The price without its currency, and for how many base units it is: by its own words, else the row's unit."""
        text = self.cells.text(Field.UNIT_COST)
        match = _PRICED.fullmatch(text)
        codes = unit_codes(match["unit"]) if match else None
        if match is None or codes is None:
            return self._money(text), amount.price_bases
        if codes[0] not in (*buying_units(unit), "MMT"):
            self.wrong(
                Field.UNIT_COST, f"“{match['unit'][:20]}” is no unit for what is kept by {_ONE[unit]}: leave it out."
            )
            return "", amount.price_bases
        return self._money(match["money"]), bases_of(codes[0], unit)

    def _money(self, text: str) -> str:
        """The text without the sign, code or name of the shelf's own currency."""
        if isinstance(text, NumberCell) or (text[:1].isdecimal() and text[-1].isdecimal()):
            return text
        for sign in _signs(self.currency.code):
            if text[: len(sign)].casefold() == sign:
                text = text[len(sign) :]
            if text[-len(sign) :].casefold() == sign:
                text = text[: -len(sign)]
        return text.strip()


@cache
def _signs(code: str) -> tuple[str, ...]:
    """How a currency is written before or behind an amount, in small letters, longest first: its names, code and sign."""
    names = {
        get_currency_name(code, count=count, locale=locale) for locale in ("en", "de", "fr") for count in (None, 1, 2)
    }
    signs = {code, get_currency_symbol(code, locale="en_GB")} | names
    return tuple(sorted({sign.casefold() for sign in signs}, key=lambda sign: (-len(sign), sign)))


def _is_computed(text: str) -> bool:
    """Whether a formula filled the cell: a person writes few decimals, it has some fifteen digits."""
    return re.search(r"[.,]\d{11}", text) is not None


def _likely(text: str) -> str:
    """The number that was likely meant: without slips of the finger and marks between thousands."""
    plain = re.sub(r"[\s'’]", "", text.translate(_SLIPS))
    if "," in plain and "." in plain:
        plain = plain.replace(min(",.", key=plain.index), "")
    try:
        number_of(plain, ".")
    except ValueError:
        return "a plain number such as 4.50"
    return plain.replace(",", ".")
