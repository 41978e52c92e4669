"""What is left of a lot and serves no job any more: a crumb. It lies there, and nobody may count on it.

Cut goods leave rests that are shorter than any piece which is still to be cut (trim loss: G. Wäscher, H. Haußner and
H. Schumann, An improved typology of cutting and packing problems, European Journal of Operational Research 183, 2007).
"""

from dataclasses import dataclass

from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import CLOTHS

__all__ = ["CRUMB", "Kept", "Rest", "is_crumb", "is_cut_from_one_piece", "usable_from"]

CRUMB = "crumb"
"""The cause of scrap under which crumbs are swept out."""

_SHORTEST_PIECE = {
    "spiral": shelf_defaults().crumbs.shortest_bone_mm,
    "flat": shelf_defaults().crumbs.shortest_bone_mm,
    "synthetic": shelf_defaults().crumbs.shortest_bone_mm,
    "cane": shelf_defaults().crumbs.shortest_bone_mm,
    "casing": shelf_defaults().crumbs.shortest_casing_mm,
    "waist-tape": shelf_defaults().crumbs.shortest_waist_tape_mm,
    "binding": shelf_defaults().crumbs.shortest_binding_mm,
    "cord": shelf_defaults().crumbs.shortest_cord_mm,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The least remnant that the shelf keeps, in mm: across the cloth and along its grain."""

    width_mm: int
    length_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What a lot holds.

    Attributes:
        kind: of the material, by the words of `MaterialKind`.
        length_mm: base units, of raw cloth as it is once washed; of a remnant its own length along the grain.
        width_mm: of a remnant; None for a lot of full width.
        least_need_mm: the least of this item that work was ever to take; None where none was.
        one_lot_only: work takes this item from one lot each time, since it shows.
    """

    kind: str
    length_mm: int
    width_mm: int | None = None
    least_need_mm: int | None = None
    one_lot_only: bool = False


def usable_from(rest: Rest, *, kept: Kept) -> int:
    """Return the least length of full width that serves a job, in mm; 0 for what is not cut from one piece.

    Cloth that is taken from one lot each time: the least that work was ever to take of it. Other cloth: the least remnant
    that is kept. Coils and tapes: the shortest piece in use. Never more than the least that work was ever to take. Thread
    and silk are used to the end, and pieces are whole.
    """
    if rest.kind in CLOTHS:
        least = rest.least_need_mm
        return least if rest.one_lot_only and least is not None else min(kept.length_mm, least or kept.length_mm)
    shortest = _SHORTEST_PIECE.get(rest.kind, 0)
    return min(shortest, rest.least_need_mm or shortest)


def is_cut_from_one_piece(kind: str) -> bool:
    """Tell whether what is made of a kind is cut from one piece of a lot, so that rests are left."""
    return kind in CLOTHS or kind in _SHORTEST_PIECE


def is_crumb(rest: Rest, *, kept: Kept) -> bool:
    """Tell whether no job can use what is left of a lot."""
    if rest.width_mm is not None:
        return rest.kind in CLOTHS and (rest.width_mm < kept.width_mm or rest.length_mm < kept.length_mm)
    return 0 < rest.length_mm < usable_from(rest, kept=kept)
