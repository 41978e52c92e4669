"""Plane geometry of polylines, in millimetres: what shapely does not say in one word.

A `Polyline` is a sequence of points, open unless a docstring says ring; a ring does not repeat its first point.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from shapely import LineString, Polygon

__all__ = [
    "Point",
    "Polyline",
    "length_mm",
    "mirrored",
    "point_along",
    "ring_area_mm2",
    "signed_area_mm2",
    "x_at",
]

Point = tuple[float, float]
Polyline = tuple[Point, ...]


def length_mm(line: Sequence[Point]) -> float:
    """Return the length of an open polyline; 0 for a single point."""
    return math.fsum(math.dist(start, end) for start, end in pairwise(line))


def signed_area_mm2(ring: Sequence[Point]) -> float:
    """Return the area of a ring, positive where it runs counter-clockwise (shoelace formula)."""
    closed = [*ring, ring[0]]
    return math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(closed)) / 2


def ring_area_mm2(ring: Sequence[Point]) -> float:
    """Return the area inside a simple ring, positive."""
    return float(Polygon(ring).area)


def point_along(line: Sequence[Point], distance_mm: float) -> Point:
    """Return the point `distance_mm` from the start of the line, clamped to its ends."""
    point = LineString(line).interpolate(min(max(distance_mm, 0.0), length_mm(line)))
    return (float(point.x), float(point.y))


def x_at(line: Sequence[Point], y_mm: float) -> float | None:
    """Return x where the line first crosses the level `y_mm`, counted from its start; None where it does not."""
    for (x0, y0), (x1, y1) in pairwise(line):
        if min(y0, y1) <= y_mm <= max(y0, y1):
            return x0 if y0 == y1 else x0 + (x1 - x0) * (y_mm - y0) / (y1 - y0)
    return None


def mirrored(line: Iterable[Point]) -> Polyline:
    """Return the line mirrored in the y axis, points in the same order."""
    return tuple((-x, y) for x, y in line)
