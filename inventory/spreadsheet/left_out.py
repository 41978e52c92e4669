"""Rows of a maker's table that are no materials: totals, headings between them, a header said again."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass

from inventory.spreadsheet.words import Field, header_key, is_total

__all__ = ["LeftOut", "rows_to_leave"]

_FEWEST_COLUMNS = 3
"""In a table of fewer columns a row with one cell may well be a material."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A row that is not taken in: what it says, and why; `is_chosen` where the maker said so."""

    number: int
    words: str
    reason: str
    is_chosen: bool


def rows_to_leave(
    table: Sequence[Sequence[str]],
    columns: Mapping[Field, int],
    *,
    first_row: int,
    chosen: Mapping[int, bool],
    known: Container[str],
) -> Iterator[LeftOut]:
    """Yield the rows below a table's header that are left out: as the maker chose by their numbers, else as proposed.

    Args:
        known: names and codes of the shelf in small letters; a row with one of them alone is no heading.
    """
    header = table[0] if table else ()
    key = header_key(header)
    is_wide = sum(map(bool, header)) >= _FEWEST_COLUMNS
    for number, row in enumerate(table[1:], start=first_row + 1):
        filled = [cell for cell in row if cell]
        if not filled:
            continue
        reason = _reason(row, filled, columns, could_head=is_wide and filled[0].casefold() not in known) or (
            "the header once more" if row[0] == header[0] and header_key(row) == key else ""
        )
        if chosen.get(number, bool(reason)):
            words = " · ".join(filled)
            yield LeftOut(
                number=number,
                words=words if len(words) <= 80 else f"{words[:79]}…",
                reason=reason or "left out by you",
                is_chosen=number in chosen,
            )


def _reason(row: Sequence[str], filled: Sequence[str], columns: Mapping[Field, int], *, could_head: bool) -> str:
    kind = row[columns[Field.KIND]] if Field.KIND in columns else ""
    if is_total(filled[0]) and (not kind or kind == filled[0]):
        return "a total of other rows"
    if could_head and len(filled) == 1:
        return "a heading or a remark: one cell only"
    return ""
