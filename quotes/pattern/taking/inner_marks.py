"""The marks of one panel on a free drawing: its waist line, its grain, its notches, whether it lies to a fold."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon

from quotes.pattern.geometry import Point, Polyline, as_line, length_mm
from quotes.pattern.sheet import Label, Stroke
from quotes.pattern.taking.closing import area_inside, diagonal
from quotes.pattern.taking.words import Said, said

__all__ = ["Marks", "marks_of"]

_GRAIN_SHARE = 0.15
"""A grain line is at least this share of the panel's diagonal long."""
_TICK_SHARE = 0.09
"""A notch's tick is at most this share of the panel's diagonal long: some 25 mm."""
_STANDS_OUT_SHARE = 0.3
"""A tick reaches this share of its length off the outline; less, and it is a piece of the outline itself."""
_TOUCH_SHARE = 0.006
"""Lines this share of the diagonal apart touch: some 1.7 mm."""
_REACH_SHARE = 0.012
"""A waist line may end this share of the diagonal short of the stitching line."""
_REACH_IN_CUT_SHARE = 0.11
"""The same where only the cut line is drawn: it may end at the stitching line, an allowance inside."""
_OVERSHOOT_SHARE = 0.12
"""A line across a panel may run on beyond it by this share of the diagonal at either end."""
_HEAD_SHARE = 0.3
"""An arrow's head is at most this share of its shaft long."""
_LONGER, _ALONG_MOST = 1.5, 0.5
"""In a panel this much longer than wide, a line with less than this share of its length along the panel runs across."""
_ACROSS_SHARE = 0.9
"""A line across a panel is shorter than this share of its longest extent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What was found on one panel, in the sheet's unit; `fold` is the line drawn there, `on_fold` that words say so."""

    waist: Polyline | None = None
    grain: tuple[Point, Point] | None = None
    notches: tuple[Point, ...] = ()
    fold: Polyline | None = None
    on_fold: bool = False


def marks_of(
    ring: Polyline,
    lines: Sequence[Stroke],
    labels: Sequence[Label],
    *,
    is_cut_line: bool,
    names: Sequence[str] = (),
    spots: Sequence[Point] = (),
) -> Marks:
    """Return the marks among some open `lines` and `labels`, those that lie in the outline `ring` or touch it.

    `is_cut_line` says that the ring is the only line of the panel and lies an allowance outside; `names` are those of the
    panel itself, which say nothing of a line in it; `spots` are middles of notches that the reader found.
    """
    shape = area_inside(ring)
    if shape.is_empty:
        return Marks()
    size = diagonal(ring)
    near = [
        line
        for line in lines
        if _boxes_meet(line.line, ring) and shape.distance(as_line(line.line)) <= _TOUCH_SHARE * size
    ]
    near = [line for line in near if not _is_of_outline(line.line, shape, size)]
    texts = [(label, said(label.text)) for label in labels if shape.distance(shapely.Point(label.at)) <= 0.05 * size]
    words = {id(line): _words_of(line, labels, size, names, beside=near, ring=ring) for line in near}
    waist = _waist(ring, shape, near, words, size, is_cut_line=is_cut_line)
    grain_line, grain = _grain(shape, near, words, size)
    folds = [line for line in near if any(one.is_fold for one in words[id(line)])]
    taken = {id(line) for line in (*folds, *([grain_line] if grain_line else []))}
    return Marks(
        waist=waist,
        grain=grain,
        notches=(*_ticks(shape, [line for line in near if id(line) not in taken], size), *_near_spots(shape, spots, size)),
        fold=folds[0].line if folds else None,
        on_fold=bool(folds) or any(one.is_fold for _, one in texts),
    )  # fmt: skip


def _is_of_outline(line: Polyline, shape: Polygon, size: float) -> bool:
    """Whether a line is a part of the outline itself, drawn over again or one of several that it was chained of."""
    if diagonal(line) <= _TICK_SHARE * size:
        return False
    return bool(shape.exterior.buffer(_TOUCH_SHARE * size).contains(as_line(line)))


def _words_of(
    line: Stroke,
    labels: Sequence[Label],
    size: float,
    names: Sequence[str],
    *,
    beside: Sequence[Stroke],
    ring: Polyline,
) -> list[Said]:
    """What a line's names say, and those labels that stand at it.

    A fold, or a grain line, runs along a panel: where such a word stands at the waist as well, it says nothing of that.
    """
    found = [said(name) for name in line.layers if name not in names]
    crosses = _runs_across(line.line, ring)
    for label in labels:
        if not _stands_at(label, line, size):
            continue
        words = said(label.text)
        is_of_another = words.is_grain and any(
            _stands_at(label, other, size) and not _runs_across(other.line, ring) for other in beside
        )
        if not (crosses and (words.is_fold or is_of_another)):
            found.append(words)
    return found


def _stands_at(label: Label, line: Stroke, size: float) -> bool:
    return bool(as_line(line.line).distance(shapely.Point(label.at)) <= max(0.05 * size, 1.5 * label.height))


def _runs_across(line: Polyline, ring: Polyline) -> bool:
    """Whether a line runs more across a panel than along it, where the panel is clearly longer than wide."""
    box = shapely.get_coordinates(as_line(ring).minimum_rotated_rectangle)
    if len(box) < 4:
        return False
    legs = sorted((box[1] - box[0], box[2] - box[1]), key=lambda leg: float(np.hypot(*leg)))
    short, long = (float(np.hypot(*leg)) for leg in legs)
    along = abs(float(np.dot(legs[1], np.subtract(line[-1], line[0])))) / long
    return long > _LONGER * short and along < _ALONG_MOST * _span(line)


def _waist(
    ring: Polyline,
    shape: Polygon,
    lines: Sequence[Stroke],
    words: dict[int, list[Said]],
    size: float,
    *,
    is_cut_line: bool,
) -> Polyline | None:
    named = [line for line in lines if any(said(name).is_waist for name in line.layers)]
    by_label = [line for line in lines if any(one.is_waist for one in words[id(line)])]
    for told in (named, by_label):
        within = [part for line in told if (part := _across(shape, line.line)) is not None]
        within = [part for part in within if _span(part) >= 0.05 * size]
        if within:
            return max(within, key=_span)
    edge = LineString((*ring, ring[0]))
    xs, ys = zip(*ring, strict=True)
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    reach = (_REACH_IN_CUT_SHARE if is_cut_line else _REACH_SHARE) * size
    crossing = []
    for line in lines:
        if any(one.is_other_level or one.is_grain or one.is_fold or one.is_stitching for one in words[id(line)]):
            continue
        part = line.line
        if all(0 < shape.distance(shapely.Point(end)) <= _OVERSHOOT_SHARE * size for end in (part[0], part[-1])):
            part = _across(shape, part, margin=0.0) or part
        if (
            _TICK_SHARE * size < _span(part) < _ACROSS_SHARE * longest
            and length_mm(part) < 1.2 * _span(part)
            and all(edge.distance(shapely.Point(end)) <= reach for end in (part[0], part[-1]))
        ):
            crossing.append(part)
    return min(crossing, key=_span) if crossing else None


def _across(shape: Polygon, line: Polyline, *, margin: float = 0.02) -> Polyline | None:
    """A line, or that part of one drawn beyond this panel which lies in it; `margin` is a share of the panel's diagonal."""
    whole = as_line(line)
    if shape.buffer(margin * diagonal(shape.exterior.coords)).contains(whole):
        return line
    part = whole.intersection(shape)
    parts = [one for one in getattr(part, "geoms", [part]) if one.geom_type == "LineString" and not one.is_empty]
    if not parts:
        return None
    return tuple((x, y) for x, y in shapely.get_coordinates(max(parts, key=lambda one: one.length)).tolist())


def _grain(
    shape: Polygon, lines: Sequence[Stroke], words: dict[int, list[Said]], size: float
) -> tuple[Stroke | None, tuple[Point, Point] | None]:
    """The grain line: named so, with the word beside it, or an arrow that stands in the panel."""
    long = [line for line in lines if _span(_farthest(line.line)) >= _GRAIN_SHARE * size]
    named = [line for line in long if any(said(name).is_grain for name in line.layers)]
    free = [line for line in long if not any(one.is_waist for one in words[id(line)])]
    arrows = [line for line in free if line.is_arrow or _has_head(line, lines)]
    by_label = [line for line in free if any(one.is_grain for one in words[id(line)])]
    if not named and by_label:
        by_label = [line for line in by_label if line in arrows] or by_label
    for told in (named, by_label, [line for line in arrows if shape.contains(as_line(line.line))]):
        if told:
            line = max(told, key=lambda one: _span(_farthest(one.line)))
            start, end = _farthest(line.line)
            return line, (start, end)
    return None, None


def _farthest(line: Polyline) -> tuple[Point, Point]:
    """The longest leg of a line, or its two ends where it runs straight: an arrow's shaft without its head."""
    if length_mm(line) <= 1.01 * _span(line):
        return line[0], line[-1]
    return max(pairwise(line), key=lambda leg: math.dist(*leg))


def _has_head(shaft: Stroke, lines: Sequence[Stroke]) -> bool:
    """Whether small lines start from an end of a shaft, slanting back from it, or the line itself ends in them."""
    start, end = _farthest(shaft.line)
    long = math.dist(start, end)
    if len(shaft.line) > 2 and long < length_mm(shaft.line) < (1 + 4 * _HEAD_SHARE) * long:
        return True
    for line in lines:
        if line is shaft or length_mm(line.line) > 2 * _HEAD_SHARE * long:
            continue
        for tip, other in ((start, end), (end, start)):
            for point in line.line:
                if math.dist(point, tip) <= 0.02 * long and any(_slants_back(tip, other, away) for away in line.line):
                    return True
    return False


def _slants_back(tip: Point, other: Point, away: Point) -> bool:
    leg = math.dist(tip, away)
    long = math.dist(tip, other)
    if leg < 0.01 * long:
        return False
    cosine = ((other[0] - tip[0]) * (away[0] - tip[0]) + (other[1] - tip[1]) * (away[1] - tip[1])) / (leg * long)
    return 0.3 < cosine < 0.99


def _ticks(shape: Polygon, lines: Sequence[Stroke], size: float) -> tuple[Point, ...]:
    """Where short lines meet the outline: edge ticks, on whatever layer they are."""
    edge = shape.exterior
    found = []
    for line in lines:
        if diagonal(line.line) > _TICK_SHARE * size:
            continue
        ends = [edge.distance(shapely.Point(end)) for end in (line.line[0], line.line[-1])]
        tick = as_line(line.line)
        if max(ends) < _STANDS_OUT_SHARE * diagonal(line.line):
            continue
        if min(ends) > _TOUCH_SHARE * size and not tick.intersects(edge):
            continue
        crossing = shapely.get_coordinates(tick.intersection(edge))
        at = shapely.Point(crossing[0]) if len(crossing) else shapely.Point(line.line[0 if ends[0] <= ends[1] else -1])
        on_edge = edge.interpolate(edge.project(at))
        found.append((float(on_edge.x), float(on_edge.y)))
    return tuple(found)


def _near_spots(shape: Polygon, spots: Sequence[Point], size: float) -> list[Point]:
    return [spot for spot in spots if shape.exterior.distance(shapely.Point(spot)) <= 0.02 * size]


def _span(line: Sequence[Point]) -> float:
    return math.dist(line[0], line[-1])


def _boxes_meet(line: Polyline, ring: Polyline) -> bool:
    (xs, ys), (rx, ry) = zip(*line, strict=True), zip(*ring, strict=True)
    margin = 0.02 * diagonal(ring)
    return bool(
        min(xs) <= max(rx) + margin and min(rx) <= max(xs) + margin and min(ys) <= max(ry) + margin and min(ry) <= max(ys) + margin
    )  # fmt: skip
