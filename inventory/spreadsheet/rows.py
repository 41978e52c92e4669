"""Any maker's table, XLSX or CSV, as rows of text: what stands in which cell, and nothing read into it."""

import csv
import io
from collections import Counter
from collections.abc import Iterable
from itertools import islice

from inventory.ground.findings import refuse
from inventory.ground.reading import MOST_BYTES, decoded
from inventory.spreadsheet.xlsx import first_sheet

__all__ = ["MOST_COLUMNS", "MOST_ROWS", "SHEET_MEND", "sheet_rows"]

MOST_COLUMNS = 60
MOST_ROWS = 20_000
SHEET_MEND = "Save only the table, as CSV, or part it into several files."
"""What to do with a table that takes too much."""
_DELIMITERS = ";\t,"
_SNIFFED_ROWS = 50
_ZIP = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


def sheet_rows(data: bytes, filename: str, *, most_rows: int = MOST_ROWS) -> list[list[str]]:
    """Return the cells of a CSV or of an XLSX's first sheet, as text without spaces around it.

    Row 1 of the file is the first of the list, blank rows stay so that numbers agree, and all rows are as wide as the
    widest. Numbers are plain (`12.5`, `3`), days ISO 8601, yes and no `true` and `false`; what is empty is "".

    Raises:
        Refused: it is empty, broken, no table, or holds something beyond `most_rows` or `MOST_COLUMNS`.
    """
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
    if data.startswith(_ZIP):
        rows = _filled(first_sheet(data, filename, most_columns=MOST_COLUMNS + 1), filename, most_rows)
    else:
        rows = _filled(_csv_cells(data, filename), filename, most_rows)
    if not rows:
        raise refuse("file.empty", filename, "The table is empty.")
    width = max(map(len, rows))
    return [row + [""] * (width - len(row)) for row in rows]


def _filled(found: Iterable[list[str]], filename: str, most_rows: int) -> list[list[str]]:
    """Keep rows up to the last that holds something, each up to its last cell that does."""
    rows: list[list[str]] = []
    blanks = 0
    for number, texts in enumerate(found, start=1):
        cells = [text.strip() for text in texts]
        width = next((place for place in range(len(cells), 0, -1) if cells[place - 1]), 0)
        if not width:
            blanks += 1
            continue
        if number > most_rows:
            raise refuse(
                "table.too-long",
                filename,
                f"The table has more than {most_rows} rows.",
                "Part it into several files.",
            )
        if width > MOST_COLUMNS:
            raise refuse(
                "table.too-wide", f"{filename}, row {number}", f"The row has more than {MOST_COLUMNS} columns."
            )
        rows += [[] for _ in range(blanks)]
        blanks = 0
        rows.append(cells[:width])
    return rows


def _csv_cells(data: bytes, filename: str) -> Iterable[list[str]]:
    text = decoded(data, filename)
    try:
        delimiter = max(_DELIMITERS, key=lambda sign: _agreement(text, sign))
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
