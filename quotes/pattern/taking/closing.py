"""Which lines close to outlines, alone or joined end to end, and which stay open?

Tolerances go with the size of what is drawn, for its unit may still be unknown.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np
from shapely import Polygon

from quotes.pattern.branching import branching_off
from quotes.pattern.geometry import Point, Polyline, as_polygon, length_mm, ring_area_mm2
from quotes.pattern.line_ends import LineEnds, closed_without_overshoot, without_overshoot
from quotes.pattern.outline import clean_ring
from quotes.pattern.sheet import Sheet, Stroke

__all__ = ["CLOSING_MM", "Closed", "area_inside", "closed_outlines", "diagonal"]

CLOSING_MM = 3.0
"""Ends of an outline this close are joined; common practice, no source: about a pencil's slip on a full-size print."""
_CLOSING_SHARE = 0.01
"""The same as a share of the drawn pieces' diagonal, where the unit is not known or the file's word for it is wrong."""
_PIECE_SHARE = 0.3
"""Lines less long than this share of the longest are marks, and no measure of the pieces."""
_FLAT_SHARE = 1e-3
"""What encloses less than this share of its length squared is a line drawn to and fro."""
MOST_OUTLINES = 400
_SMALLEST_SHARE = 1e-3
"""A closed line whose area is less than this share of the largest is a mark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """A closed line, counter-clockwise, in the sheet's unit; `gap` is how far apart its ends lay.

    `stroke` is the line that it was drawn as, or the first of several.
    """

    ring: Polyline
    stroke: Stroke
    gap: float = 0.0


def diagonal(line: Sequence[Point]) -> float:
    """Return the diagonal of a line's box."""
    xs, ys = zip(*line, strict=True)
    return math.hypot(max(xs) - min(xs), max(ys) - min(ys))


def area_inside(ring: Sequence[Point]) -> Polygon:
    """Return the area inside a ring; of one that crosses itself, its largest part."""
    shape = as_polygon(ring)
    if shape.is_valid:
        return shape
    mended = shape.buffer(0)
    parts = [part for part in getattr(mended, "geoms", [mended]) if not part.is_empty]
    return max(parts, key=lambda part: part.area, default=Polygon())


def closed_outlines(sheet: Sheet) -> tuple[tuple[Closed, ...], tuple[Stroke, ...]]:
    """Return the outlines that the sheet's lines close to, and the lines that stay open (joined where their ends meet)."""
    reach = _reach(sheet)
    closed = [
        Closed(ring=clean_ring(stroke.line), stroke=stroke)
        for stroke in sheet.strokes
        if stroke.is_closed and len(set(stroke.line)) >= 3
    ]
    open_lines = [stroke for stroke in sheet.strokes if not stroke.is_closed and len(stroke.line) >= 2]
    # A line that was drawn over again counts once.
    waiting = list({min(stroke.line, stroke.line[::-1]): stroke for stroke in open_lines}.values())
    # First what stands together is joined, then what is drawn alike, then whatever is left.
    for key in (_place_and_look, _look, _nothing):
        groups: dict[object, list[Stroke]] = defaultdict(list)
        for stroke in waiting:
            groups[key(stroke)].append(stroke)
        waiting = []
        for group in groups.values():
            aside = branching_off([stroke.line for stroke in group], reach)
            rings, still_open = _joined([one for at, one in enumerate(group) if at not in aside], reach)
            closed += rings
            waiting += [*still_open, *(group[at] for at in sorted(aside))]
    closed = [one for one in closed if len(one.ring) >= 3]
    return _without_marks_and_doubles(closed), tuple(waiting)


def _reach(sheet: Sheet) -> float:
    sizes = [diagonal(stroke.line) for stroke in sheet.strokes]
    if not sizes:
        return 0.0
    pieces = [size for size in sizes if size >= _PIECE_SHARE * max(sizes)]
    reach = _CLOSING_SHARE * median(pieces)
    return reach if sheet.mm_per_unit is None else min(reach, CLOSING_MM / sheet.mm_per_unit)


def _place_and_look(stroke: Stroke) -> object:
    return stroke.layers, stroke.colour, stroke.dash


def _look(stroke: Stroke) -> object:
    return stroke.colour, stroke.dash


def _nothing(stroke: Stroke) -> object:
    return None


def _joined(strokes: Sequence[Stroke], reach: float) -> tuple[list[Closed], list[Stroke]]:
    """Chains of strokes whose ends meet, nearest ends first; what closes nothing is given back as it was drawn."""
    rings: list[Closed] = []
    still_open: list[Stroke] = []
    ends = LineEnds([stroke.line for stroke in strokes], reach)
    for first in range(len(strokes)):
        if not ends.take(first):
            continue
        parts, line, widest = [strokes[first]], list(strokes[first].line), 0.0
        while not _closes(line, reach):
            found = ends.nearest(line[-1])
            if found is None:
                line.reverse()
                found = ends.nearest(line[-1])
            if found is None:
                break
            gap, index, is_turned = found
            ends.take(index)
            parts.append(strokes[index])
            line, onward = without_overshoot(line, strokes[index].line[:: -1 if is_turned else 1], reach)
            line += onward
            widest = max(widest, gap)
        if _closes(line, reach):
            gap = max(widest, math.dist(line[0], line[-1]))
            line = closed_without_overshoot(line, reach)
            rings.append(Closed(ring=clean_ring(line), stroke=strokes[first], gap=gap))
        elif len(parts) > 1 and _nearly_closes(line):
            still_open.append(replace(strokes[first], line=tuple(line)))
        else:
            still_open += parts
    return rings, still_open


def _closes(line: Sequence[Point], reach: float) -> bool:
    gap = math.dist(line[0], line[-1])
    if len(line) <= 3 or gap > reach:
        return False
    around = length_mm(line)
    return around > 4 * max(gap, reach) and ring_area_mm2(line) > _FLAT_SHARE * around**2


def _nearly_closes(line: Sequence[Point]) -> bool:
    return len(line) > 3 and math.dist(line[0], line[-1]) < 0.1 * length_mm(line)


def _without_marks_and_doubles(closed: Sequence[Closed]) -> tuple[Closed, ...]:
    """The outlines without small marks, and each once where it was drawn over again."""
    areas = [ring_area_mm2(one.ring) for one in closed]
    largest = max(areas, default=0.0)
    kept: list[tuple[float, Closed]] = []
    seen: set[tuple[float, ...]] = set()
    for area, one in zip(areas, closed, strict=True):
        if area <= _SMALLEST_SHARE * largest:
            continue
        points = np.asarray(one.ring)
        grain = diagonal(one.ring) / 1000
        middle, spread = points.min(axis=0), points.max(axis=0)
        key = tuple(float(round(float(value) / grain)) for value in (*middle, *spread, math.sqrt(area)))
        if key not in seen:
            seen.add(key)
            kept.append((area, one))
    largest_first = sorted(range(len(kept)), key=lambda place: -kept[place][0])[:MOST_OUTLINES]
    return tuple(kept[place][1] for place in sorted(largest_first))
