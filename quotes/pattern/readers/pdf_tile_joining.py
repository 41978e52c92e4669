"""Tiles to one drawing: each page's lines cut to its cell, moved to its place, joined to whole lines over the borders."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.readers.pdf_path import Box, Clip, clipped
from quotes.pattern.readers.pdf_tile_layout import (
    NEAR_BORDER_MM,
    OPPOSITE,
    REACH_MM,
    SIDES,
    Layout,
    Place,
    Side,
    neighbour_of,
)
from quotes.pattern.readers.pdf_tile_marks import Tile, same_look
from quotes.pattern.sheet import Stroke

__all__ = ["cell_seen", "joined_strokes", "moved_by"]

_CORNER_MM = 1.0
_SAME_MM = 0.05
_FAR_MM = 1e6

End = tuple[int, int]
"""A piece by its position, and 0 for its begin or 1 for its end."""


def cell_seen(layout: Layout, place: Place) -> Box:
    """Return the box of a page that counts: its cell, and all beyond it on sides without a neighbour."""
    taken = set(layout.places.values())
    left, bottom, right, top = (
        edge if neighbour_of(place, side) in taken else math.copysign(_FAR_MM, side_at - 1.5)
        for side_at, (side, edge) in enumerate(zip(SIDES, layout.cell, strict=True))
    )
    return left, bottom, right, top


def moved_by(layout: Layout, place: Place) -> Point:
    """Return by how much a page is moved from its own corner to where it lies in the whole."""
    left, bottom, right, top = layout.cell
    rows = max(row for _, row in layout.places.values())
    return place[0] * (right - left) - left, (rows - place[1]) * (top - bottom) - bottom


def joined_strokes(tiles: Sequence[Tile], alike: Sequence[frozenset[int]], layout: Layout) -> tuple[Stroke, ...]:
    """Return the whole drawing's strokes in mm; what two pages draw of the same line is there once."""
    pieces: list[Stroke] = []
    cut: dict[tuple[Place, Side], list[End]] = {}
    seen: set[tuple[object, ...]] = set()
    for at, place in layout.places.items():
        dx, dy = moved_by(layout, place)
        window = Clip(cell_seen(layout, place))
        for index, stroke in enumerate(tiles[at].strokes):
            if index in alike[at]:
                continue
            for line, is_closed in clipped(stroke.line, stroke.is_closed, window):
                there = tuple((x + dx, y + dy) for x, y in line)
                key = _key(there, is_closed, stroke)
                if key in seen:
                    continue
                seen.add(key)
                if not is_closed:
                    for which, end in enumerate((line[0], line[-1])):
                        for side in _sides_at(end, window.box):
                            cut.setdefault((place, side), []).append((len(pieces), which))
                pieces.append(replace(stroke, line=there, is_closed=is_closed))
    return _chained(pieces, _links(pieces, cut))


def _key(line: Polyline, is_closed: bool, stroke: Stroke) -> tuple[object, ...]:
    ends = sorted((round(x / _SAME_MM), round(y / _SAME_MM)) for x, y in (line[0], line[len(line) // 2], line[-1]))
    return (*ends, is_closed, *same_look(stroke))


def _sides_at(point: Point, box: Box) -> list[Side]:
    """The borders with a neighbour that a point lies on."""
    return [side for at, side in enumerate(SIDES) if abs(point[at % 2] - box[at]) <= NEAR_BORDER_MM]


def _links(pieces: Sequence[Stroke], cut: Mapping[tuple[Place, Side], Sequence[End]]) -> dict[End, End]:
    """Which cut ends are two halves of one: the nearest of the same look on both sides of a border, then round corners."""
    links: dict[End, End] = {}
    for (place, side), ends in cut.items():
        if side in ("right", "bottom"):
            _link(pieces, ends, cut.get((neighbour_of(place, side), OPPOSITE[side]), ()), REACH_MM, links)
    loose = list(dict.fromkeys(end for ends in cut.values() for end in ends if end not in links))
    _link(pieces, loose, loose, _CORNER_MM, links)
    return links


def _link(
    pieces: Sequence[Stroke], ones: Sequence[End], others: Sequence[End], reach: float, links: dict[End, End]
) -> None:
    pairs = sorted(
        (distance, one, other)
        for one in ones
        for other in others
        if one != other
        and (distance := math.dist(_end(pieces, one), _end(pieces, other))) <= reach
        and same_look(pieces[one[0]]) == same_look(pieces[other[0]])
    )
    for _, one, other in pairs:
        if one not in links and other not in links:
            links[one] = other
            links[other] = one


def _end(pieces: Sequence[Stroke], end: End) -> Point:
    return pieces[end[0]].line[-end[1]]


def _chained(pieces: Sequence[Stroke], links: Mapping[End, End]) -> tuple[Stroke, ...]:
    """Pieces walked from link to link; two halves meet in the middle of their ends."""
    done: set[int] = set()
    strokes: list[Stroke] = []
    # Open chains are walked from a loose end, so that what is left is closed.
    begins = [(at, which) for at in range(len(pieces)) for which in (0, 1) if (at, which) not in links]
    for begin in (*begins, *((at, 0) for at in range(len(pieces)))):
        if begin[0] not in done:
            strokes.append(_walked(pieces, links, begin, done))
    return tuple(strokes)


def _walked(pieces: Sequence[Stroke], links: Mapping[End, End], begin: End, done: set[int]) -> Stroke:
    first = pieces[begin[0]]
    points: list[Point] = []
    at: End | None = begin
    while at is not None and at[0] not in done:
        done.add(at[0])
        line = pieces[at[0]].line
        line = line[::-1] if at[1] else line
        points = [*points[:-1], _middle(points[-1], line[0]), *line[1:]] if points else list(line)
        at = links.get((at[0], 1 - at[1]))
    if first.is_closed or at is None:
        return replace(first, line=tuple(points))
    return replace(first, line=(_middle(points[0], points[-1]), *points[1:-1]), is_closed=True)


def _middle(one: Point, other: Point) -> Point:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
