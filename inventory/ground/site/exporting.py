"""Lists to take away: every table of the shelf and the desk as CSV or XLSX, all its rows as they are narrowed and sorted."""

import csv
import html
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from io import StringIO
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.html import strip_tags
from django.utils.safestring import SafeString
from django_tables2 import DateColumn, Table
from django_tables2.columns import BoundColumn
from django_tables2.rows import BoundRow
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from inventory.ground.sheets import Cell, SheetBook, disarmed
from inventory.ground.site.downloads import download

__all__ = ["exported"]


def exported(table: Table, request: HttpRequest, *, name: str) -> HttpResponse | None:
    """Return all rows of a table as a download where the query asks `export=csv` or `export=xlsx`, else None.

    Call it once the table is narrowed and sorted (`inventory.ground.site.paging.turn_to_page`). Columns without a header
    are ways to other pages and stay out; so do those with `exclude_from_export`.

    Args:
        name: of the file before the day, for instance `stock` for `stock-2027-01-04.csv`.
    """
    kind = request.GET.get("export")
    if kind == "csv":
        data = _csv(table)
    elif kind == "xlsx":
        data = _xlsx(table, name)
    else:
        return None
    return download(data, f"{name}-{timezone.localdate():%Y-%m-%d}.{kind}")


def _csv(table: Table) -> bytes:
    """UTF-8 with the mark by which spreadsheets know it, lines ending as RFC 4180 says."""
    out = StringIO(newline="")
    writer = csv.writer(out)
    for row in _rows(table):
        writer.writerow([disarmed(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def _xlsx(table: Table, name: str) -> bytes:
    header, *rows = _rows(table)
    book = SheetBook()
    book.sheet(name[:31], [str(cell) for cell in header], rows)
    return book.data()


def _rows(table: Table) -> Iterator[list[Cell]]:
    """The header, then every row, as text, numbers and days. A column whose number needs its unit is `exported_as`."""
    columns = [
        column for column in table.columns if not column.column.exclude_from_export and str(column.header).strip()
    ]
    yield [_cell(getattr(column.column, "exported_as", "") or column.header) for column in columns]
    for row in table.rows:
        yield [_cell(_value(row, column)) for column in columns]


def _value(row: BoundRow, column: BoundColumn) -> Any:
    """A cell's value; a day, which its column hands over as text, is a day again."""
    value = row.get_cell_value(column.name)
    if isinstance(column.column, DateColumn) and isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value  # what stands where there is no day
    return value


def _cell(value: Any) -> Cell:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case int() | float() | Decimal():
            return value
        case datetime():
            return (
                f"{timezone.localtime(value):%Y-%m-%d %H:%M}" if timezone.is_aware(value) else f"{value:%Y-%m-%d %H:%M}"
            )
        case date():
            return value
        case SafeString():
            value = " ".join(html.unescape(strip_tags(value)).split())
    # A workbook cannot hold the signs that steer a terminal.
    return str(ILLEGAL_CHARACTERS_RE.sub("", str(value)))
