"""The tables in a maker's file: titles above, remarks and other tables beside and below told from the one that is meant.

A table begins with a header: a row whose cells name fields. Columns that are empty from top to bottom part what stands side
by side, unless the header goes on behind them. Which table is proposed is a matter of how many fields its header names.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from openpyxl.utils import get_column_letter

from inventory.spreadsheet.rows import FilePages, Page, file_pages
from inventory.spreadsheet.words import Field, guess_columns, header_key, header_place, known_headers

__all__ = ["Aside", "FileTables", "TableFound", "asides_of", "header_at", "read_file", "table_rows"]

_FEWEST_WORDS = 2
"""So many cells that name fields make a header."""

Rows = Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableFound:
    """A table in a file.

    Attributes:
        page: which sheet, from 0.
        top, bottom: rows of its header and of its last row, as the file numbers them, from 1.
        left, right: its first column, and the one behind its last, from 0.
        known: how many fields its header names.
        filled: how many rows below the header hold something.
    """

    page: int
    top: int
    bottom: int
    left: int
    right: int
    known: int
    filled: int

    @property
    def span(self) -> str:
        """Its cells, as spreadsheets name them: `A3:F12`."""
        return f"{get_column_letter(self.left + 1)}{self.top}:{get_column_letter(self.right)}{self.bottom}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """Cells that are not taken: on which sheet, where, what stands first in them, and why."""

    page: int
    span: str
    words: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FileTables:
    """A file with its tables, the proposed one first, and what was assumed on reading it, sentences."""

    pages: tuple[Page, ...]
    tables: tuple[TableFound, ...]
    assumed: tuple[str, ...]


def read_file(data: bytes, filename: str) -> FileTables:
    """Return what a file holds. Raises Refused as `file_pages` does."""
    found: FilePages = file_pages(data, filename)
    tables = [table for at, page in enumerate(found.pages) for table in _tables_of(page.rows, at)]
    tables.sort(key=lambda table: _worth(table, found.pages), reverse=True)
    return FileTables(pages=found.pages, tables=tuple(tables), assumed=found.assumed)


def header_at(pages: Sequence[Page], *, page: int, row: int) -> TableFound | None:
    """Return the table whose header stands in a row, as the file numbers it, down to the end; None where it is blank."""
    rows = pages[page].rows
    return _trimmed(rows, page, row - 1, len(rows), 0) if 0 < row <= len(rows) and any(rows[row - 1]) else None


def table_rows(pages: Sequence[Page], table: TableFound) -> list[list[str]]:
    """Return the cells of a table, its header first."""
    return [row[table.left : table.right] for row in pages[table.page].rows[table.top - 1 : table.bottom]]


def asides_of(pages: Sequence[Page], tables: Iterable[TableFound], chosen: TableFound) -> Iterator[Aside]:
    """Yield what a file holds beside the chosen table."""
    others = [table for table in tables if table != chosen]
    for table in others:
        header = [cell for cell in pages[table.page].rows[table.top - 1][table.left : table.right] if cell]
        is_table = table.known >= _FEWEST_WORDS and table.filled
        yield Aside(
            page=table.page,
            span=table.span,
            words=_shortened(header),
            reason="another table" if is_table else "no header is seen in it",
        )
    for at, page in enumerate(pages):
        inside = [table for table in (chosen, *others) if table.page == at]
        for first, last in _runs([any(_outside(row, number, inside)) for number, row in enumerate(page.rows, start=1)]):
            cells = [cell for number in range(first, last) for cell in _outside(page.rows[number], number + 1, inside)]
            above = at == chosen.page and last < chosen.top
            yield Aside(
                page=at,
                span=f"row {first + 1}" if last == first + 1 else f"rows {first + 1}–{last}",
                words=_shortened([cell for cell in cells if cell]),
                reason="stands above the header" if above else "belongs to no table",
            )


def _outside(row: Sequence[str], number: int, tables: Iterable[TableFound]) -> list[str]:
    """The cells of a row that no table holds."""
    cells = list(row)
    for table in tables:
        if table.top <= number <= table.bottom:
            cells[table.left : table.right] = [""] * (table.right - table.left)
    return cells


def _worth(table: TableFound, pages: Sequence[Page]) -> tuple[bool, bool, int, int]:
    """By what the proposed table comes before others; of equals the first in the file."""
    names = guess_columns(pages[table.page].rows[table.top - 1][table.left : table.right])
    is_named = Field.NAME in names or Field.CODE in names
    return table.filled > 0, not pages[table.page].is_hidden, table.known + is_named, -table.page


def _tables_of(rows: Rows, page: int) -> Iterator[TableFound]:
    for left, right in _sides(rows):
        part = [row[left:right] for row in rows]
        if not any(map(any, part)):
            continue
        heads = _heads(part)
        for head, after in pairwise((*heads, len(part))):
            bottom = _last_row(part, head, after, is_last=after == len(part))
            yield _trimmed(part, page, head, bottom, left)


def _trimmed(part: Rows, page: int, head: int, bottom: int, left: int) -> TableFound:
    """The table without columns at its sides that hold nothing in it; `head` from 0, `bottom` behind its last row."""
    filled = [any(row[at] for row in part[head:bottom]) for at in range(len(part[0]))]
    first, last = filled.index(True), len(filled) - filled[::-1].index(True)
    return TableFound(
        page=page,
        top=head + 1,
        bottom=bottom,
        left=left + first,
        right=left + last,
        known=len(guess_columns(part[head][first:last])),
        filled=sum(map(any, part[head + 1 : bottom])),
    )


def _heads(part: Rows) -> list[int]:
    """Where tables begin, one below the other, from 0."""
    main = header_place(part)
    found: list[int] = []
    for at, row in enumerate(part):
        is_apart = at == 0 or sum(map(bool, part[at - 1])) <= 1
        if is_apart and len(known_headers(row)) >= _FEWEST_WORDS:
            is_new = not any(header_key(part[head]) == header_key(row) for head in found[-1:])
            found += [at] if is_new else []
    if not found or (main < found[0] and len(guess_columns(part[main])) >= len(guess_columns(part[found[0]]))):
        found = [main, *found]
    return found


def _last_row(part: Rows, head: int, after: int, *, is_last: bool) -> int:
    """Behind which row a table ends: before the title of the next one, and the blank rows above that."""
    end = after
    if not is_last:
        while end > head + 1 and sum(map(bool, part[end - 1])) == 1:
            end -= 1
        # A row of one cell that follows the table's rows is the last of them, unless a blank row parts them.
        end = end if not any(part[end - 1]) else after
    while end > head + 1 and not any(part[end - 1]):
        end -= 1
    return end


def _sides(rows: Rows) -> list[tuple[int, int]]:
    """The columns of what stands side by side, each from the first to behind the last."""
    filled = _runs([any(row[at] for row in rows) for at in range(len(rows[0]) if rows else 0)])
    sides: list[tuple[int, int]] = []
    for left, right in filled:
        if sides and _goes_on(rows, sides[-1], (left, right)):
            sides[-1] = sides[-1][0], right
        else:
            sides.append((left, right))
    return sides


def _goes_on(rows: Rows, before: tuple[int, int], behind: tuple[int, int]) -> bool:
    """Whether columns behind an empty one belong to the table before it: its header goes on there with other fields."""
    part = [row[slice(*before)] for row in rows]
    header = header_place(part)
    mine, theirs = guess_columns(part[header]), guess_columns(rows[header][slice(*behind)])
    if len(mine) < _FEWEST_WORDS:
        return not any(len(known_headers(row[slice(*behind)])) >= _FEWEST_WORDS for row in rows)
    goes_down = any(any(row[slice(*behind)]) for row in rows[header + 1 :])
    return any(rows[header][slice(*behind)]) and goes_down and not mine.keys() & theirs.keys()


def _runs(flags: Sequence[bool]) -> list[tuple[int, int]]:
    """The stretches of what is true, each from the first to behind the last."""
    edges = [at for at, (one, other) in enumerate(pairwise((False, *flags, False))) if one != other]
    return list(zip(edges[::2], edges[1::2], strict=True))


def _shortened(cells: Sequence[str]) -> str:
    words = " · ".join(cells)
    return words if len(words) <= 80 else f"{words[:79]}…"
