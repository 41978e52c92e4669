"""A maker's own table of materials with what lies on the shelf: rows of text to rows of the shelf, or what is wrong.

Words: a *row* carries its number in the file; a *table* is a header with the rows below it. Rows of one code are one
material, each length of it an item, each dye lot of an item a lot.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from inventory.ground.findings import Finding, warn
from inventory.ground.materials import CLOTHS, MaterialKind, StockUnit
from inventory.ground.money import Currency
from inventory.spreadsheet.cells import MOST_LETTERS, CellReader, KnownMaterial, RowCells, price_text
from inventory.spreadsheet.codes import CodedRow, coded_rows
from inventory.spreadsheet.words import LABELS, Field, length_unit_of

__all__ = ["Books", "Reading", "SheetRow", "read_table"]


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
    """

    currency: Currency
    materials: tuple[KnownMaterial, ...] = ()
    suppliers: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The good rows of a table in its order, how many say anything, and all findings by row, stops first."""

    rows: tuple[SheetRow, ...]
    filled: int
    findings: tuple[Finding, ...]


def read_table(
    table: Sequence[Sequence[str]], columns: Mapping[Field, int], *, first_row: int, books: Books
) -> Reading:
    """Return what a table says, with every fault of every row.

    Args:
        table: the header and the rows below it, as text; blank rows are passed over.
        columns: which column holds which field.
        first_row: the number that the header's row has in the file.
    """
    header = table[0] if table else ()
    units = {field: length_unit_of(header[columns[field]]) for field in (Field.LENGTH, Field.WIDTH) if field in columns}
    filled = [
        RowCells(number=first_row + place, said=said, units=units)
        for place, row in enumerate(table)
        if place and any((said := {field: _own_text(row[column]) for field, column in columns.items()}).values())
    ]
    faults: defaultdict[int, list[Finding]] = defaultdict(list)
    read = [(coded.cells, _read_row(coded, books, faults)) for coded in coded_rows(filled, books.materials, faults)]
    rows = {row.number: (cells, row) for cells, row in read if row is not None}
    _compare(rows.values(), books.materials, faults)
    return Reading(
        rows=tuple(row for number, (_, row) in rows.items() if number not in faults),
        filled=len(filled),
        findings=(
            *(found for number in sorted(faults) for found in faults[number]),
            *_several_prices(row for _, row in rows.values()),
            *_thousands(filled),
        ),
    )


def _read_row(coded: CodedRow, books: Books, faults: defaultdict[int, list[Finding]]) -> SheetRow | None:
    """Return a row as it would be kept, or None after adding all that is wrong with it."""
    cells, known = coded.cells, coded.known
    reader = CellReader(cells, books.currency)
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


def _own_text(cell: str) -> str:
    """A cell without the apostrophe that keeps a spreadsheet from taking it for a formula."""
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


def _thousands(rows: Iterable[RowCells]) -> Iterator[Finding]:
    """Say where a comma was taken for a decimal point and may have been meant for thousands."""
    for field in (Field.UNIT_COST, Field.QUANTITY, Field.VALUE):
        found = [row for row in rows if re.fullmatch(r"[1-9]\d{0,2},\d{3}", row.text(field))]
        if found:
            text = found[0].text(field)
            others = len(found) - 1
            more = f", and the like in {others} more row{'s' if others > 1 else ''}" if others else ""
            yield warn(
                "sheet.thousands",
                f"Row {found[0].number}, {LABELS[field]}",
                f"“{text}” is read as {Decimal(text.replace(',', '.')).normalize():f}{more}: "
                f"write {text.replace(',', '')} where thousands are meant.",
            )
