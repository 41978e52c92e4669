"""Pieces put on a cloth one after the other, each as near to the cloth's beginning as it may lie.

Places that pieces must keep (whole repeats) and places that they must leave (flaws) are minded, which the packing engine cannot.
Source of the rule, bottom-left: Baker, Coffman & Rivest, "Orthogonal packings in two dimensions", SIAM Journal on Computing 9, 1980.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from quotes.lay.budget import ENDLESS, Watch
from quotes.lay.lay_plan import Box, LayPiece, LayProblem, Placement, Repeat
from quotes.lay.no_fit import convex_shapes, no_fit
from quotes.lay.simpler import SHARPEST, simpler
from quotes.pattern.geometry import Point, Polyline, ring_area_mm2, turned

__all__ = ["HAIR", "Cloth", "Filling", "Shapes", "bottom_left"]

HAIR = 1e-9
"""Share of the width by which pieces may lie nearer than told, so that exact fits are found."""
_FINEST_ALONG, _FINEST_ACROSS = 400, 200
"""Lines of whole repeats that are looked at; where a repeat is finer, every so many of them."""
_OUTWARD = 1e-4
"""Outlines of more corners are drawn simpler, outward by this share of the cloth's width at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cloth:
    """What pieces are put on: a roll, whose `length` is None, or a remnant."""

    width: float
    length: float | None = None
    flaws: tuple[Box, ...] = ()
    repeat: Repeat | None = None


@dataclass(frozen=True, slots=True)
class _Shape:
    """One piece in one of its turns: its convex parts and its box."""

    rotation: float
    outline: Polyline
    parts: tuple[Polygon, ...]
    box: Box


class Shapes:
    """The pieces of a problem in their turns, and where each two of them must not lie; worked out once for many fillings."""

    def __init__(
        self,
        pieces: Sequence[LayPiece],
        *,
        width: float,
        spacing: float,
        repeat: Repeat | None = None,
        are_boxes: bool = False,
    ) -> None:
        """Draw the shapes; boxes around them where `are_boxes`, which are put down many times faster."""
        self._hair = HAIR * width
        self.spacing = spacing
        self._same: dict[Polyline, tuple[str, int]] = {}
        self._turns = {
            piece.label: tuple(
                _shape(piece, turn, None if are_boxes else _OUTWARD * width, repeat or Repeat())
                for turn in piece.rotations
            )
            for piece in pieces
        }
        self._no_fits: dict[tuple[str, int, str, int], BaseGeometry] = {}

    def turns(self, label: str) -> tuple[_Shape, ...]:
        """Return the shapes of a piece in all turns that it may lie in."""
        return self._turns[label]

    def apart(self, fixed: tuple[str, int], moving: tuple[str, int]) -> BaseGeometry:
        """Return the moves that two pieces, each in its turn, must not lie apart by."""
        fixed, moving = self._alike(fixed), self._alike(moving)
        key = (*fixed, *moving)
        if (*moving, *fixed) in self._no_fits and key not in self._no_fits:
            # What one may not do to the other, the other may not do to the one, the opposite way.
            self._no_fits[key] = shapely.transform(self._no_fits[*moving, *fixed], lambda points: -points)
        if key not in self._no_fits:
            one, other = self._turns[fixed[0]][fixed[1]].parts, self._turns[moving[0]][moving[1]].parts
            self._no_fits[key] = no_fit(one, other, spacing=self.spacing, hair=self._hair)
        return self._no_fits[key]

    def _alike(self, which: tuple[str, int]) -> tuple[str, int]:
        """The first piece and turn of the same shape: layers of one panel are."""
        shape = self._turns[which[0]][which[1]]
        return self._same.setdefault(shape.outline, which)


@dataclass(slots=True)
class _Blocked:
    """The moves that a piece in its turn must not make, from the flaws and the first `seen` pieces put down."""

    area: BaseGeometry
    seen: int = 0


@dataclass(slots=True)
class Filling:
    """A cloth being filled, for as long as `watch` says: then OverError is raised, and what was put down by then stays."""

    cloth: Cloth
    shapes: Shapes
    watch: Watch = ENDLESS
    put: list[tuple[str, int, Point]] = field(default_factory=list)
    _blocked: dict[tuple[str, int], _Blocked] = field(default_factory=dict)
    _reached: float = 0.0

    @property
    def length(self) -> float:
        """How far along the cloth pieces lie."""
        return self._reached

    def keep(self, label: str, turn: int, at: Point) -> None:
        """Put a piece, in the turn of that number, where it is said to lie."""
        self.put.append((label, turn, at))
        self._reached = max(self._reached, at[0] + self.shapes.turns(label)[turn].box[2])

    def add(self, label: str) -> bool:
        """Put one more copy of a piece where it ends first along the cloth; False where it finds no place."""
        found = []
        for index, shape in enumerate(self.shapes.turns(label)):
            spot = self._spot((label, index), shape)
            if spot is not None:
                found.append((spot[0] + shape.box[2], spot[1] + shape.box[1], index, spot))
        if not found:
            return False
        _, _, index, spot = min(found)
        self.keep(label, index, spot)
        return True

    def placements(self, *, remnant: int | None = None) -> tuple[Placement, ...]:
        """Return the pieces as they lie, copies numbered from 1."""
        copies: dict[str, int] = {}
        placed = []
        for label, index, (dx, dy) in self.put:
            copies[label] = copies.get(label, 0) + 1
            shape = self.shapes.turns(label)[index]
            placed.append(
                Placement(
                    label=label,
                    copy=copies[label],
                    rotation=shape.rotation % 360,
                    outline=tuple((x + dx, y + dy) for x, y in shape.outline),
                    remnant=remnant,
                )
            )
        return tuple(placed)

    def _spot(self, key: tuple[str, int], shape: _Shape) -> Point | None:
        """The move that lays a piece nearest to the beginning; None where it has no room."""
        left, low, right, high = shape.box
        hair = HAIR * self.cloth.width
        ends = max([self._reached, *(flaw[2] for flaw in self.cloth.flaws)])
        repeat = self.cloth.repeat or Repeat()
        far = self.cloth.length
        if far is None:
            # Beyond all that lies there, one piece and one repeat on, there is room in any case. What is kept free between
            # pieces is a polygon round a circle, a little wider than the spacing, and round simpler outlines of both; of a
            # fine repeat only some are looked at.
            wider = 2 * SHARPEST * _OUTWARD * self.cloth.width
            far = ends + (right - left) + 2 * self.shapes.spacing + wider + repeat.along + 2 * hair
            far *= _FINEST_ALONG / (_FINEST_ALONG - 1) if repeat.along else 1
        room = (-left - hair, -low - hair, far - right + hair, self.cloth.width - high + hair)
        if room[0] > room[2] or room[1] > room[3]:
            return None
        candidates = _candidates(room, repeat)
        if candidates is None:
            return None
        free = candidates.difference(self._blocked_for(key, shape))
        points = shapely.get_coordinates(free)
        if not len(points):
            return None
        x, y = points[np.lexsort((points[:, 1], points[:, 0]))[0]]
        x, y = _whole(float(x), repeat.along), _whole(float(y), repeat.across)
        if not repeat.along:
            x = min(max(x, -left), far - right)
        if not repeat.across:
            y = min(max(y, -low), self.cloth.width - high)
        return x, y

    def _blocked_for(self, key: tuple[str, int], shape: _Shape) -> BaseGeometry:
        known = self._blocked.get(key)
        if known is None:
            flaws = [no_fit((shapely.box(*flaw),), shape.parts, spacing=0.0, hair=0.0) for flaw in self.cloth.flaws]
            known = self._blocked[key] = _Blocked(shapely.union_all(flaws))
        new = self.put[known.seen :]
        if new:
            moved = []
            for label, turn, at in new:
                self.watch.look()
                apart = self.shapes.apart((label, turn), key)
                moved.append(shapely.transform(apart, lambda points, at=at: points + at))
            known.area = shapely.union_all([known.area, *moved])
            known.seen = len(self.put)
        return known.area


def bottom_left(problem: LayProblem, watch: Watch = ENDLESS) -> tuple[Placement, ...]:
    """Return a plain lay in which the largest pieces were put down first; () where one found no place.

    Raises:
        OverError: the watch was over before all were put down.
    """
    shapes = Shapes(problem.pieces, width=problem.width, spacing=problem.spacing)
    filling = Filling(Cloth(width=problem.width), shapes, watch)
    by_area = sorted(problem.pieces, key=lambda piece: (-ring_area_mm2(piece.outline), piece.label))
    is_whole = all(filling.add(piece.label) for piece in by_area for _ in range(piece.copies))
    return filling.placements() if is_whole else ()


def _candidates(room: Box, repeat: Repeat) -> BaseGeometry | None:
    """All moves within a room that keep to whole repeats: an area, lines or points; None for none."""
    left, low, right, high = room
    xs, ys = _steps(left, right, repeat.along, _FINEST_ALONG), _steps(low, high, repeat.across, _FINEST_ACROSS)
    if (xs is not None and not len(xs)) or (ys is not None and not len(ys)):
        return None
    if xs is not None and ys is None:
        return shapely.multilinestrings([[(x, low), (x, high)] for x in xs.tolist()])
    if ys is not None and xs is None:
        return shapely.multilinestrings([[(left, y), (right, y)] for y in ys.tolist()])
    if xs is None or ys is None:
        return shapely.box(*room)
    return shapely.multipoints(np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2))


def _steps(least: float, most: float, repeat: float, finest: int) -> np.ndarray | None:
    """The whole repeats within bounds, every so many where there are more than `finest`; None without a repeat."""
    if not repeat:
        return None
    every = repeat * max(1, math.ceil((most - least) / repeat / finest))
    return np.arange(math.ceil(least / every), math.floor(most / every) + 1) * every


def _whole(value: float, repeat: float) -> float:
    return round(value / repeat) * repeat if repeat else value


def _shape(piece: LayPiece, rotation: float, outward: float | None, repeat: Repeat) -> _Shape:
    """A piece turned, and moved by whole repeats near to the origin, where numbers keep most of their digits; a box for None."""
    outline = turned(piece.outline, rotation)
    left, low = (
        _whole(min(point[axis] for point in outline), every) for axis, every in enumerate((repeat.along, repeat.across))
    )
    outline = tuple((x - left, y - low) for x, y in outline)
    xs, ys = zip(*outline, strict=True)
    around = (min(xs), min(ys), max(xs), max(ys))
    parts = (shapely.box(*around),) if outward is None else convex_shapes(simpler(outline, outward))
    return _Shape(rotation, outline, parts, around)
