"""Lines that a program painted as narrow areas: the line in the middle of each, and its breadth."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from quotes.pattern.geometry import Point, Polyline, as_polygon, ring_area_mm2

__all__ = ["middle_of_band", "middle_of_thin"]

THIN_MM = 0.8
"""An area no broader than this is a line drawn with a broad pen."""
_LEAST_LENGTHS = 4
"""A line is at least this many times as long as it is broad."""
_MOST_POINTS = 4000
_MOST_ENDS = 200


def middle_of_thin(ring: Polyline) -> tuple[Polyline, float] | None:
    """Return the line in the middle of a thin area with two ends, and its breadth; None for other areas."""
    edges = _edges(ring)
    around = math.fsum(edges)
    if not 4 <= len(ring) <= _MOST_POINTS or around <= 0:
        return None
    # A rectangle of length l and breadth b: l + b is half its girth h, l × b its area A, so b = (h − √(h² − 4A)) / 2.
    half, area = around / 2, ring_area_mm2(ring)
    breadth = (half - math.sqrt(max(half * half - 4 * area, 0.0))) / 2
    if not 0 < breadth <= THIN_MM or half < (_LEAST_LENGTHS + 1) * breadth:
        return None
    ends = [at for at, edge in enumerate(edges) if 0.8 * breadth <= edge <= 1.4 * breadth]
    if len(ends) > _MOST_ENDS:
        return None
    halves = [
        (abs(_between(edges, first, last) - half), first, last) for first in ends for last in ends if first < last
    ]
    if not halves or min(halves)[0] > 2 * breadth:
        return None
    _, first, last = min(halves)
    one = ring[first + 1 : last + 1]
    other = (*ring[last + 1 :], *ring[: first + 1])[::-1]
    return _midway(_without_pivots(one, breadth), _without_pivots(other, breadth)), breadth


def middle_of_band(rings: Sequence[Polyline]) -> tuple[Polyline, float] | None:
    """Return the ring in the middle between two that lie closely in each other, and their distance; None for others."""
    if len(rings) != 2 or min(map(len, rings)) < 3:
        return None
    inner, outer = sorted((as_polygon(ring) for ring in rings), key=lambda area: float(area.area))
    if not (inner.is_valid and outer.is_valid and shapely.covers(outer, inner)):
        return None
    breadth = 2 * float(outer.area - inner.area) / float(outer.length + inner.length)
    if breadth > THIN_MM or outer.exterior.hausdorff_distance(inner.exterior) > 3 * breadth:
        return None
    middle = shapely.buffer(outer, -breadth / 2, join_style="mitre", mitre_limit=10)
    if middle.geom_type != "Polygon":
        return None
    return tuple((float(x), float(y)) for x, y in middle.exterior.coords[:-1]), breadth


def _without_pivots(side: Polyline, breadth: float) -> Polyline:
    """A side without its detours to the middle of the pen, which programs make on the inner side of a corner."""
    kept = list(side)
    for at in range(len(side) - 2, 0, -1):
        legs = math.dist(side[at - 1], side[at]), math.dist(side[at], side[at + 1])
        if all(abs(leg - breadth / 2) < 0.2 * breadth for leg in legs) and at + 1 < len(kept):
            kept[at - 1 : at + 2] = [side[at]]
    return tuple(kept)


def _edges(ring: Polyline) -> list[float]:
    return [math.dist(one, other) for one, other in pairwise((*ring, ring[0]))]


def _between(edges: Sequence[float], first: int, last: int) -> float:
    return math.fsum(edges[first + 1 : last]) + (edges[first] + edges[last]) / 2


def _midway(one: Polyline, other: Polyline) -> Polyline:
    """The line halfway between two that run beside each other, at the corners of both."""
    places = np.unique(np.concatenate((_shares(one), _shares(other))).round(9))
    points = (_at(one, places) + _at(other, places)) / 2
    return tuple((float(x), float(y)) for x, y in points)


def _shares(line: Sequence[Point]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    steps = np.concatenate(([0.0], np.cumsum([math.dist(a, b) for a, b in pairwise(line)])))
    return np.asarray(steps / (steps[-1] or 1.0), dtype=float)


def _at(
    line: Sequence[Point], places: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    shares = _shares(line)
    xs, ys = np.asarray(line, dtype=float).T
    return np.column_stack((np.interp(places, shares, xs), np.interp(places, shares, ys)))
