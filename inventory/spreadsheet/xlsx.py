"""The cells of a workbook's sheets as text (SpreadsheetML of ECMA-376).

Read by hand for speed: the library that writes our workbooks takes twice as long as a page may for 10,000 rows.
"""

import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from decimal import Decimal
from functools import cache
from io import BytesIO
from math import isfinite
from posixpath import basename, dirname, join, normpath
from typing import IO, Any, TypeVar
from xml.etree.ElementTree import Element, iterparse
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile

from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format
from openpyxl.utils import column_index_from_string
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from inventory.ground.findings import refuse
from inventory.spreadsheet.points import NumberCell

__all__ = ["MOST_UNPACKED_BYTES", "Sheet", "first_sheet", "sheets", "shown_number"]

MOST_UNPACKED_BYTES = 60_000_000
_MOST_ROWS = 1_048_576  # a row said to lie beyond what spreadsheets hold would be counted up to in vain
_BROKEN = (
    ArithmeticError,
    BadZipFile,
    EOFError,
    LookupError,
    OSError,
    RuntimeError,
    SyntaxError,
    ValueError,
    expat.ExpatError,
    zlib.error,
)


T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of a workbook: its name, and whether its maker hid it."""

    name: str
    is_hidden: bool


def first_sheet(data: bytes, filename: str, keep: Callable[[Iterator[list[str]]], T], *, most_columns: int) -> T:
    """Return what `keep` makes of the rows of the first sheet, as `sheets` does of all."""
    return _kept(data, filename, keep, most_columns, most_sheets=1)[0][1]


def sheets(
    data: bytes, filename: str, keep: Callable[[Iterator[list[str]]], T], *, most_columns: int
) -> list[tuple[Sheet, T]]:
    """Return each sheet with what `keep` makes of its rows from row 1 on, blank ones too; charts are passed over.

    Cells beyond `most_columns` share that column. Numbers are plain, with the 15 digits that a spreadsheet shows, each a
    `NumberCell`; days and times ISO 8601; yes and no `true` and `false`. A formula is what it came to when it was saved.

    Raises:
        Refused: it is no workbook, a broken one, or unpacks to too much.
    """
    return _kept(data, filename, keep, most_columns, most_sheets=None)


def _kept(
    data: bytes, filename: str, keep: Callable[[Iterator[list[str]]], T], most_columns: int, *, most_sheets: int | None
) -> list[tuple[Sheet, T]]:
    try:
        with ZipFile(BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MOST_UNPACKED_BYTES:
                raise refuse("file.unpacks-too-large", filename, "The workbook unpacks to more than 60 MB.")
            found, reading = _workbook(archive, most_columns)
            # A workbook without a sheet is none.
            found[0]
            return [(sheet, keep(_rows(_elements(archive, path), reading))) for sheet, path in found[:most_sheets]]
    except _BROKEN:
        raise refuse(
            "file.not-a-workbook",
            filename,
            "The file is no XLSX workbook that can be read.",
            "Save it again as XLSX or CSV.",
        ) from None


def _workbook(archive: ZipFile, most_columns: int) -> tuple[list[tuple[Sheet, str]], "_Reading"]:
    """The sheets with the paths of their parts, and what their cells refer to."""
    book = dict(_related(archive, "").values()).get("officeDocument", "")
    related = _related(archive, book)
    paths = dict(related.values())
    found: list[tuple[Sheet, str]] = []
    epoch = CALENDAR_WINDOWS_1900
    for element in _elements(archive, book):
        if element.tag.endswith("}sheet"):
            kind, path = next(related[value] for name, value in element.items() if name.endswith("}id"))
            sheet = Sheet(name=element.get("name", ""), is_hidden=element.get("state", "visible") != "visible")
            found += [(sheet, path)] if kind == "worksheet" else []
        elif element.tag.endswith("}workbookPr") and element.get("date1904") in ("1", "true"):
            epoch = CALENDAR_MAC_1904
    reading = _Reading(
        strings=_strings(archive, paths["sharedStrings"]) if "sharedStrings" in paths else (),
        are_dates=_date_styles(archive, paths["styles"]) if "styles" in paths else (),
        epoch=epoch,
        most_columns=most_columns,
    )
    return found, reading


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """What cells refer to: texts and styles by number, and the day that days are counted from."""

    strings: Sequence[str]
    are_dates: Sequence[bool]
    epoch: datetime
    most_columns: int


def _rows(elements: Iterator[Element], reading: _Reading) -> Iterator[list[str]]:
    done = 0
    for element in elements:
        if element.tag.endswith("}row"):
            number = int(element.get("r", done + 1))
            if not done < number <= _MOST_ROWS:
                raise ValueError(f"row {number} stands after row {done}")
            for _ in range(done + 1, number):
                yield []
            yield _cells(element, reading)
            done = number
            element.clear()
        elif element.tag.endswith("}sheetData"):
            return


def _cells(row: Element, reading: _Reading) -> list[str]:
    texts: list[str] = []
    column = 0
    for cell in row:
        column = _column(cell.get("r", "").rstrip("0123456789")) if "r" in cell.attrib else column + 1
        if text := _cell_text(cell, reading):
            place = min(column, reading.most_columns)
            texts += [""] * (place - len(texts))
            texts[place - 1] = text
    return texts


def _cell_text(cell: Element, reading: _Reading) -> str:
    kind = cell.get("t", "n")
    if kind == "inlineStr":
        return _text(cell)
    value = next((part.text or "" for part in cell if part.tag.endswith("}v")), "")
    if not value:
        return ""
    match kind:
        case "s":
            return reading.strings[int(value)]
        case "b":
            return "true" if value == "1" else "false"
        case "n":
            style = int(cell.get("s", "0"))
            is_date = style < len(reading.are_dates) and reading.are_dates[style]
            return _date_text(value, reading.epoch) if is_date else NumberCell(_number_text(value))
        case _:
            return value


def _number_text(value: str) -> str:
    """As a spreadsheet shows it, which is not how it is kept: 0.1 + 0.2 is 0.3."""
    return value if value.isdigit() and len(value) <= 15 else shown_number(float(value))


def shown_number(number: float) -> str:
    """Return a number in plain digits with the 15 that a spreadsheet shows. Raises ValueError for one without an end.

    >>> shown_number(0.1 + 0.2), shown_number(1e-6)
    ('0.3', '0.000001')
    """
    if not isfinite(number):
        raise ValueError(f"{number} is no number of a spreadsheet")
    return format(Decimal(f"{number:.15g}") + 0, "f")


def _date_text(value: str, epoch: datetime) -> str:
    try:
        moment = from_excel(float(value), epoch)
    except (OverflowError, ValueError):
        return _number_text(value)
    if isinstance(moment, datetime):
        return moment.date().isoformat() if moment.time() == time() else moment.isoformat(" ", "seconds")
    return str(moment)


def _strings(archive: ZipFile, path: str) -> list[str]:
    found = []
    for element in _elements(archive, path):
        if element.tag.endswith("}si"):
            found.append(_text(element))
            element.clear()
    return found


def _text(element: Element) -> str:
    """The text of an element in its runs, without the readings that stand over Japanese."""
    texts = []
    for part in element:
        if part.tag.endswith("}t"):
            texts.append(part.text or "")
        elif part.tag.endswith(("}r", "}is")):
            texts.append(_text(part))
    return "".join(texts)


def _date_styles(archive: ZipFile, path: str) -> list[bool]:
    """For each style of a cell, whether its number is shown as a day or a time."""
    formats: dict[str, str] = {str(number): code for number, code in BUILTIN_FORMATS.items()}
    styles: list[bool] = []
    for element in _elements(archive, path):
        if element.tag.endswith("}numFmt"):
            formats[element.get("numFmtId", "")] = element.get("formatCode", "")
        elif element.tag.endswith("}cellXfs"):
            styles = [bool(is_date_format(formats.get(style.get("numFmtId", "0"), ""))) for style in element]
    return styles


def _related(archive: ZipFile, part: str) -> dict[str, tuple[str, str]]:
    """Kind and path of the files that a part refers to, by their id."""
    return {
        element.get("Id", ""): (
            basename(element.get("Type", "")),
            normpath(join("/", dirname(part), element.get("Target", ""))).lstrip("/"),
        )
        for element in _elements(archive, join(dirname(part), "_rels", f"{basename(part)}.rels"))
        if element.tag.endswith("}Relationship")
    }


def _elements(archive: ZipFile, path: str) -> Iterator[Element]:
    """The elements of a file as they end. Raises ValueError for one that declares entities."""
    with archive.open(path) as file:
        _refuse_declarations(file)
        file.seek(0)
        for _, element in iterparse(file):
            yield element


def _refuse_declarations(file: IO[bytes]) -> None:
    """No workbook has a document type; one that has could unfold without end."""
    has_begun = False

    def refuse_declaration(*_: Any) -> None:
        raise ValueError("the file declares a document type")

    def begin(*_: Any) -> None:
        nonlocal has_begun
        has_begun = True

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = refuse_declaration
    parser.StartElementHandler = begin
    while not has_begun and (chunk := file.read(4096)):
        parser.Parse(chunk)


@cache
def _column(letters: str) -> int:
    number: int = column_index_from_string(letters)
    return number
