"""Workbooks that are safe to open: text stays text, whatever sign it begins with."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
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


Cell = str | int | float | Decimal | Formula | None

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")

_BOLD = Font(bold=True)


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

        def written(cell: Cell) -> object:
            match cell:
                case str():
                    return text(cell)
                case Formula():
                    found = WriteOnlyCell(sheet, value=cell.text)
                    found.number_format = cell.shown
                    return found
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


def disarmed(cell: Cell) -> Cell:
    """A cell as a CSV holds it: numbers plainly, and an apostrophe before text that would begin a formula.

    Source: OWASP, CSV Injection.
    """
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_SIGNS) else cell
