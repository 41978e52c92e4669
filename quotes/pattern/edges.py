"""Telling a panel's outline apart into front, back, top and bottom."""

import math
from collections.abc import Sequence

from shapely import LineString

from inventory.findings import Finding, stop
from quotes.pattern.corners import Ambiguous, nearest_vertex, sharpest_corners, sides_between
from quotes.pattern.cutline import offset_ring
from quotes.pattern.drawing import DrawnPanel, ReadOptions
from quotes.pattern.geometry import Point, Polyline, length_mm
from quotes.pattern.model import EdgeName
from quotes.pattern.orientation import turned

__all__ = ["Edges", "edges_of", "joined_edges", "sewn_inside"]

_MEET_MM = 0.5
"""Named edges that end this close to each other meet."""
_NAMES = (EdgeName.FRONT, EdgeName.BACK, EdgeName.TOP, EdgeName.BOTTOM)

Edges = tuple[Polyline, Polyline, Polyline, Polyline]
"""Front and back from bottom to top, top and bottom from front to back."""


def edges_of(drawn: DrawnPanel, ring: Polyline, options: ReadOptions, quarter_turns: int) -> Edges | Finding:
    if drawn.edges is not None:
        front, back, top, bottom = (
            tuple(turned(point, quarter_turns) for point in drawn.edges[name]) for name in _NAMES
        )
        # The edges meet exactly from here on; files round their points.
        return (bottom[0], *front[1:-1], top[0]), (bottom[-1], *back[1:-1], top[-1]), top, bottom
    if drawn.number in options.corners:
        picked = [nearest_vertex(ring, turned(point, quarter_turns)) for point in options.corners[drawn.number]]
        return _named(ring, picked, drawn)
    if drawn.corners is not None:
        named = drawn.stitching or drawn.cut or ()
        positions = [nearest_vertex(ring, turned(named[position], quarter_turns)) for position in drawn.corners]
        return _named(ring, positions, drawn)
    marked = sorted({nearest_vertex(ring, turned(point, quarter_turns)) for point in drawn.turn_points})
    found = sharpest_corners(ring, among=marked if len(marked) == 4 else None)
    if isinstance(found, Ambiguous) and len(marked) == 4:
        found = (marked[0], marked[1], marked[2], marked[3])
    if isinstance(found, Ambiguous):
        places = "; ".join(f"({x:.0f}, {y:.0f})" for x, y in found.candidates)
        return stop(
            "pattern.corners-ambiguous",
            drawn.where,
            f"The four corners cannot be told apart. {found.sentence} Turns are at {places} mm.",
            "Mark exactly four turn points, name the edges, or pick the corners on the drawing.",
        )
    return _upright(sides_between(ring, found))


def _named(ring: Polyline, positions: Sequence[int], drawn: DrawnPanel) -> Edges | Finding:
    """Edges from corners named bottom front, bottom back, top back, top front."""
    if len(set(positions)) < 4:
        return stop(
            "pattern.corners-fall-together",
            drawn.where,
            "Two of the four corners are the same point.",
            "Name four different points of the outline.",
        )
    bottom_front, bottom_back, top_back, top_front = positions
    order = sorted(positions)
    start = order.index(bottom_front)
    around = [order[(start + step) % 4] for step in range(4)]
    if around == [bottom_front, bottom_back, top_back, top_front]:
        bottom, back, top, front = sides_between(ring, around)
        return tuple(reversed(front)), back, tuple(reversed(top)), bottom
    if around == [bottom_front, top_front, top_back, bottom_back]:
        front, top, back, bottom = sides_between(ring, around)
        return front, tuple(reversed(back)), top, tuple(reversed(bottom))
    return stop(
        "pattern.corners-out-of-order",
        drawn.where,
        "The four corners do not follow each other round the outline.",
        "Name them bottom front, bottom back, top back, top front.",
    )


def _upright(sides: Edges) -> Edges:
    """Four sides of a counter-clockwise ring as front (left), back (right), top and bottom."""
    lengths = [length_mm(side) for side in sides]
    long = 0 if min(lengths[0], lengths[2]) > max(lengths[1], lengths[3]) else 1
    first, second = sides[long], sides[long + 2]
    # Counter-clockwise, the back edge runs upwards with the panel to its left.
    start = long if _middle_x(first) > _middle_x(second) else (long + 2) % 4
    back, top, front, bottom = (sides[(start + step) % 4] for step in range(4))
    return tuple(reversed(front)), back, tuple(reversed(top)), bottom


def _middle_x(line: Polyline) -> float:
    return float(LineString(line).centroid.x)


def sewn_inside(edges: Edges, allowance: float) -> Edges:
    """Stitching edges inside the cut edges, each moved in by the allowance."""
    front, back, top, bottom = edges
    ring_edges = (bottom, back, tuple(reversed(top)), tuple(reversed(front)))
    ring = offset_ring(ring_edges, [-allowance] * 4)
    corners = [nearest_vertex(ring, _corner_inside(edge, ring)) for edge in ring_edges]
    new_bottom, new_back, new_top, new_front = sides_between(ring, corners)
    return tuple(reversed(new_front)), new_back, tuple(reversed(new_top)), new_bottom


def _corner_inside(edge: Polyline, ring: Polyline) -> Point:
    return ring[nearest_vertex(ring, edge[0])]


def joined_edges(drawn: DrawnPanel) -> tuple[Polyline, list[Finding]]:
    """Named edges as one ring, if they meet."""
    assert drawn.edges is not None
    front, back, top, bottom = (drawn.edges[name] for name in _NAMES)
    faults = []
    for first, second, words in (
        (front[0], bottom[0], "front and bottom"),
        (back[0], bottom[-1], "back and bottom"),
        (front[-1], top[0], "front and top"),
        (back[-1], top[-1], "back and top"),
    ):
        gap = math.dist(first, second)
        if not gap <= _MEET_MM:
            faults.append(
                stop(
                    "pattern.edges-do-not-meet",
                    drawn.where,
                    f"The {words} edges lie {gap:.1f} mm apart where they should meet.",
                    "Front and back run from bottom to top, top and bottom from front to back.",
                )
            )
    return (*bottom[:-1], *back[:-1], *reversed(top[1:]), *reversed(front[1:])), faults
