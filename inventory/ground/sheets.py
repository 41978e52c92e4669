"""Workbooks that are safe to open: text stays text, whatever sign it begins with."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from io import BytesIO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

__all__ = ["Cell", "Formula", "SheetBook", "disarmed"]


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula that this program wrote, `=SUM(D2:D9)`; never a text from outside. `shown` is its number format."""

    text: str
    shown: str = "General"


Cell = str | int | float | Decimal | date | Formula | None

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")

_BOLD = Font(bold=True)
_DAY = "yyyy-mm-dd"
_MOST_PLACES = 6  # a figure with more is no amount, and is shown as the program likes


class SheetBook:
    """An XLSX being written, sheet by sheet."""

    def __init__(self) -> None:
        self._book = Workbook(write_only=True)

    def sheet(self, title: str, header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
        """Add a sheet with a bold header that stays in sight."""
        sheet = self._book.create_sheet(title)
        sheet.freeze_panes = "A2"
        for number in range(1, len(header) + 1):
            sheet.column_dimensions[get_column_letter(number)].width = 18

        def text(words: str, *, is_head: bool = False) -> WriteOnlyCell:
            cell = WriteOnlyCell(sheet, value=words)
            # A name that begins with = is no formula.
            cell.data_type = "s"
            if is_head:
                cell.font = _BOLD
            return cell

        def shown(value: str | date | Decimal, number_format: str) -> WriteOnlyCell:
            cell = WriteOnlyCell(sheet, value=value)
            cell.number_format = number_format
            return cell

        def written(cell: Cell) -> object:
            match cell:
                case str():
                    return text(cell)
                case Formula():
                    return shown(cell.text, cell.shown)
                case date():
                    return shown(cell, _DAY)
                case Decimal() if places := _places(cell):
                    return shown(cell, "0." + "0" * places)
                case _:
                    return cell

        sheet.append([text(words, is_head=True) for words in header])
        for row in rows:
            sheet.append([written(cell) for cell in row])

    def data(self) -> bytes:
        """Return the file's bytes."""
        out = BytesIO()
        self._book.save(out)
        return out.getvalue()


def _places(number: Decimal) -> int:
    """The decimals that an amount is written with, so that €12.50 is not shown as 12.5; 0 where it has none or too many."""
    exponent = number.as_tuple().exponent
    return -exponent if isinstance(exponent, int) and -_MOST_PLACES <= exponent < 0 else 0


def disarmed(cell: Cell) -> Cell:
    """A cell as a CSV holds it: numbers plainly, days as ISO 8601 writes them, and an apostrophe before text that would begin a formula.

    Source: OWASP, CSV Injection.
    """
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    if isinstance(cell, date):
        return cell.isoformat()
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_SIGNS) else cell
