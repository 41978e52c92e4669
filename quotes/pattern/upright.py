"""Pieces that lie askew, turned so that their grain or their waist line runs along an axis of the drawing.

Widths are measured along x and waists at a height, so a piece must stand upright (or lie on its side) before either is
read. The grain line says how it stands; else its waist line does, which is level by what it is. A grain that is drawn
askew in a piece that stands upright is meant so (cloth cut off grain), and turns nothing.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from inventory.ground.findings import Finding, stop
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.edges import ToldEdges
from quotes.pattern.geometry import Point, Polyline, length_mm, turned

__all__ = ["askew_deg", "tilt_fault", "turned_panel"]

LEAST_DEG = 0.2
"""Less is a slip of the hand; a width is then out by less than a hundred-thousandth."""
LEVEL_DEG = 0.5
"""A waist line within this of an axis is level, whatever the grain."""
STRAIGHT = 1.01
"""A waist line this many times as long as its ends lie apart still runs straight."""
OFF_GRAIN_DEG = 12.0
"""A piece leans by less than this when it stands upright; common practice, no source: panels swell and lean a little."""
TILTED_DEG = 7.0
"""A piece that leans by this much lies askew where its top and bottom tilt the same way: a waist is then 0.75 % out."""
ENDS_DEG = 3.0
"""Top and bottom together tilt by this much, in the mean; those of an upright piece slope against each other."""


def askew_deg(drawn: DrawnPanel, ring: Polyline) -> float:
    """Return by how much a piece has to be turned anticlockwise, -45 to 45; 0 where it stands, or nothing says that it does not."""
    if drawn.edges is not None or drawn.waist_mm is not None:
        return 0.0
    level = None if drawn.waist is None else _level_deg(drawn.waist)
    if level is not None and abs(level) <= LEVEL_DEG:
        return 0.0
    if drawn.grain is not None and math.dist(*drawn.grain) > 0:
        off = _off_axis_deg(*drawn.grain)
        if abs(off) <= LEAST_DEG:
            return 0.0
        leaning = _lean_deg(ring)
        stands_better = abs(_within_45(leaning - off)) <= max(OFF_GRAIN_DEG, abs(leaning))
        if stands_better:
            return -off
    if level is None:
        return 0.0
    leaning = _lean_deg(ring)
    return -level if abs(_within_45(leaning - level)) < abs(leaning) else 0.0


def turned_panel(drawn: DrawnPanel, degrees: float) -> DrawnPanel:
    """Return a piece with all its marks turned anticlockwise about the origin."""

    def line(points: Polyline | None) -> Polyline | None:
        return None if points is None else turned(points, degrees)

    grain = None if drawn.grain is None else turned(drawn.grain, degrees)
    return replace(
        drawn,
        stitching=line(drawn.stitching),
        cut=line(drawn.cut),
        turn_points=turned(drawn.turn_points, degrees),
        notches=turned(drawn.notches, degrees),
        waist=line(drawn.waist),
        grain=None if grain is None else (grain[0], grain[1]),
    )


def tilt_fault(drawn: DrawnPanel, told: ToldEdges) -> Finding | None:
    """Return the stop for a piece that lies askew where nothing says by how much."""
    if told.named or drawn.grain is not None or drawn.waist is not None:
        return None
    _, _, top, bottom = told.edges
    top_deg, bottom_deg = _heading_deg(top[0], top[-1]), _heading_deg(bottom[0], bottom[-1])
    leaning = _heading_deg(_middle(bottom[0], bottom[-1]), _middle(top[0], top[-1])) - 90.0
    ends_deg = (top_deg + bottom_deg) / 2
    if abs(leaning) < TILTED_DEG or abs(ends_deg) < ENDS_DEG or (leaning > 0) != (ends_deg > 0):
        return None
    return stop(
        "pattern.askew",
        drawn.where,
        f"The piece lies askew: it leans by {abs(leaning):.0f} degrees, its top and bottom tilt with it, and no grain line "
        "says how it stands.",
        "Draw its grain line or its waist line, or turn the piece upright.",
    )


def _lean_deg(ring: Sequence[Point]) -> float:
    """How far the long direction of an outline is off the nearest axis: its principal axis of area moments."""
    area = cx = cy = 0.0
    x0, y0 = ring[0]
    points = [(x - x0, y - y0) for x, y in ring]
    legs = list(zip(points, (*points[1:], points[0]), strict=True))
    for (ax, ay), (bx, by) in legs:
        cross = ax * by - bx * ay
        area += cross / 2
        cx += (ax + bx) * cross / 6
        cy += (ay + by) * cross / 6
    if area == 0:
        return 0.0
    cx, cy = cx / area, cy / area
    xx = yy = xy = 0.0
    for (ax, ay), (bx, by) in legs:
        ax, ay, bx, by = ax - cx, ay - cy, bx - cx, by - cy
        cross = ax * by - bx * ay
        xx += (ax * ax + ax * bx + bx * bx) * cross
        yy += (ay * ay + ay * by + by * by) * cross
        xy += (2 * ax * ay + ax * by + bx * ay + 2 * bx * by) * cross / 2
    return _within_45(math.degrees(math.atan2(2 * xy, xx - yy)) / 2)


def _level_deg(waist: Polyline) -> float | None:
    """How far a straight waist line is off the nearest axis; None for one that bends."""
    if len(waist) < 2 or length_mm(waist) > STRAIGHT * math.dist(waist[0], waist[-1]):
        return None
    return _off_axis_deg(waist[0], waist[-1])


def _off_axis_deg(start: Point, end: Point) -> float:
    return _within_45(_heading_deg(start, end))


def _within_45(degrees: float) -> float:
    return math.remainder(degrees, 90.0)


def _heading_deg(start: Point, end: Point) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _middle(start: Point, end: Point) -> Point:
    return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
