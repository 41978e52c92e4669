"""The words in which a maker's table says kinds: what each is taken for, and which have to be asked about."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.ground.materials import MaterialKind
from inventory.spreadsheet.cells import RowCells
from inventory.spreadsheet.words import Field, kind_of, likely_kind, plain_words

__all__ = ["AskedKind", "asked_kinds"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedKind:
    """A word for a kind.

    Attributes:
        words: as the first row writes them; `plain` is how they are learnt.
        is_name: no cell says the kind, and these are the material's name.
        first_row, rows: the first that says it, and how many do.
        kind: what they are taken for; None where that has to be said.
        likely: what they may mean; None where nothing is known of them.
    """

    words: str
    plain: str
    is_name: bool
    first_row: int
    rows: int
    kind: MaterialKind | None
    likely: MaterialKind | None


def asked_kinds(rows: Iterable[tuple[RowCells, bool]], kinds: Mapping[str, MaterialKind]) -> tuple[AskedKind, ...]:
    """Return the words that rows say their kinds in, those without a meaning first; our own names need no asking.

    Args:
        rows: the cells, and whether the material is on the shelf already; then an empty kind is that of the shelf.
        kinds: what words were said to mean, by plain word.
    """
    said_by: dict[tuple[str, bool], list[RowCells]] = {}
    for cells, is_there in rows:
        said = cells.text(Field.KIND)
        if said or not is_there:
            said_by.setdefault((said or cells.text(Field.NAME), not said), []).append(cells)
    found: dict[str, AskedKind] = {}
    for (words, is_name), saying in said_by.items():
        first, plain = saying[0], saying[0].kind_words
        if plain in _OWN or not first.kind_can_be_asked:
            continue
        earlier = found.get(plain)
        found[plain] = AskedKind(
            words=earlier.words if earlier else words,
            plain=plain,
            is_name=is_name,
            first_row=earlier.first_row if earlier else first.number,
            rows=len(saying) + (earlier.rows if earlier else 0),
            kind=kinds.get(plain) or (None if is_name else kind_of(words)),
            likely=likely_kind(words),
        )
    return tuple(sorted(found.values(), key=lambda asked: (asked.kind is not None, asked.first_row)))


_OWN = frozenset(plain_words(kind) for kind in MaterialKind)
