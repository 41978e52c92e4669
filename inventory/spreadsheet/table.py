"""A maker's own table of materials with what lies on the shelf: rows of text to rows of the shelf, or what is wrong.

Words: a *row* carries its number in the file; a *table* is a header with the rows below it. Rows of one code are one
material, each length of it an item, each dye lot of an item a lot.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from inventory.ground.findings import Finding, warn
from inventory.ground.materials import CLOTHS, MaterialKind, StockUnit
from inventory.ground.money import Currency
from inventory.ground.units import LengthUnit
from inventory.spreadsheet.asking import AskedKind, asked_kinds
from inventory.spreadsheet.cells import MOST_LETTERS, CellReader, KnownMaterial, RowCells, price_text
from inventory.spreadsheet.codes import CodedRow, coded_rows
from inventory.spreadsheet.left_out import LeftOut, rows_to_leave
from inventory.spreadsheet.points import ColumnMarks, Mark, NumberCell, judged_marks
from inventory.spreadsheet.words import LABELS, Field, length_unit_of

__all__ = ["NUMBERS", "Books", "Choices", "Reading", "SheetRow", "TablePlace", "own_text", "read_table"]

NUMBERS = (Field.UNIT_COST, Field.QUANTITY, Field.VALUE)
"""The fields whose columns are judged for their decimal mark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """A row as it would be kept.

    Attributes:
        number: of the row in the file.
        is_there: the material is on the shelf already.
        unit_cost_millionths: None where the price is to stay.
        quantity: base units on hand, >= 0.
        value_minor: what they are worth.
        says_cost: the row itself says what they cost, by a price or a value.
        size_tenths_mm: the length that a flat or a busk has; 0 for none.
        usable_width_mm, width_tenths_mm: of a cloth; of anything else.
        supplier: the supplier's code.
    """

    number: int
    code: str
    is_there: bool
    name: str
    kind: MaterialKind
    colour: str
    unit_cost_millionths: int | None
    quantity: int
    value_minor: int
    says_cost: bool
    size_tenths_mm: int
    usable_width_mm: int | None
    width_tenths_mm: int | None
    dye_lot: str
    place: str
    supplier: str
    note: str

    @property
    def unit(self) -> StockUnit:
        """The unit that it is counted in."""
        return self.kind.unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Books:
    """What is there before a table is read.

    Attributes:
        suppliers: codes by code and by name, both in small letters.
        kinds: what the maker’s own words for kinds mean, learnt earlier, by plain word.
    """

    currency: Currency
    materials: tuple[KnownMaterial, ...] = ()
    suppliers: Mapping[str, str]
    kinds: Mapping[str, MaterialKind] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the maker said of one table.

    Attributes:
        marks: the decimal marks of columns that leave it open.
        kinds: what words for kinds mean, by plain word; before what was learnt earlier.
        mended: cells by row and field, in place of those in the file.
        left_out: by row, whether it is left out, in place of what is proposed.
    """

    marks: Mapping[Field, Mark] = field(default_factory=dict)
    kinds: Mapping[str, MaterialKind] = field(default_factory=dict)
    mended: Mapping[int, Mapping[Field, str]] = field(default_factory=dict)
    left_out: Mapping[int, bool] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class TablePlace:
    """Where a table stands, for the places of findings: its sheet, empty for an only one, and the letters of its columns."""

    page: str = ""
    letters: Sequence[str] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a table says.

    Attributes:
        rows: the good ones, in the table's order.
        filled: how many rows say anything, without those that are left out.
        findings: all of them by row, stops first; `faults` the stops by their row.
        marks: what is known of the decimal marks of columns with numbers.
        kinds: the words that kinds are said in, which the maker may set; those that are asked for first.
        left_out: rows that are not taken, with the reason; `cells` what every other row says.
    """

    rows: tuple[SheetRow, ...]
    filled: int
    findings: tuple[Finding, ...]
    faults: Mapping[int, Sequence[Finding]] = field(default_factory=dict)
    marks: Mapping[Field, ColumnMarks] = field(default_factory=dict)
    kinds: tuple[AskedKind, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    cells: tuple[RowCells, ...] = ()


def read_table(
    table: Sequence[Sequence[str]],
    columns: Mapping[Field, int],
    *,
    first_row: int,
    books: Books,
    choices: Choices | None = None,
    place: TablePlace | None = None,
) -> Reading:
    """Return what a table says, with every fault of every row that is not left out.

    Args:
        table: the header and the rows below it, as text; blank rows are passed over.
        columns: which column holds which field.
        first_row: the number that the header's row has in the file.
        place: where the table stands, where findings are to say so.
    """
    choices, place = choices or Choices(), place or TablePlace()
    known = {words.casefold() for material in books.materials for words in (material.name, material.code)}
    leaving = rows_to_leave(table, columns, first_row=first_row, chosen=choices.left_out, known=known)
    left_out = {row.number: row for row in leaving}
    said_by_row = {
        first_row + at: _said(row, columns, choices.mended.get(first_row + at, {}))
        for at, row in enumerate(table)
        if at and first_row + at not in left_out
    }
    said_by_row = {number: said for number, said in said_by_row.items() if any(said.values())}
    marks = {
        number_field: judged_marks(
            ((number, said[number_field]) for number, said in said_by_row.items() if said.get(number_field)),
            choices.marks.get(number_field),
        )
        for number_field in NUMBERS
        if number_field in columns
    }
    header = table[0] if table else ()
    shared = _Shared(
        units={length: length_unit_of(header[columns[length]]) for length in _LENGTHS if length in columns},
        marks={found: judged.mark for found, judged in marks.items() if judged.mark is not None},
        page=place.page,
        letters={found: place.letters[at] for found, at in columns.items() if at < len(place.letters)},
    )
    filled = [shared.cells(number, said) for number, said in said_by_row.items()]
    kinds = {**books.kinds, **choices.kinds}
    faults: defaultdict[int, list[Finding]] = defaultdict(list)
    coded_ones = list(coded_rows(filled, books.materials, faults))
    read = [(coded.cells, _read_row(coded, books, kinds, faults)) for coded in coded_ones]
    rows = {row.number: (cells, row) for cells, row in read if row is not None}
    _compare(rows.values(), books.materials, faults)
    return Reading(
        rows=tuple(row for number, (_, row) in rows.items() if number not in faults),
        filled=len(filled),
        findings=(
            *(found for number in sorted(faults) for found in faults[number]),
            *_several_prices(row for _, row in rows.values()),
        ),
        faults={number: faults[number] for number in sorted(faults)},
        marks=marks,
        kinds=asked_kinds(((coded.cells, coded.known is not None) for coded in coded_ones), kinds),
        left_out=tuple(left_out.values()),
        cells=tuple(filled),
    )


_LENGTHS = (Field.LENGTH, Field.WIDTH)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shared:
    """What all rows of a table have in common."""

    units: Mapping[Field, LengthUnit]
    marks: Mapping[Field, Mark]
    page: str
    letters: Mapping[Field, str]

    def cells(self, number: int, said: Mapping[Field, str]) -> RowCells:
        """The cells of one row."""
        return RowCells(
            number=number, said=said, units=self.units, marks=self.marks, page=self.page, letters=self.letters
        )


def _said(row: Sequence[str], columns: Mapping[Field, int], mended: Mapping[Field, str]) -> dict[Field, str]:
    """The cells of a row by field, mended ones in place of the file's."""
    return {**{found: own_text(row[column]) for found, column in columns.items()}, **mended}


def _read_row(
    coded: CodedRow, books: Books, kinds: Mapping[str, MaterialKind], faults: defaultdict[int, list[Finding]]
) -> SheetRow | None:
    """Return a row as it would be kept, or None after adding all that is wrong with it."""
    cells, known = coded.cells, coded.known
    reader = CellReader(cells, books.currency, kinds)
    texts = {field: reader.short(field) for field in MOST_LETTERS}
    supplier = reader.supplier(books.suppliers)
    row = None
    if (kind := reader.kind(known)) is not None:
        unit = kind.unit
        amount = reader.amount(kind)
        cost = reader.unit_cost(unit, amount, is_needed=known is None)
        standing = Fraction(known.unit_cost) if known else Fraction(0)
        width = reader.width_tenths_mm(kind)
        row = SheetRow(
            number=cells.number,
            code=coded.code,
            is_there=known is not None,
            name=known.name if known else texts[Field.NAME] or cells.text(Field.CODE),
            kind=kind,
            colour=texts[Field.COLOUR],
            unit_cost_millionths=None if cost is None else round(cost * 1_000_000),
            quantity=amount.quantity,
            value_minor=reader.value_minor(amount, unit, standing if cost is None else cost),
            says_cost=bool(cells.text(Field.UNIT_COST) or cells.text(Field.VALUE)),
            size_tenths_mm=reader.size_tenths_mm(kind),
            usable_width_mm=round(width / 10) if width and kind in CLOTHS else None,
            width_tenths_mm=width if kind not in CLOTHS else None,
            dye_lot=texts[Field.DYE_LOT],
            place=texts[Field.PLACE],
            supplier=supplier,
            note=texts[Field.NOTE],
        )
    if reader.findings:
        faults[cells.number].extend(reader.findings)
        return None
    return row


_SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f", " "))


def own_text(cell: str) -> str:
    """Return a cell with plain spaces, without the apostrophe that keeps a spreadsheet from taking it for a formula."""
    if isinstance(cell, NumberCell):
        return cell
    if not cell.isascii():
        cell = cell.translate(_SPACES)
    return cell[1:] if cell[:1] == "'" and cell[1:2] in ("=", "+", "-", "@") else cell


def _compare(
    rows: Iterable[tuple[RowCells, SheetRow]],
    materials: Iterable[KnownMaterial],
    faults: defaultdict[int, list[Finding]],
) -> None:
    """Find rows that contradict an earlier row of their material, or leave open which of its items they mean."""
    in_lengths = {known.code for known in materials if known.lengths_tenths_mm}
    first: dict[str, SheetRow] = {}
    counts: Counter[str] = Counter()
    lots: dict[tuple[str, int, str], int] = {}
    both = list(rows)
    for _, row in both:
        counts[row.code] += 1
        if row.size_tenths_mm:
            in_lengths.add(row.code)
    for cells, row in both:
        earlier = first.setdefault(row.code, row)
        if row.kind is not earlier.kind:
            message = f"{row.code} is {earlier.kind.value} in row {earlier.number}: write the same here."
            faults[row.number].append(cells.wrong(Field.KIND, message))
        if row.code in in_lengths and not row.size_tenths_mm and (row.quantity or counts[row.code] > 1):
            faults[row.number].append(
                cells.wrong(Field.LENGTH, f"{row.code} comes in lengths: write which one this is.")
            )
        number = lots.setdefault((row.code, row.size_tenths_mm, row.dye_lot.casefold()), row.number)
        if number != row.number:
            size = f" in {row.size_tenths_mm / 10:g} mm" if row.size_tenths_mm else ""
            message = f"{row.code}{size} stands in row {number} already: keep one row, or give each its own dye lot."
            faults[row.number].append(cells.wrong(Field.CODE, message))


def _several_prices(rows: Iterable[SheetRow]) -> Iterator[Finding]:
    """Say which price new quotes take of a material whose rows have several."""
    priced: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for row in rows:
        if row.unit_cost_millionths is not None:
            priced[row.code].append((row.number, row.unit_cost_millionths))
    for code, found in priced.items():
        prices = [price for _, price in found]
        if len(set(prices)) > 1:
            yield warn(
                "sheet.prices",
                f"Row {found[0][0]}, {LABELS[Field.UNIT_COST]}",
                f"{code} has prices from {price_text(min(prices))} to {price_text(max(prices))} in its rows: "
                "the stock of each row takes its own, new quotes the highest.",
            )
