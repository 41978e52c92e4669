"""How tiled pages lie to each other: every likely layout is tried, and lines that run over the borders judge it."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise, product
from typing import Literal

import numpy as np

from quotes.pattern.readers.pdf_path import Box
from quotes.pattern.readers.pdf_tile_labels import Naming
from quotes.pattern.readers.pdf_tile_marks import Tile, same_look

__all__ = [
    "Crossing",
    "Join",
    "Layout",
    "Meeting",
    "best_layout",
    "crossings_of",
    "joins_of",
    "neighbour_of",
]

Side = Literal["left", "bottom", "right", "top"]
Place = tuple[int, int]
"""Column from the left and row from the top, from 0."""
SIDES: tuple[Side, ...] = ("left", "bottom", "right", "top")
NEIGHBOURS: Mapping[Side, Place] = {"left": (-1, 0), "bottom": (0, 1), "right": (1, 0), "top": (0, -1)}
OPPOSITE: Mapping[Side, Side] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}

REACH_MM = 8.0
"""Lines farther apart at a border are not one line."""
_ON_BORDER_MM = 0.03
_TOUCH_MM = 1.0
NEAR_BORDER_MM = 0.35
"""An end this close to a border may have been cut there."""
_MOST_LEFT_OUT = 4
_MOST_NAMED = 27
_HELD_BACK = 0.002
_PREFERRED_BY = 0.02
"""A better marked cell is kept unless another fits better by this share."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a line meets a border of its page's cell: how far along it, its direction, and what it looks like.

    `across` and `beside` are the line's direction, square to the border and along it, as a vector of length 1. An end
    that lies near the border and not on it may be the line's own: `is_cut` is False.
    """

    along: float
    across: float
    beside: float
    is_cut: bool
    look: tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Join:
    """Two neighbouring pages, by their positions in the file; `side` is the first one's.

    `apart_mm` says for each line that runs over the border how far it is from its other half, square to it; `slip_mm` by
    how much the pages would have to be moved against each other for all of them to meet; `loose` counts lines that end
    at the border without another half.
    """

    first: int
    second: int
    side: Side
    apart_mm: tuple[float, ...]
    slip_mm: float
    loose: int


@dataclass(frozen=True, slots=True)
class Layout:
    """Places of pages by their positions in the file; `share` is how much of what meets borders goes on beyond them."""

    cell: Box
    places: Mapping[int, Place]
    share: float
    naming: Naming | None = None


Points = np.ndarray[tuple[int, int], np.dtype[np.float64]]
Distances = np.ndarray[tuple[int], np.dtype[np.float64]]
Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
Meeting = Sequence[Mapping[Side, tuple[Crossing, ...]]]
"""What meets the borders of each page, by the pages' positions in the file."""


def crossings_of(tile: Tile, alike: frozenset[int], cell: Box) -> dict[Side, tuple[Crossing, ...]]:
    """Return where a page's own lines meet the borders of a cell, in order along each."""
    found: dict[Side, list[Crossing]] = {side: [] for side in SIDES}
    own = [
        (stroke, np.array((*stroke.line, stroke.line[0]) if stroke.is_closed else stroke.line))
        for index, stroke in enumerate(tile.strokes)
        if index not in alike
    ]
    for stroke, line in own:
        look = same_look(stroke)
        for side_at, side in enumerate(SIDES):
            axis, edge = side_at % 2, cell[side_at]
            off = line[:, axis] - edge
            if off.min() > NEAR_BORDER_MM or off.max() < -NEAR_BORDER_MM:
                continue
            low, high = cell[1 - axis], cell[3 - axis]
            met = _met(line, off, axis, is_closed=stroke.is_closed)
            if met and not stroke.is_closed:
                rims = [_along_rim(ring, axis, edge) for other, ring in own if other.is_closed]
                met = [where for where in met if not any(rim and rim[0] <= where[0] <= rim[1] for rim in rims)]
            found[side] += [Crossing(*where, look) for where in met if low - 1 <= where[0] <= high + 1]
    return {side: tuple(sorted(crossings, key=lambda crossing: crossing.along)) for side, crossings in found.items()}


def _along_rim(line: Points, axis: int, edge: float) -> tuple[float, float] | None:
    """From where to where an outline runs along a border without crossing it: what ends there ends at it, uncut."""
    off = line[:, axis] - edge
    at_edge = line[np.abs(off) <= _ON_BORDER_MM, 1 - axis]
    crosses = off.min() < -_ON_BORDER_MM and off.max() > _ON_BORDER_MM
    if crosses or len(at_edge) < 2 or float(np.ptp(at_edge)) <= _TOUCH_MM:
        return None
    return float(at_edge.min()), float(at_edge.max())


def _met(line: Points, off: Distances, axis: int, *, is_closed: bool) -> list[tuple[float, float, float, bool]]:
    """Where a line crosses a border, or ends at it, and its direction there, across and beside; `off` is how far each of its points is from the border."""
    away = np.nonzero(np.abs(off) > _ON_BORDER_MM)[0]
    met: list[tuple[float, Vector, bool]] = []
    # A corner that touches the border, or a stretch along it, is no crossing.
    for one, other in pairwise(map(int, away)):
        if off[one] * off[other] < 0:
            begin, end = (one, other) if other == one + 1 else (one, one + 1)
            share = off[begin] / (off[begin] - off[end])
            met.append(
                (
                    float(line[begin, 1 - axis] + share * (line[end, 1 - axis] - line[begin, 1 - axis])),
                    line[end] - line[begin],
                    True,
                )
            )
    if not is_closed and len(away):
        near = NEAR_BORDER_MM if np.abs(off).max() > NEAR_BORDER_MM else _ON_BORDER_MM
        for end, inner in ((0, int(away[0])), (len(line) - 1, int(away[-1]))):
            if abs(off[end]) <= near:
                before_it = inner if inner != end else abs(end - 1)
                met.append((float(line[end, 1 - axis]), line[end] - line[before_it], bool(inner != end)))
    met.sort(key=lambda meeting: (meeting[0], not meeting[2]))
    found = []
    for at, (here, step, is_cut) in enumerate(met):
        if at == 0 or here - met[at - 1][0] > NEAR_BORDER_MM:
            square, beside = float(step[axis]), float(step[1 - axis])
            length = math.copysign(math.hypot(square, beside) or 1.0, square)
            found.append((here, square / length, beside / length, is_cut))
    return found


def best_layout(
    tiles: Sequence[Tile], alike: Sequence[frozenset[int]], cells: Sequence[Box], namings: Sequence[Naming]
) -> Layout | None:
    """Return the layout in which most of what meets borders goes on beyond them; None where nothing meets one."""
    best: Layout | None = None
    for cell in cells:
        meeting = [crossings_of(tile, found, cell) for tile, found in zip(tiles, alike, strict=True)]
        if not any(crossings for sides in meeting for crossings in sides.values()):
            continue
        unmarked = next((at for at, found in enumerate(alike) if found), 0)
        for naming, places in _arrangements(len(tiles), meeting, namings, unmarked):
            share = _share_going_on(places, meeting)
            if best is None or share > best.share + (_PREFERRED_BY if cell != best.cell else 1e-9):
                best = Layout(cell, places, share, naming)
    return best


def _arrangements(
    count: int, meeting: Meeting, namings: Sequence[Naming], unmarked: int
) -> Iterator[tuple[Naming | None, dict[int, Place]]]:
    """Yield places for pages: as they say, else in rows or columns of each length.

    First pages that meet no border may be left out: rather those `unmarked` ones that lack what others repeat.
    """
    for naming in namings:
        if naming.kind == "count":
            counts = sorted((first, at) for at, (first, _) in naming.places.items())
            idle = next((place for place, (_, at) in enumerate(counts) if any(meeting[at].values())), 0)
            bare = next((place for place, (_, at) in enumerate(counts) if at >= unmarked), 0)
            for left_out in sorted(range(min(_MOST_LEFT_OUT, idle) + 1), key=lambda left_out: left_out != bare):
                counted = {at: first for first, at in counts[left_out:]}
                for start in {1, counts[left_out][0]} if not left_out else {counts[left_out][0]}:
                    yield from ((naming, places) for places in _in_order(counted, start))
            continue
        yield from ((naming, {at: place(said) for at, said in naming.places.items()}) for place in _readings(naming))
    if namings:
        return
    first_meeting = next(at for at, sides in enumerate(meeting) if any(sides.values()))
    for left_out in sorted(range(min(_MOST_LEFT_OUT, first_meeting) + 1), key=lambda left_out: left_out != unmarked):
        counted = {at: at - left_out + 1 for at in range(left_out, count)}
        yield from ((None, places) for places in _in_order(counted, 1))


def _readings(naming: Naming) -> Iterator[Callable[[tuple[int, int]], Place]]:
    """Yield what a row and a column, or a letter and a number, may mean: rows from the top or from the bottom, letters for either."""
    firsts, seconds = zip(*naming.places.values(), strict=True)
    for rows_first in (True, False) if naming.kind == "letter and number" else (True,):
        last = max(firsts if rows_first else seconds)
        for is_down in (True, False):
            yield partial(_placed, rows_first=rows_first, last=last, is_down=is_down)


def _placed(said: tuple[int, int], *, rows_first: bool, last: int, is_down: bool) -> Place:
    row, column = said if rows_first else said[::-1]
    return column - 1, (row - 1 if is_down else last - row)


def name_at(layout: Layout, place: Place) -> str:
    """Return what the page at a place would be called by itself; empty where pages say no places."""
    naming = layout.naming
    if naming is None:
        return ""
    if naming.kind == "count":
        last = naming.total or max(first for first, _ in naming.places.values())
        known = {at: first for at, (first, _) in naming.places.items() if at in layout.places}
        for start in {1, min(known.values())}:
            for places in _in_order(known, start):
                if places == layout.places:
                    every = {count: count for count in range(1, last + 1)}
                    found = next(
                        (way for way in _in_order(every, start) if all(way[known[at]] == places[at] for at in places)),
                        {},
                    )
                    return next((str(count) for count, there in found.items() if there == place), "")
        return ""
    for reading in _readings(naming):
        if all(reading(said) == layout.places[at] for at, said in naming.places.items()):
            for first, second in product(range(1, _MOST_NAMED), repeat=2):
                if reading((first, second)) == place:
                    return naming.said((first, second))
    return ""


def _in_order(counted: Mapping[int, int], start: int) -> Iterator[dict[int, Place]]:
    """Pages by their count in rows from the top, in columns from the left, and in rows from the bottom."""
    last = max(counted.values()) - start + 1
    for length in range(1, last + 1):
        steps = {at: divmod(count - start, length) for at, count in counted.items()}
        rows = math.ceil(last / length)
        yield {at: (within, line) for at, (line, within) in steps.items()}
        yield {at: (line, within) for at, (line, within) in steps.items()}
        yield {at: (within, rows - 1 - line) for at, (line, within) in steps.items()}


def _share_going_on(places: Mapping[int, Place], meeting: Meeting) -> float:
    """How much of all that meets borders finds its other half, less for halves that lie apart."""
    total = sum(crossing.is_cut for at in places for crossings in meeting[at].values() for crossing in crossings)
    if not total:
        return 0.0
    near = sum(1 - apart / REACH_MM for join in joins_of(places, meeting) for apart in join.apart_mm)
    return 2 * near / total


def joins_of(places: Mapping[int, Place], meeting: Meeting) -> list[Join]:
    """Return the joins of all neighbours, with how their lines meet."""
    by_place = {place: at for at, place in places.items()}
    joins = []
    for at, place in places.items():
        for side in ("right", "bottom"):
            other = by_place.get(neighbour_of(place, side))
            if other is not None:
                ones, others = meeting[at][side], meeting[other][OPPOSITE[side]]
                pairs = _paired(ones, others)
                loose = _loose(ones, others, pairs) + _loose(others, ones, pairs)
                normals = np.array([_normal(*pair) for pair in pairs]).reshape(-1, 2)
                steps = np.array([pair[1].along - pair[0].along for pair in pairs])
                apart = np.abs(steps * normals[:, 1])
                joins.append(
                    Join(at, other, side, tuple(map(float, apart)), _slip(normals, steps * normals[:, 1]), loose)
                )
    return joins


def neighbour_of(place: Place, side: Side) -> Place:
    """Return the place beyond a side."""
    return place[0] + NEIGHBOURS[side][0], place[1] + NEIGHBOURS[side][1]


def _paired(ones: Sequence[Crossing], others: Sequence[Crossing]) -> list[tuple[Crossing, Crossing]]:
    """Halves of lines, the nearest along the border paired first."""
    pairs = sorted(
        (abs(one.along - other.along), i, j)
        for i, one in enumerate(ones)
        for j, other in enumerate(others)
        if one.look == other.look and abs(one.along - other.along) < REACH_MM
    )
    taken: tuple[set[int], set[int]] = (set(), set())
    found = []
    for _, i, j in pairs:
        if i not in taken[0] and j not in taken[1]:
            taken[0].add(i)
            taken[1].add(j)
            found.append((ones[i], others[j]))
    return found


def _loose(halves: Sequence[Crossing], beyond: Sequence[Crossing], pairs: Sequence[tuple[Crossing, Crossing]]) -> int:
    """How many halves are without another; a corner that just touches the border may meet it twice on one page alone."""
    paired = {id(half) for pair in pairs for half in pair}
    return sum(
        half.is_cut
        and id(half) not in paired
        and not any(other.look == half.look and abs(other.along - half.along) < _TOUCH_MM for other in beyond)
        for half in halves
    )


def _normal(one: Crossing, other: Crossing) -> tuple[float, float]:
    """Square to the half that runs more along the border, which says least of where along it they meet."""
    flatter = min(one, other, key=lambda crossing: crossing.across)
    return -flatter.beside, flatter.across


def _slip(normals: Points, apart: Distances) -> float:
    """The shortest move that brings halves together, by least squares; a little held back where lines hardly tell it."""
    if not len(apart):
        return 0.0
    held = normals.T @ normals + _HELD_BACK * np.eye(2)
    return float(np.hypot(*np.linalg.solve(held, normals.T @ apart)))
