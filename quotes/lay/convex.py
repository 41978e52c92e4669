"""A piece cut into convex parts, each of which one straight line can keep apart from its neighbour.

Triangles of the outline (constrained Delaunay, by GEOS) are joined across their common edges, the longest first, as long
as what is joined stays convex. Source: Hertel and Mehlhorn, Fast triangulation of simple polygons, 1983.
"""

import math
from collections.abc import Sequence

from shapely import constrained_delaunay_triangles, get_coordinates

from quotes.pattern.geometry import Point, Polyline, as_polygon

__all__ = ["convex_parts"]

MOST_CORNERS = 12
"""A part with more corners than this costs the programme more than it saves: its edges are tried against all corners."""


def convex_parts(outline: Polyline) -> tuple[tuple[int, ...], ...]:
    """Return the convex parts of a simple closed outline, each as places of its corners in the outline, anticlockwise."""
    places = {point: place for place, point in enumerate(outline)}
    parts: dict[int, list[int]] = {}
    sides: dict[tuple[int, int], int] = {}
    triangles = get_coordinates(constrained_delaunay_triangles(as_polygon(outline))).reshape(-1, 4, 2)
    for number, points in enumerate(triangles[:, :3].tolist()):
        corners = [places[x, y] for x, y in points]
        if _turn(*(outline[corner] for corner in corners)) < 0:
            corners.reverse()
        parts[number] = corners
        sides |= dict.fromkeys(_sides(corners), number)
    shared = [(start, end) for start, end in sides if start < end and (end, start) in sides]
    for start, end in sorted(shared, key=lambda side: -math.dist(outline[side[0]], outline[side[1]])):
        one, other = sides[start, end], sides[end, start]
        joined = _joined(parts[one], parts[other], start, end)
        if len(joined) <= MOST_CORNERS and all(_is_convex(outline, joined, corner) for corner in (start, end)):
            parts[one] = joined
            sides |= dict.fromkeys(_sides(parts.pop(other)), one)
    return tuple(tuple(corners) for corners in parts.values())


def _sides(corners: Sequence[int]) -> list[tuple[int, int]]:
    return list(zip(corners, [*corners[1:], corners[0]], strict=True))


def _joined(one: list[int], other: list[int], start: int, end: int) -> list[int]:
    """Corners of two parts without their common side, which runs from `start` to `end` in the first."""
    from_end = one.index(end)
    from_start = other.index(start)
    return [*one[from_end:], *one[:from_end], *(other[from_start:] + other[:from_start])[1:-1]]


def _is_convex(outline: Polyline, corners: Sequence[int], corner: int) -> bool:
    place = corners.index(corner)
    before, here, after = (outline[corners[(place + step) % len(corners)]] for step in (-1, 0, 1))
    return _turn(before, here, after) >= 0


def _turn(before: Point, here: Point, after: Point) -> float:
    return (here[0] - before[0]) * (after[1] - here[1]) - (here[1] - before[1]) * (after[0] - here[0])
