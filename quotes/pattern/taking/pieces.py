"""From closed outlines to pieces: which line of each is stitched, which is cut, and what stands in and beside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

import shapely
from shapely import Polygon

from quotes.pattern.geometry import Polyline
from quotes.pattern.sheet import Label
from quotes.pattern.taking.closing import Closed, diagonal
from quotes.pattern.taking.nesting import Stack, allowance_between, is_rectangle
from quotes.pattern.taking.numbering import Named
from quotes.pattern.taking.words import said

__all__ = ["Piece", "is_square", "mirror_of", "named_pieces", "pieces_of", "places_too_small"]

_NEAR_SHARE = 0.18
"""A number belongs to a piece that it stands this share of the piece's diagonal away from at most."""
_SMALL_SHARE = 0.06
"""A piece whose area is below this share of the usual one is no panel."""
_SAME_SHARE = 0.004
"""Outlines that lie within this share of their diagonal of each other are alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One panel as drawn, by the places of its outlines.

    Attributes:
        stitching, cut: of its lines; at least one is there.
        allowance: how far they lie apart in the sheet's unit, where that is even.
    """

    stitching: int | None
    cut: int | None
    allowance: float | None = None

    @property
    def outer(self) -> int:
        """The place of its outermost line."""
        place = self.stitching if self.cut is None else self.cut
        assert place is not None
        return place

    @property
    def main(self) -> int:
        """The place of the line that stands for the panel."""
        return self.outer if self.stitching is None else self.stitching


def pieces_of(groups: Sequence[Stack], closed: Sequence[Closed], chosen: frozenset[int] | None) -> list[Piece]:
    """Return a piece for each stack, of its chosen outlines where a size was chosen."""
    found = []
    for stack in groups:
        members = [place for place in stack.members if chosen is None or place in chosen]
        if not members:
            continue
        if len(members) == 1:
            (place,) = members
            is_cut = any(said(name).is_cut and not said(name).is_stitching for name in closed[place].stroke.layers)
            found.append(Piece(stitching=None if is_cut else place, cut=place if is_cut else None))
            continue
        inner, outer = members[0], members[-1]
        found.append(
            Piece(stitching=inner, cut=outer, allowance=allowance_between(closed[inner].ring, closed[outer].ring))
        )
    return found


def places_too_small(pieces: Sequence[Piece], shapes: Sequence[Polygon]) -> set[int]:
    """Return the positions of pieces that are far smaller than the others."""
    if not pieces:
        return set()
    areas = [shapes[piece.main].area for piece in pieces]
    large = [area for area in areas if area >= 0.1 * max(areas)]
    return {at for at, area in enumerate(areas) if area < _SMALL_SHARE * median(large)}


def named_pieces(
    pieces: Sequence[Piece],
    closed: Sequence[Closed],
    shapes: Sequence[Polygon],
    labels: Sequence[Label],
    kept: set[int],
) -> list[Named]:
    """Return the names and labels of each piece; labels go to the innermost piece round them, else to the nearest.

    `kept` are the positions of those pieces that labels may belong to.
    """
    inside: dict[int, list[Label]] = {at: [] for at in range(len(pieces))}
    near: dict[int, list[Label]] = {at: [] for at in range(len(pieces))}
    for label in labels:
        spot = shapely.Point(label.at)
        around = [at for at in kept if shapes[pieces[at].outer].contains(spot)]
        if around:
            inside[min(around, key=lambda at: shapes[pieces[at].outer].area)].append(label)
            continue
        beside = [
            (away / size, at)
            for at in kept
            if (away := shapes[pieces[at].outer].distance(spot))
            <= _NEAR_SHARE * (size := diagonal(closed[pieces[at].outer].ring))
        ]
        if beside:
            near[min(beside)[1]].append(label)
    return [
        Named(
            names=tuple(
                dict.fromkeys(
                    name
                    for place in (piece.stitching, piece.cut)
                    if place is not None
                    for name in reversed(closed[place].stroke.layers)
                )
            ),
            inside=tuple(inside[at]),
            near=tuple(near[at]),
        )
        for at, piece in enumerate(pieces)
    ]


def is_square(ring: Polyline) -> bool:
    """Tell whether an outline is a square, which has no long sides to be a panel's front and back."""
    sides = is_rectangle(ring)
    return sides is not None and sides[1] <= 1.1 * sides[0]


def mirror_of(one: Polyline, other: Polyline) -> bool:
    """Tell whether two outlines, as they lie, are each other in a mirror that stands upright."""
    left = Polygon(one)
    (x0, y0, x1, y1), (u0, v0, u1, v1) = left.bounds, Polygon(other).bounds
    size = diagonal(one)
    if abs((x1 - x0) - (u1 - u0)) > _SAME_SHARE * size or abs((y1 - y0) - (v1 - v0)) > _SAME_SHARE * size:
        return False
    seen = Polygon([(x0 + u1 - x, y + y0 - v0) for x, y in other])
    return bool(left.exterior.hausdorff_distance(seen.exterior) <= _SAME_SHARE * size)
