"""What a maker says of a sheet before it is taken in: which table, what marks and kinds mean, rows mended or left out.

All of it is kept on the sheet and changes nothing of the shelf; a second look finds it as it was left.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict

from django.db import transaction

from inventory.ground.findings import refuse
from inventory.ground.materials import MaterialKind
from inventory.models import ImportSheet
from inventory.spreadsheet.points import Mark
from inventory.spreadsheet.rows import Page, cells_kept, kept_cells
from inventory.spreadsheet.table import Choices
from inventory.spreadsheet.tables import Aside, TableFound, asides_of, header_at, table_rows
from inventory.spreadsheet.words import Field

__all__ = [
    "answer",
    "asides",
    "choices_of",
    "choose_table",
    "chosen_table",
    "leave_out",
    "mend_row",
    "pages_of",
    "table_at",
    "tables_of",
    "take_table",
]


def pages_of(sheet: ImportSheet) -> list[Page]:
    """Return all that the sheet's file holds; empty for one that was taken in."""
    return [Page(name=page["name"], is_hidden=page["is_hidden"], rows=cells_kept(page["rows"])) for page in sheet.pages]


def tables_of(sheet: ImportSheet) -> list[TableFound]:
    """Return the tables that were found in the file, the proposed one first."""
    return [TableFound(**table) for table in sheet.tables]


def table_at(sheet: ImportSheet, *, page: int, row: int) -> TableFound:
    """Return the table that begins with a header in a row of a page, from 0, and goes on to the page's end.

    Raises:
        Refused: there is no such row, or nothing stands below it.
    """
    pages = pages_of(sheet)
    table = header_at(pages, page=page, row=row) if page < len(pages) else None
    if table is None or not table.filled:
        name = pages[page].name if page < len(pages) else ""
        raise refuse(
            "sheet.no-header",
            f"{name or sheet.filename}, row {row}",
            "There is no header with rows below it.",
            "Name the row in which the columns’ names stand.",
        )
    return table


@transaction.atomic
def choose_table(sheet: ImportSheet, table: TableFound) -> None:
    """Take another table of the file; what was said of the one before is forgotten."""
    sheet = _open_still(sheet)
    take_table(sheet, table)
    sheet.columns, sheet.choices = {}, {}
    sheet.save(update_fields=["table", "rows", "first_row", "columns", "choices"])


def take_table(sheet: ImportSheet, table: TableFound) -> None:
    """Set what a sheet holds of its chosen table, without saving."""
    pages = pages_of(sheet)
    name = pages[table.page].name if len(pages) > 1 else ""
    sheet.table = {**asdict(table), "sheet": name}
    sheet.rows, sheet.first_row = kept_cells(table_rows(pages, table)), table.top


def chosen_table(sheet: ImportSheet) -> TableFound | None:
    """Return the table that is taken; None for a sheet whose file was not kept whole."""
    return TableFound(**{name: sheet.table[name] for name in TableFound.__slots__}) if sheet.table else None


def asides(sheet: ImportSheet) -> Iterator[tuple[str, Aside]]:
    """Yield what the file holds beside the chosen table, each with its place in words."""
    chosen = chosen_table(sheet)
    if chosen is not None:
        pages = pages_of(sheet)
        for aside in asides_of(pages, tables_of(sheet), chosen):
            yield f"Sheet {pages[aside.page].name}, {aside.span}" if len(pages) > 1 else aside.span, aside


def choices_of(sheet: ImportSheet) -> Choices:
    """Return what the maker said of a sheet so far."""
    kept = sheet.choices
    return Choices(
        marks={Field(name): mark for name, mark in kept.get("marks", {}).items()},
        kinds={word: MaterialKind(kind) for word, kind in kept.get("kinds", {}).items() if kind in set(MaterialKind)},
        mended={
            int(row): {Field(name): text for name, text in cells.items()}
            for row, cells in kept.get("mended", {}).items()
        },
        left_out={int(row): is_out for row, is_out in kept.get("left_out", {}).items()},
    )


@transaction.atomic
def answer(sheet: ImportSheet, *, marks: Mapping[Field, Mark], kinds: Mapping[str, MaterialKind]) -> None:
    """Say what the marks of columns and words for kinds mean; words are learnt when the sheet is taken in."""
    sheet = _open_still(sheet)
    kept = sheet.choices
    kept["marks"] = {**kept.get("marks", {}), **{field.value: mark for field, mark in marks.items()}}
    kept["kinds"] = {**kept.get("kinds", {}), **{word: kind.value for word, kind in kinds.items()}}
    sheet.save(update_fields=["choices"])


@transaction.atomic
def mend_row(sheet: ImportSheet, row: int, *, cells: Mapping[Field, str], is_left_out: bool) -> None:
    """Put cells in place of those that the file has in a row, or leave the row out.

    Args:
        row: its number in the file.
        cells: those that differ from the file; a mend that was made before and is not among them is undone.
    """
    sheet = _open_still(sheet)
    mended, left_out = sheet.choices.setdefault("mended", {}), sheet.choices.setdefault("left_out", {})
    mended.pop(str(row), None)
    if cells:
        mended[str(row)] = {field.value: text for field, text in cells.items()}
    left_out[str(row)] = is_left_out
    sheet.save(update_fields=["choices"])


@transaction.atomic
def leave_out(sheet: ImportSheet, rows: Iterable[int]) -> None:
    """Leave rows out, by their numbers in the file; each can be taken again where it is mended."""
    sheet = _open_still(sheet)
    sheet.choices.setdefault("left_out", {}).update((str(row), True) for row in rows)
    sheet.save(update_fields=["choices"])


def _open_still(sheet: ImportSheet) -> ImportSheet:
    """Lock a sheet that was not taken in yet. Raises Refused."""
    found = ImportSheet.objects.select_for_update().filter(pk=sheet.pk, taken_at=None).first()
    if found is None:
        raise refuse("sheet.taken", sheet.filename, "The table was taken in meanwhile.", "Hand it in again.")
    return found
