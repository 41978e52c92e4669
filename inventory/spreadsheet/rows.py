"""Any maker's table, XLSX or CSV, as rows of text: what stands in which cell, and nothing read into it."""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import islice

from inventory.ground.findings import Refused, refuse
from inventory.ground.reading import MOST_BYTES, decoded
from inventory.spreadsheet.points import NumberCell
from inventory.spreadsheet.xlsx import first_sheet, sheets, shown_number

__all__ = [
    "MOST_COLUMNS",
    "MOST_ROWS",
    "SHEET_MEND",
    "FilePages",
    "Page",
    "cells_kept",
    "file_pages",
    "kept_cells",
    "sheet_rows",
]

MOST_COLUMNS = 60
MOST_ROWS = 20_000
SHEET_MEND = "Save only the table, as CSV, or part it into several files."
"""What to do with a table that takes too much."""
_DELIMITERS = ";\t,"
_SNIFFED_ROWS = 50
_ZIP = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_MARKED = (b"\xff\xfe", b"\xfe\xff", b"\xef\xbb\xbf")
_BINARY = re.compile(rb"[\x00-\x08\x0e-\x1f]")
_NAMED_DELIMITER = re.compile(r"sep=([;,\t])\r?\n", re.IGNORECASE)
_AS_WESTERN = "The file is not UTF-8 and was read as Windows-1252: look whether its letters are right."


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A sheet of a file by its name, empty for the one of a CSV: rows as `sheet_rows` gives them, none where it is blank."""

    name: str
    rows: list[list[str]]
    is_hidden: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FilePages:
    """All sheets of a file, and what was assumed on reading them, sentences."""

    pages: tuple[Page, ...]
    assumed: tuple[str, ...] = ()


def sheet_rows(data: bytes, filename: str, *, most_rows: int = MOST_ROWS) -> list[list[str]]:
    """Return the cells of a CSV or of an XLSX's first sheet, as text without spaces around it.

    Row 1 of the file is the first of the list, blank rows stay so that numbers agree, and all rows are as wide as the
    widest. Numbers are plain (`12.5`, `3`), days ISO 8601, yes and no `true` and `false`; what is empty is "".

    Raises:
        Refused: it is empty, broken, no table, or holds something beyond `most_rows` or `MOST_COLUMNS`.
    """
    _must_be_readable(data, filename)
    if data.startswith(_ZIP):
        keep = partial(_filled, filename=filename, most_rows=most_rows)
        rows = first_sheet(data, filename, keep, most_columns=MOST_COLUMNS + 1)
    else:
        rows = _filled(_csv_cells(_csv_text(data, filename)[0], filename), filename, most_rows)
    if not rows:
        raise refuse("file.empty", filename, "The table is empty.")
    return _even(rows)


def file_pages(data: bytes, filename: str, *, most_rows: int = MOST_ROWS) -> FilePages:
    """Return all sheets of a file, as `sheet_rows` gives the first; `most_rows` are those of each.

    Raises:
        Refused: as `sheet_rows` does; also where all sheets together hold more than `most_rows`.
    """
    _must_be_readable(data, filename)
    assumed: tuple[str, ...] = ()
    if data.startswith(_ZIP):
        keep = partial(_filled, filename=filename, most_rows=most_rows)
        pages = [
            Page(name=sheet.name, rows=_even(rows), is_hidden=sheet.is_hidden)
            for sheet, rows in sheets(data, filename, keep, most_columns=MOST_COLUMNS + 1)
        ]
    else:
        text, is_western = _csv_text(data, filename)
        assumed = (_AS_WESTERN,) if is_western else ()
        pages = [Page(name="", rows=_even(_filled(_csv_cells(text, filename), filename, most_rows)))]
    if not any(page.rows for page in pages):
        raise refuse("file.empty", filename, "The table is empty.")
    if sum(len(page.rows) for page in pages) > most_rows:
        raise _too_long(filename, most_rows)
    return FilePages(pages=tuple(pages), assumed=assumed)


def kept_cells(rows: Iterable[Sequence[str]]) -> list[list[str | int | float]]:
    """Return rows as JSON holds them: numbers of a workbook as numbers, all else as text."""
    return [[_kept_number(cell) if isinstance(cell, NumberCell) else cell for cell in row] for row in rows]


def cells_kept(rows: Iterable[Sequence[str | int | float]]) -> list[list[str]]:
    """Return the rows that `kept_cells` was given."""
    return [[cell if isinstance(cell, str) else NumberCell(shown_number(cell)) for cell in row] for row in rows]


def _kept_number(text: str) -> int | float:
    return int(text) if text.lstrip("-").isdigit() else float(text)


def _even(rows: list[list[str]]) -> list[list[str]]:
    width = max(map(len, rows), default=0)
    return [row + [""] * (width - len(row)) for row in rows]


def _must_be_readable(data: bytes, filename: str) -> None:
    if len(data) > MOST_BYTES:
        raise refuse(
            "file.too-large", filename, f"The file has {len(data) / 1e6:.0f} MB; {MOST_BYTES // 1_000_000} MB are read."
        )
    if data.startswith(_OLD_WORKBOOK):
        raise refuse(
            "file.old-workbook",
            filename,
            "The file is an old XLS workbook or has a password.",
            "Save it again as XLSX or CSV, without a password.",
        )


def _filled(found: Iterable[list[str]], filename: str, most_rows: int) -> list[list[str]]:
    """Keep rows up to the last that holds something, each up to its last cell that does."""
    rows: list[list[str]] = []
    blanks = 0
    for number, texts in enumerate(found, start=1):
        cells = [text if isinstance(text, NumberCell) else text.strip() for text in texts]
        width = next((place for place in range(len(cells), 0, -1) if cells[place - 1]), 0)
        if not width:
            blanks += 1
            continue
        if number > most_rows:
            raise _too_long(filename, most_rows)
        if width > MOST_COLUMNS:
            raise refuse(
                "table.too-wide", f"{filename}, row {number}", f"The row has more than {MOST_COLUMNS} columns."
            )
        rows += [[] for _ in range(blanks)]
        blanks = 0
        rows.append(cells[:width])
    return rows


def _too_long(filename: str, most_rows: int) -> Refused:
    return refuse(
        "table.too-long", filename, f"The table has more than {most_rows} rows.", "Part it into several files."
    )


def _csv_text(data: bytes, filename: str) -> tuple[str, bool]:
    """The text of a CSV, and whether it was taken for Windows-1252, as office programs of the west write without asking."""
    try:
        return decoded(data, filename), False
    except Refused:
        if data.startswith(_MARKED) or _BINARY.search(data):
            raise
        try:
            return data.decode("cp1252"), True
        except UnicodeDecodeError:
            pass
        raise


def _csv_cells(text: str, filename: str) -> Iterable[list[str]]:
    named = _NAMED_DELIMITER.match(text)
    try:
        delimiter = named[1] if named else max(_DELIMITERS, key=lambda sign: _agreement(text, sign))
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    except csv.Error as error:
        raise refuse(
            "table.broken", filename, f"The table cannot be read: {error}.", "Check its quotation marks."
        ) from None


def _agreement(text: str, delimiter: str) -> tuple[int, int]:
    """How many of the first rows have the same number of cells when parted so, and that number."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    widths = Counter(len(cells) for cells in islice(reader, _SNIFFED_ROWS) if len(cells) > 1)
    return max(((rows, width) for width, rows in widths.items()), default=(0, 0))
