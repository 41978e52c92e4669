"""Patterns as a table of widths at levels, CSV or the first sheet of an XLSX.

Columns, in any order: panel, height, width, and where they differ height_back and front. A line `units: in` may stand
above the header. Between levels edges run straight; the waist is height 0.
"""

import csv
import io
import math
import re
import zipfile
import zlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException

from inventory.ground.findings import Finding, Refused, refuse, stop
from inventory.ground.reading import decoded
from inventory.ground.units import MM_PER_UNIT, LengthUnit, parse_length
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions
from quotes.pattern.panels import EdgeName
from quotes.pattern.readers.text import overruled_units

__all__ = ["read"]

MOST_ROWS, MOST_COLUMNS = 4000, 40
MOST_UNPACKED_BYTES = 60_000_000
MOST_FAULTS = 20
_BROKEN = (
    zipfile.BadZipFile, zlib.error, InvalidFileException, AttributeError, EOFError, LookupError, NotImplementedError,
    OSError, RuntimeError, SyntaxError, TypeError, ValueError,
)  # fmt: skip
"""What the library, and what it stands on, say of a workbook that is not what it seems."""
_UNITS = {"mm": LengthUnit.MM, "cm": LengthUnit.CM, "in": LengthUnit.INCH}
_UNITS_LINE = re.compile(r"\s*units\s*[:=]\s*(\S+)\s*", re.IGNORECASE)
_COLUMNS = ("panel", "height", "width", "height_back", "front")
_NEEDED = ("panel", "height", "width")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    where: str
    cells: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Level:
    where: str
    panel: int
    height_mm: float
    height_back_mm: float
    front_mm: float
    width_mm: float


def read(data: bytes, options: ReadOptions) -> Drawing:
    """Return the drawing that a table describes. Raises Refused with every bad row named."""
    rows = list(_xlsx_rows(data) if data[:2] == b"PK" else _csv_rows(data))
    unit, overruled, rows = _unit(rows, options)
    if not rows:
        raise refuse(
            "table.no-header", "file", "The table has no header row.", "Name the columns panel, height, width."
        )
    header, *body = rows
    places = _columns(header)
    faults: list[Finding] = []
    levels: dict[int, list[_Level]] = defaultdict(list)
    for row in body:
        try:
            level = _level(row, places, unit, len(header.cells))
            levels[level.panel].append(level)
        except Refused as refusal:
            faults += refusal.findings
        if len(faults) >= MOST_FAULTS:
            break
    for number, found in levels.items():
        faults += _panel_faults(number, found)
    if faults:
        raise Refused(faults)
    if not levels:
        raise refuse(
            "table.no-rows", "file", "The table has a header but no rows.", "Add two levels or more per panel."
        )
    panels = tuple(_panel(number, levels[number]) for number in sorted(levels))
    return Drawing(name="", panels=panels, mm_per_unit=float(MM_PER_UNIT[unit]), findings=overruled)


def _csv_rows(data: bytes) -> Iterator[_Row]:
    text = decoded(data)
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise refuse("file.empty", "file", "The file is empty.")
    decimal_signs: dict[str, str] = {}
    header = next((line for line in lines if not _UNITS_LINE.fullmatch(line.strip(" ;,\t"))), lines[0])
    delimiter = max(";\t,", key=header.count)
    try:
        reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
        for cells in reader:
            if reader.line_num > MOST_ROWS:
                raise refuse("table.too-long", "file", f"The table has more than {MOST_ROWS} rows.")
            if len(cells) > MOST_COLUMNS:
                raise refuse(
                    "table.too-wide", f"row {reader.line_num}", f"The row has more than {MOST_COLUMNS} columns."
                )
            if any(cell.strip() for cell in cells):
                if delimiter == "," and _UNITS_LINE.fullmatch(",".join(cells).strip(" ,")) is None:
                    _no_decimal_comma(cells, reader.line_num)
                _one_decimal_sign(cells, decimal_signs, reader.line_num)
                yield _Row(where=f"row {reader.line_num}", cells=cells)
    except csv.Error as error:
        raise refuse(
            "table.broken", "file", f"The table cannot be read: {error}.", "Check its quotation marks."
        ) from None


def _no_decimal_comma(cells: Sequence[str], row: int) -> None:
    for cell in cells:
        if re.fullmatch(r"\s*[-+]?\d+,\d+\s*", cell):
            raise refuse(
                "table.mixed-decimal-signs",
                f"row {row}",
                f"{cell.strip()!r} has a decimal comma in a table whose columns are parted by commas.",
                "Part the columns by semicolons or tabs, or write decimal points.",
            )


def _one_decimal_sign(cells: Sequence[str], seen: dict[str, str], row: int) -> None:
    """Refuse a table that writes both 50,5 and 50.5; `seen` keeps the first number of each sign."""
    for cell in cells:
        if match := re.fullmatch(r"\s*[-+]?\d+([,.])\d+\s*", cell):
            seen.setdefault(match[1], cell.strip())
    if len(seen) > 1:
        raise refuse(
            "table.mixed-decimal-signs",
            f"row {row}",
            f"The table writes both {seen[',']!r} with a comma and {seen['.']!r} with a point.",
            "Use one decimal sign throughout.",
        )


def _xlsx_rows(data: bytes) -> Iterator[_Row]:
    decimal_signs: dict[str, str] = {}
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MOST_UNPACKED_BYTES:
                raise refuse("file.unpacks-too-large", "file", "The workbook unpacks to more than 60 MB.")
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()
        for number, cells in enumerate(sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS), start=1):
            if number > MOST_ROWS:
                raise refuse("table.too-long", "file", f"The sheet has more than {MOST_ROWS} rows.")
            texts = [_cell_text(cell) for cell in cells]
            _one_decimal_sign([cell for cell in cells if isinstance(cell, str)], decimal_signs, number)
            if any(text.strip() for text in texts):
                yield _Row(where=f"row {number}", cells=texts)
    except _BROKEN:
        raise refuse(
            "file.not-a-workbook",
            "file",
            "The file is no XLSX workbook that can be read.",
            "Save it again as XLSX or CSV.",
        ) from None


def _cell_text(cell: object) -> str:
    if isinstance(cell, float) and math.isfinite(cell):
        # A formula that comes to nothing leaves 1e-15, which nobody writes.
        return format(Decimal(repr(cell)), "f")
    return "" if cell is None else str(cell)


def _unit(rows: list[_Row], options: ReadOptions) -> tuple[LengthUnit, tuple[Finding, ...], list[_Row]]:
    """The table's unit (mm unless said), whether it was overruled, and the rows from the header on."""
    unit = LengthUnit.MM
    overruled: tuple[Finding, ...] = ()
    if rows and (match := _UNITS_LINE.fullmatch(" ".join(cell for cell in rows[0].cells if cell.strip()))):
        word = match[1].lower().rstrip(";,")
        if word not in _UNITS:
            raise refuse(
                "file.unknown-units", rows[0].where, f"{word[:20]!r} is no unit known here.", "Write mm, cm or in."
            )
        overruled = overruled_units(word, options.units, rows[0].where)
        unit, rows = _UNITS[word], rows[1:]
    return (unit if options.units is None else _UNITS[options.units]), overruled, rows


def _columns(header: _Row) -> dict[str, int]:
    names = [cell.strip().lower().lstrip("\ufeff") for cell in header.cells]
    for name in names:
        if name and names.count(name) > 1:
            raise refuse(
                "table.column-twice", header.where, f"The column {name!r} is there twice.", "Keep one of them."
            )
    unknown = [name for name in names if name and name not in _COLUMNS]
    missing = [name for name in _NEEDED if name not in names]
    if missing or unknown:
        words = (
            f"The column {', '.join(missing)} is missing."
            if missing
            else f"The column {unknown[0][:40]!r} is not known."
        )
        raise refuse(
            "table.columns", header.where, words, f"Columns are {', '.join(_COLUMNS)}; the first three are needed."
        )
    return {name: names.index(name) for name in _COLUMNS if name in names}


def _level(row: _Row, places: dict[str, int], unit: LengthUnit, header_width: int) -> _Level:
    def cell(name: str) -> str:
        place = places.get(name)
        return row.cells[place].strip() if place is not None and place < len(row.cells) else ""

    def length(name: str) -> float:
        text = cell(name)
        if not text:
            raise refuse("table.cell-empty", row.where, f"The {name} is missing.", "Fill the cell.")
        try:
            return parse_length(text, unit)
        except ValueError as error:
            raise refuse("table.not-a-number", f"{row.where}, {name}", str(error)) from None

    if any(text.strip() for text in row.cells[header_width:]):
        raise refuse(
            "table.too-many-cells",
            row.where,
            f"The row has more cells than the header's {header_width}.",
            "Write decimal points, or part the columns by semicolons or tabs.",
        )
    number = cell("panel").removesuffix(".0")
    if not re.fullmatch(r"\d{1,3}", number):
        raise refuse("pattern.panel-without-number", f"{row.where}, panel", f"{number[:20]!r} is no panel number.")
    height, width = length("height"), length("width")
    if width <= 0:
        raise refuse("table.width", f"{row.where}, width", f"A width of {width:g} mm is not more than zero.")
    return _Level(
        where=row.where,
        panel=int(number),
        height_mm=height,
        height_back_mm=length("height_back") if cell("height_back") else height,
        front_mm=length("front") if cell("front") else -width / 2,
        width_mm=width,
    )


def _panel_faults(number: int, levels: list[_Level]) -> list[Finding]:
    if len(levels) < 2:
        return [stop("table.one-level", levels[0].where, f"Panel {number} has one level; two or more are needed.")]
    faults = []
    for heights in ([level.height_mm for level in levels], [level.height_back_mm for level in levels]):
        steps = [after - before for before, after in pairwise(heights)]
        if not (all(step > 0 for step in steps) or all(step < 0 for step in steps)):
            faults.append(
                stop(
                    "table.level-order",
                    levels[0].where,
                    f"The levels of panel {number} do not run steadily from top to bottom or the other way.",
                    "List each level once, in order of height.",
                )
            )
            break
    return faults


def _panel(number: int, levels: list[_Level]) -> DrawnPanel:
    rising = sorted(levels, key=lambda level: level.height_mm)
    front = tuple((level.front_mm, level.height_mm) for level in rising)
    back = tuple((level.front_mm + level.width_mm, level.height_back_mm) for level in rising)
    return DrawnPanel(
        number=number,
        where=f"panel {number}",
        edges={
            EdgeName.FRONT: front,
            EdgeName.BACK: back,
            EdgeName.TOP: (front[-1], back[-1]),
            EdgeName.BOTTOM: (front[0], back[0]),
        },
        waist_mm=0.0,
    )
