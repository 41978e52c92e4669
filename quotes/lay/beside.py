"""Long pieces side by side in as few rows as can hold them, so ordered, turned and shifted that they fit into one another.

Panels of a corset are long strips, and a lay of them is rows of strips: the engine, which begins from anywhere, takes most of
its time to get there. Here the order is what is searched for. Two neighbours lie so far apart as their profiles across the
cloth demand, cell by cell along it; what a row is broader than the cloth is made small by simulated annealing (Kirkpatrick,
Gelatt & Vecchi, "Optimization by simulated annealing", Science 220, 1983). A row that is still too broad is squeezed: whoever
asks moves its pieces apart along the cloth; or it is begun anew longer, its pieces staggered so that the waist of one takes the
hip of the next. The steps are counted, not timed, so that the same seed gives the same rows.
"""

import math
import random
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from quotes.lay.bounds import pieces_area
from quotes.lay.budget import ENDLESS, Watch
from quotes.lay.lay_plan import LayPiece, LayProblem, Placement
from quotes.lay.simpler import with_room
from quotes.pattern.geometry import Polyline, turned

__all__ = ["beside"]

STEPS = 10_000
"""More bring less than another beginning does."""
LOOK_STEPS = 1000
MOST_PIECES = 60
MOST_WAYS = 1500
"""Each way of a manner is held against each other one: so many take half a second and 60 MB."""
FULLEST_SHARE = 0.9
"""Of its area a row of strips is hardly ever filled more than this."""
LOOSEST = 1.32
"""Rows that take more than so many times the pieces' area are left to the engine, which finds shorter lays."""
SIMPLER_SHARE = 2e-4
"""Outlines are drawn simpler, outward by this share of the width at most: profiles are no more exact than their cells."""
SHORTEST_SHARE = 0.6
"""A piece that is shorter than this share of its row might leave its neighbours on either side to lie over each other."""
CELLS = 100
"""Cells along a row in which the profile of a piece is one value on either side."""
SQUEEZED_SHARE = 0.015
"""Rows this little broader than the cloth are squeezed together by moving their pieces along it; after broader ones longer rows are
begun, after others shorter ones again.
"""
HOTTEST, COLDEST = 10.0, 0.05
"""Temperatures, in thousandths of the width."""

Numbers = NDArray[np.float64]
Row = list[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Manner:
    """How pieces lie in a row: it is so many `times` as long as its longest piece, which lies at one of these places in it."""

    times: float
    places: tuple[float, ...]


MANNERS = (
    _Manner(times=1.0, places=(0.0, 0.5, 1.0)),
    _Manner(times=1.2, places=tuple(step / 8 for step in range(9))),
    _Manner(times=1.4, places=tuple(step / 8 for step in range(9))),
)
"""All beside each other, what is shorter at the beginning, in the middle or at the end; and staggered, since in longer rows more pieces
find room. Of rows 1.1, 1.2 and 1.4 times as long those of 1.2 gave the shortest lays of 12 to 28 panels, where these found room.
"""


@dataclass(frozen=True, slots=True)
class _Way:
    """One way in which a copy may lie in a row: its piece, its turn, how far along it is moved, and how far it then reaches."""

    copy: int
    piece: LayPiece
    turn: float
    along: float
    end: float


@dataclass(frozen=True, slots=True)
class _Ways:
    """All ways, by copy; how far one has to lie beyond another, beyond the lower edge, and before the upper one."""

    ways: list[_Way]
    of: list[list[int]]
    apart: list[list[float]]
    below: list[float]
    above: list[float]

    def breadth(self, row: Row) -> float:
        """How wide a row is."""
        if not row:
            return 0.0
        apart = self.apart
        return self.below[row[0]] + self.above[row[-1]] + sum([apart[one][other] for one, other in pairwise(row)])

    def length(self, row: Row) -> float:
        """How long a row is."""
        return max([self.ways[which].end for which in row], default=0.0)

    def size(self, row: Row) -> tuple[float, float]:
        """How wide a row is, and how long."""
        return self.breadth(row), self.length(row)


def beside(
    problem: LayProblem, seeds: Iterable[int], *, steps: int = STEPS, watch: Watch = ENDLESS
) -> Iterator[tuple[Placement, ...]]:
    """Yield long pieces of a plain problem in rows, a little over one another where the cloth is too narrow for them, by seed.

    Nothing where rows are not the way to lay them: pieces of unlike lengths, or too many for the rows that are worth it.

    Args:
        seeds: of the order that each begins with.
        steps: in which its order is searched for.
        watch: what was found when it is over is yielded.
    """
    copies = [piece for piece in problem.pieces for _ in range(piece.copies)]
    longest = max(min(_span(turned(piece.outline, turn)) for turn in piece.rotations) for piece in problem.pieces)
    filled = pieces_area(problem) / problem.width
    count = math.ceil(filled / (FULLEST_SHARE * longest))
    if len(copies) > MOST_PIECES or len(copies) <= count or count * longest > LOOSEST * filled:
        return
    around = {
        piece.outline: with_room(piece.outline, problem.spacing / 2, SIMPLER_SHARE * problem.width)
        for piece in problem.pieces
    }
    # Room around a piece that is pointed along the cloth reaches farther than half the spacing.
    length = max(
        min(_span(turned(around[piece.outline], turn)) for turn in piece.rotations) for piece in problem.pieces
    )
    width = problem.width + problem.spacing
    known: dict[int, _Ways | None] = {}
    manner = 0
    for seed in seeds:
        if manner not in known:
            known[manner] = _ways(copies, around, length, MANNERS[manner])
        ways = known[manner] or known[0]
        if ways is None:
            return
        rows = _annealed(ways, count, width, steps, random.Random(seed), watch)
        yield _placed(problem, ways, rows)
        is_too_broad = max(map(ways.breadth, rows)) > width * (1 + SQUEEZED_SHARE)
        manner = min(manner + 1, len(MANNERS) - 1) if is_too_broad else max(manner - 1, 0)


def _ways(
    copies: Sequence[LayPiece], around: Mapping[Polyline, Polyline], longest: float, manner: _Manner
) -> _Ways | None:
    """Each way that a copy fits a row, room `around` it and all; None where one has none, or where they are too many."""
    if sum(len(piece.rotations) for piece in copies) * len(manner.places) > MOST_WAYS:
        return None
    drawn: dict[tuple[Polyline, float], list[tuple[float, float, Numbers, Numbers]]] = {}
    ways: list[_Way] = []
    of: list[list[int]] = []
    lows, highs = [], []
    for copy, piece in enumerate(copies):
        of.append([])
        for turn in piece.rotations:
            key = (piece.outline, turn)
            if key not in drawn:
                drawn[key] = _profiles(turned(around[piece.outline], turn), manner.times * longest, manner.places)
            for along, end, low, high in drawn[key]:
                of[-1].append(len(ways))
                ways.append(_Way(copy, piece, turn, along, end))
                lows.append(low)
                highs.append(high)
    if not all(of):
        return None
    low, high = np.array(lows), np.array(highs)
    apart = [(one[None, :] - low).max(axis=1).tolist() for one in high]
    return _Ways(ways, of, apart, (-low.min(axis=1)).tolist(), high.max(axis=1).tolist())


def _profiles(outline: Polyline, length: float, places: Sequence[float]) -> list[tuple[float, float, Numbers, Numbers]]:
    """For each place of an outline in a row: how far it is moved, where it ends, its least and greatest y in each cell.

    Where it has nothing in a cell, the least is far above and the greatest far below, so that nothing keeps off it there.
    """
    left = min(x for x, _ in outline)
    span = _span(outline)
    free = length - span
    hair = length / CELLS
    if free < -hair or free > (1 - SHORTEST_SHARE) * length:
        return []
    begins = [free * place for place in (places if free > hair else places[:1])]
    return [(begin - left, begin + span, *_profile(outline, begin - left, length / CELLS)) for begin in begins]


def _profile(outline: Polyline, along: float, cell: float) -> tuple[Numbers, Numbers]:
    low, high = np.full(CELLS, 1e9), np.full(CELLS, -1e9)
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        (begin, at_begin), (end, at_end) = sorted(((x0 + along, y0), (x1 + along, y1)))
        first, last = (min(max(int(x // cell), 0), CELLS - 1) for x in (begin, end))
        for number in range(first, last + 1):
            for edge in (max(begin, number * cell), min(end, (number + 1) * cell)):
                y = at_begin + (at_end - at_begin) * (edge - begin) / (end - begin) if end > begin else at_end
                low[number], high[number] = min(low[number], y), max(high[number], y)
            if begin == end:
                low[number], high[number] = min(low[number], at_begin), max(high[number], at_begin)
    return low, high


def _annealed(ways: _Ways, count: int, width: float, steps: int, dice: random.Random, watch: Watch) -> list[Row]:
    """Rows of all copies that are together as little too broad, and as short, as was found."""
    order = list(range(len(ways.of)))
    dice.shuffle(order)
    rows = [[dice.choice(ways.of[copy]) for copy in order[number::count]] for number in range(count)]
    sizes = [ways.size(row) for row in rows]
    now = least = _cost(sizes, width)
    best = rows
    for step in range(steps):
        if step % LOOK_STEPS == 0 and watch.is_over():
            break
        heat = width / 1000 * (HOTTEST * (1 - step / steps) ** 2 + COLDEST)
        changed = _changed(ways, rows, dice)
        tried = [ways.size(changed[number]) if number in changed else sizes[number] for number in range(count)]
        cost = _cost(tried, width)
        if cost <= now or dice.random() < math.exp((now - cost) / heat):
            rows = [changed.get(number, row) for number, row in enumerate(rows)]
            sizes, now = tried, cost
            if cost < least:
                best, least = rows, cost
    return best


def _cost(sizes: Sequence[tuple[float, float]], width: float) -> float:
    """By how much rows are too broad, rather all a little than one by much, and how long; of those alike the narrower ones."""
    excess = sum(max(0.0, breadth - width) ** 2 for breadth, _ in sizes)
    return excess / (width / 100) + 1e-3 * sum(breadth for breadth, _ in sizes) + sum(length for _, length in sizes)


def _changed(ways: _Ways, rows: Sequence[Row], dice: random.Random) -> dict[int, Row]:
    """Rows with one piece lying another way, put elsewhere, or in another's place."""
    one, other = dice.randrange(len(rows)), dice.randrange(len(rows))
    if not rows[one]:
        return {}
    row = rows[one].copy()
    there = row if one == other else rows[other].copy()
    place, chance = dice.randrange(len(row)), dice.random()
    if chance < 1 / 3:
        row[place] = dice.choice(ways.of[ways.ways[row[place]].copy])
        return {one: row}
    if chance < 2 / 3:
        there.insert(dice.randrange(len(there) + 1), row.pop(place))
    elif there:
        swapped = dice.randrange(len(there))
        row[place], there[swapped] = there[swapped], row[place]
    return {one: row, other: there}


def _placed(problem: LayProblem, ways: _Ways, rows: Sequence[Row]) -> tuple[Placement, ...]:
    """The true pieces as rows have them, each row behind the one before; too broad ones squeezed."""
    copies: Counter[str] = Counter()
    placements = []
    room = problem.spacing / 2
    behind = 0.0
    for row in rows:
        if not row:
            continue
        edges = ways.below[row[0]] + ways.above[row[-1]]
        squeezed = min(1.0, (problem.width + problem.spacing - edges) / max(ways.breadth(row) - edges, 1e-9))
        across = ways.below[row[0]] - room
        for place, which in enumerate(row):
            if place:
                across += ways.apart[row[place - 1]][which] * squeezed
            way = ways.ways[which]
            along = behind + way.along - room
            copies[way.piece.label] += 1
            outline = tuple((x + along, y + across) for x, y in turned(way.piece.outline, way.turn))
            placements.append(
                Placement(label=way.piece.label, copy=copies[way.piece.label], rotation=way.turn % 360, outline=outline)
            )
        behind += ways.length(row)
    return tuple(placements)


def _span(outline: Polyline) -> float:
    xs = [x for x, _ in outline]
    return max(xs) - min(xs)
