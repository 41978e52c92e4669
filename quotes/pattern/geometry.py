"""Plane geometry of polylines, in millimetres: what shapely does not say in one word.

A `Polyline` is a sequence of points, open unless a docstring says ring; a ring does not repeat its first point.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon

__all__ = [
    "Point",
    "Polyline",
    "as_line",
    "as_polygon",
    "at_origin",
    "length_mm",
    "mirrored",
    "point_along",
    "ring_area_mm2",
    "signed_area_mm2",
    "turned",
    "x_at",
]

Point = tuple[float, float]
Polyline = tuple[Point, ...]


def as_line(line: Sequence[Point]) -> LineString:
    """Return the geometry library's line; many times faster through an array than point by point."""
    return shapely.linestrings(np.asarray(line, dtype=float))


def as_polygon(ring: Sequence[Point]) -> Polygon:
    """Return the geometry library's area inside a ring."""
    return shapely.polygons(np.asarray(ring, dtype=float))


def length_mm(line: Sequence[Point]) -> float:
    """Return the length of an open polyline; 0 for a single point."""
    return math.fsum(map(math.dist, line, line[1:]))


def signed_area_mm2(ring: Sequence[Point]) -> float:
    """Return the area of a ring, positive where it runs counter-clockwise (shoelace formula)."""
    # Measured from the first point, so that a piece far from the origin keeps its digits.
    x, y = (np.asarray(ring, dtype=float) - ring[0]).T
    return float(np.dot(x[:-1], y[1:]) - np.dot(y[:-1], x[1:])) / 2


def ring_area_mm2(ring: Sequence[Point]) -> float:
    """Return the area inside a simple ring, positive."""
    return float(as_polygon(ring).area)


def point_along(line: Sequence[Point], distance_mm: float) -> Point:
    """Return the point `distance_mm` from the start of the line, clamped to its ends."""
    point = as_line(line).interpolate(min(max(distance_mm, 0.0), length_mm(line)))
    return (float(point.x), float(point.y))


def x_at(line: Sequence[Point], y_mm: float) -> float | None:
    """Return x where the line first crosses the level `y_mm`, counted from its start; None where it does not."""
    for (x0, y0), (x1, y1) in pairwise(line):
        if y0 <= y_mm <= y1 or y1 <= y_mm <= y0:
            return x0 if y0 == y1 else x0 + (x1 - x0) * (y_mm - y0) / (y1 - y0)
    return None


def mirrored(line: Iterable[Point]) -> Polyline:
    """Return the line mirrored in the y axis, points in the same order."""
    return tuple((-x, y) for x, y in line)


def turned(line: Iterable[Point], degrees: float) -> Polyline:
    """Return the line turned anticlockwise about the origin."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return tuple((x * cos - y * sin, x * sin + y * cos) for x, y in line)


def at_origin(line: Polyline) -> Polyline:
    """Return the line moved so that its leftmost point has x = 0 and its lowest y = 0."""
    left, low = min(x for x, _ in line), min(y for _, y in line)
    return tuple((x - left, y - low) for x, y in line)
