"""Paths of a page being drawn, and what a clip leaves of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from quotes.pattern.geometry import Point, Polyline, as_line

__all__ = ["Box", "Clip", "Subpath", "bounds_of", "clipped"]

_SAME_MM = 0.01
"""Ends this close are one point; lines that leave a clip by less stay whole."""
Box = tuple[float, float, float, float]


@dataclass(slots=True)
class Subpath:
    """Points in mm so far, and whether it was closed."""

    points: list[Point]
    is_closed: bool = False

    def line(self, *, closing: bool) -> tuple[Polyline, bool]:
        """Return its points without repetition, and whether they are a ring; `closing` closes it in any case, as painting an area does."""
        points = [self.points[0]]
        for point in self.points[1:]:
            if point != points[-1]:
                points.append(point)
        meets = abs(points[0][0] - points[-1][0]) <= _SAME_MM and abs(points[0][1] - points[-1][1]) <= _SAME_MM
        if len(points) > 3 and meets:
            return tuple(points[:-1]), True
        return tuple(points), (self.is_closed or closing) and len(points) > 2


@dataclass(frozen=True, slots=True)
class Clip:
    """What may be seen: all within a box (left, bottom, right, top), and within a shape where it is more than the box.

    `grown` is the shape and a hair round it.
    """

    box: Box
    shape: BaseGeometry | None = None
    grown: BaseGeometry | None = None

    @property
    def corners(self) -> int:
        """How many corners its shape has."""
        return 0 if self.shape is None else int(shapely.get_num_coordinates(self.shape))

    def within(self, subpaths: Iterable[Subpath]) -> "Clip":
        """Return what is seen through both this and a path."""
        rings = [line for subpath in subpaths if len(line := subpath.line(closing=True)[0]) > 2]
        if not rings:
            return Clip(box=(0.0, 0.0, 0.0, 0.0))
        if len(rings) == 1 and _is_upright(rings[0]):
            box = bounds_of(rings[0])
            shape, grown = self.shape, self.grown
        else:
            path = shapely.union_all([shapely.make_valid(Polygon(ring)) for ring in rings])
            box = path.bounds
            shape = path if self.shape is None else self.shape.intersection(path)
            grown = shape.buffer(_SAME_MM)
            shapely.prepare(shape)
            shapely.prepare(grown)
        left, bottom = max(self.box[0], box[0]), max(self.box[1], box[1])
        return Clip(
            (left, bottom, max(min(self.box[2], box[2]), left), max(min(self.box[3], box[3]), bottom)), shape, grown
        )


def bounds_of(line: Sequence[Point]) -> Box:
    """Return left, bottom, right, top of points."""
    xs = [x for x, _ in line]
    ys = [y for _, y in line]
    return min(xs), min(ys), max(xs), max(ys)


def clipped(line: Polyline, is_closed: bool, clip: Clip) -> list[tuple[Polyline, bool]]:
    """Return what a clip leaves of a line: itself, nothing, or the pieces of it that are seen, which are open."""
    left, bottom, right, top = bounds_of(line)
    box = clip.box
    if right < box[0] or left > box[2] or top < box[1] or bottom > box[3] or box[0] >= box[2] or box[1] >= box[3]:
        return []
    in_box = (
        left >= box[0] - _SAME_MM
        and right <= box[2] + _SAME_MM
        and bottom >= box[1] - _SAME_MM
        and top <= box[3] + _SAME_MM
    )
    if in_box and clip.shape is None:
        return [(line, is_closed)]
    drawn = as_line((*line, line[0]) if is_closed else line)
    seen = drawn if in_box else drawn.intersection(shapely.box(*box))
    if clip.shape is not None:
        if in_box and shapely.covers(clip.grown, drawn):
            return [(line, is_closed)]
        seen = seen.intersection(clip.shape)
    # A ring that is cut begins somewhere within what is seen: both sides of that place are one piece.
    pieces = shapely.get_parts(shapely.line_merge(shapely.union_all(_lines_in(seen))))
    return [
        (tuple(map(tuple, piece.coords)), False)
        for piece in pieces
        if piece.geom_type == "LineString" and piece.length > _SAME_MM
    ]


def _lines_in(seen: BaseGeometry) -> list[BaseGeometry]:
    return [part for part in shapely.get_parts(seen) if part.geom_type in ("LineString", "LinearRing")]


def _is_upright(ring: Sequence[Point]) -> bool:
    """Tell whether a ring is a rectangle along the axes."""
    if len(ring) != 4:
        return False
    left, bottom, right, top = bounds_of(ring)
    return all(
        min(abs(x - left), abs(x - right)) < _SAME_MM and min(abs(y - bottom), abs(y - top)) < _SAME_MM for x, y in ring
    )
