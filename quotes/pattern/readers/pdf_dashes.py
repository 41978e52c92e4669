"""Dashed lines that a program wrote as their dashes, each a line of its own: put together to whole lines again."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import shapely

from quotes.pattern.geometry import Point, Polyline, as_polygon, length_mm
from quotes.pattern.sheet import Stroke

__all__ = ["undashed"]

MOST_DASH_MM = 30.0
"""Dashes are no longer, and gaps no longer than half of it."""
_LEAST_DASHES = 4
_SAME_GAP = 0.25
"""Gaps of one line differ by no more than this share; those round a corner look shorter."""
_TOUCH_MM = 0.05
_WHOLE_SHARE = 0.999
_TURN_DEG = 35.0
"""A line bends by no more from a dash over a gap to the next, unless it turns a corner there."""


def undashed(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return strokes in their order, dashes that follow each other as the line they make, its dash said."""
    found: list[Stroke] = []
    run: list[Stroke] = []
    for stroke in strokes:
        if run and not (_may_be_dash(stroke) and _look(stroke) == _look(run[-1]) and _goes_on(run, stroke)):
            found += _made(run)
            run = []
        if _may_be_dash(stroke):
            run.append(_turned_on(run, stroke))
            if len(run) == 2:
                run[0] = _facing(run[0], run[1])
        else:
            found.append(stroke)
    return found + _made(run)


def _may_be_dash(stroke: Stroke) -> bool:
    return not stroke.is_closed and not stroke.dash and 0 < length_mm(stroke.line) <= MOST_DASH_MM


def _look(stroke: Stroke) -> tuple[object, ...]:
    return stroke.colour, round(stroke.width or 0.0, 1), stroke.layers, stroke.where


def _goes_on(run: Sequence[Stroke], stroke: Stroke) -> bool:
    """Tell whether a dash follows a run: a gap as the others away, and on in the same direction or round a corner."""
    ends = run[-1].line[-1:] if len(run) > 1 else (run[-1].line[0], run[-1].line[-1])
    gap = min(math.dist(end, start) for end in ends for start in (stroke.line[0], stroke.line[-1]))
    if gap <= _TOUCH_MM:
        # Where a ring begins, its last dash may run into its first.
        return len(run) >= _LEAST_DASHES
    if gap > MOST_DASH_MM / 2 or gap > 3 * max(length_mm(stroke.line), length_mm(run[-1].line)):
        return False
    if len(run) == 1:
        first, second = _facing(run[0], stroke), _turned_on([_facing(run[0], stroke)], stroke)
        return _turn(first, second) <= _TURN_DEG
    usual = statistics.median(math.dist(a.line[-1], b.line[0]) for a, b in pairwise(run))
    following = _turned_on(run, stroke)
    if _turn(run[-1], following) > _TURN_DEG:
        corner = _corner(run[-1].line, following.line)
        gap = math.dist(run[-1].line[-1], corner) + math.dist(corner, following.line[0]) if corner else math.inf
    # The last gap of a ring is what is left of it, where its first dash begins.
    closes = len(run) >= _LEAST_DASHES and math.dist(following.line[-1], run[0].line[0]) <= (1 + _SAME_GAP) * usual
    return gap <= (1 + _SAME_GAP) * usual and (closes or gap >= (1 - _SAME_GAP) * usual)


def _turn(before: Stroke, after: Stroke) -> float:
    """The greater of the two bends over a gap, in degrees."""
    gap = _heading(before.line[-1], after.line[0])
    bends = (
        gap - _heading(*before.line[-2:]),
        _heading(*after.line[:2]) - gap,
    )
    return max(abs(math.degrees(math.remainder(bend, math.tau))) for bend in bends)


def _heading(start: Point, end: Point) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])


def _facing(first: Stroke, second: Stroke) -> Stroke:
    """The first dash so that its end is near the second."""
    near = [
        min(math.dist(end, other) for other in (second.line[0], second.line[-1]))
        for end in (first.line[0], first.line[-1])
    ]
    return first if near[1] <= near[0] else replace(first, line=first.line[::-1])


def _turned_on(run: Sequence[Stroke], stroke: Stroke) -> Stroke:
    """A dash so that its begin is near the end of the run."""
    if not run or math.dist(run[-1].line[-1], stroke.line[0]) <= math.dist(run[-1].line[-1], stroke.line[-1]):
        return stroke
    return replace(stroke, line=stroke.line[::-1])


def _corner(before: Polyline, after: Polyline) -> Point | None:
    """Where the directions of two dashes meet ahead of the first and behind the second; None where they do not."""
    (x0, y0), (x1, y1) = before[-2:]
    (x2, y2), (x3, y3) = after[:2]
    crossed = (x1 - x0) * (y3 - y2) - (y1 - y0) * (x3 - x2)
    if abs(crossed) < 1e-9:
        return None
    ahead = ((x2 - x1) * (y3 - y2) - (y2 - y1) * (x3 - x2)) / crossed
    behind = ((x2 - x1) * (y1 - y0) - (y2 - y1) * (x1 - x0)) / crossed
    is_between = ahead * math.dist(*before[-2:]) >= -_TOUCH_MM and behind * math.dist(*after[:2]) <= _TOUCH_MM
    return (x1 + ahead * (x1 - x0), y1 + ahead * (y1 - y0)) if is_between else None


def _made(run: Sequence[Stroke]) -> list[Stroke]:
    if len(run) < _LEAST_DASHES:
        return list(run)
    points: list[Point] = list(run[0].line)
    gaps = []
    for before, after in pairwise(run):
        gaps.append(math.dist(before.line[-1], after.line[0]))
        turns = gaps[-1] > _TOUCH_MM and _turn(before, after) > _TURN_DEG
        corner = _corner(before.line, after.line) if turns else None
        points += [*([corner] if corner else []), *after.line]
    usual = statistics.median(gaps)
    dash = tuple(round(length, 2) for length in (statistics.median(length_mm(one.line) for one in run), usual))
    around = math.dist(points[-1], points[0])
    is_closed = len(run) > 2 * _LEAST_DASHES and around <= (1 + _SAME_GAP) * usual
    if is_closed and around < 1e-3:
        points.pop()
    return [
        replace(run[0], line=_without_loops(points) if is_closed else tuple(points), is_closed=is_closed, dash=dash)
    ]


def _without_loops(ring: Sequence[Point]) -> Polyline:
    """A ring without the specks that dashes leave where they overlap at its corners; itself where it crosses itself for good."""
    area = as_polygon(ring)
    if area.is_valid:
        return tuple(ring)
    parts = [part for part in shapely.get_parts(shapely.make_valid(area)) if part.geom_type == "Polygon"]
    largest = max(parts, key=lambda part: part.area, default=None)
    if largest is None or largest.area < _WHOLE_SHARE * sum(part.area for part in parts):
        return tuple(ring)
    return tuple((float(x), float(y)) for x, y in largest.exterior.coords[:-1])
