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
    found: dict[str, AskedKind] = {}
    for cells, is_there in rows:
        said, plain = cells.text(Field.KIND), cells.kind_words
        if not cells.kind_can_be_asked or (is_there and not said) or plain in _OWN:
            continue
        earlier = found.get(plain)
        words = said or cells.text(Field.NAME)
        found[plain] = AskedKind(
            words=earlier.words if earlier else words,
            plain=plain,
            is_name=not said,
            first_row=earlier.first_row if earlier else cells.number,
            rows=earlier.rows + 1 if earlier else 1,
            kind=kinds.get(plain) or (kind_of(said) if said else None),
            likely=likely_kind(words),
        )
    return tuple(sorted(found.values(), key=lambda asked: (asked.kind is not None, asked.first_row)))


_OWN = frozenset(plain_words(kind) for kind in MaterialKind)
