"""Where are the four corners of a panel? Told by the maker or the file, or found by the sharpest turns.

Words: a *bend* is a place where the outline turns to the left (outward) by `LEAST_TURN_DEG` or more within a short
window: a sharp corner within `SHARP_WINDOW_MM`, a rounded one within `ROUND_WINDOW_MM`. Headings are taken from chords
over such a window, so that a curve flattened to many short legs does not hide a corner, nor a single leg make one. A
nipped-in waist turns to the right and is no bend. A rounded corner lies where half of its turn is done.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, combinations, pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from quotes.pattern.geometry import Point, Polyline

__all__ = ["Ambiguous", "long_pair", "nearest_vertices", "sharpest_corners", "sides_between"]

SHARP_WINDOW_MM = 2.0
ROUND_WINDOW_MM = 8.0
ROUND_WINDOW_SHARE = 0.03
"""The wide window is 8 mm or 3 % of the outline, whichever is less."""
LEAST_TURN_DEG = 22.0
"""Less is a bend in an edge."""
CLOSE_DEG = 12.0
"""Two choices whose turns add up to within this are not told apart by guessing."""
LONGER_SHARE = 1.1
"""The two long sides together are at least this much longer than the two short ones, or they are alike."""
MARK_REACH_MM = 3.0
"""A turn point that the file marks belongs to the bend within this of it."""
MOST_CANDIDATES = 9

Four = tuple[int, int, int, int]
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguous:
    """Why the corners could not be told: a sentence, and the candidates for whoever picks."""

    sentence: str
    candidates: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bend:
    """The vertex where it lies, its total left turn, and where along the outline it begins and ends."""

    position: int
    turn_deg: float


def sharpest_corners(ring: Polyline, *, among: Sequence[int] = ()) -> Four | Ambiguous:
    """Return the positions of the four corners in a counter-clockwise ring, in ring order.

    They are the four sharpest turns that leave two long sides facing each other and two short ones. `among` limits the
    choice to bends at some positions (turn points that the file marks) where that leaves enough of them.
    """
    outline = _Outline(ring)
    bends = outline.bends()
    if among:
        marked = [bend for bend in bends if outline.gap_mm(bend.position, among) <= MARK_REACH_MM]
        bends = marked if len(marked) >= 4 else bends
    bends = sorted(bends, key=lambda bend: (-bend.turn_deg, bend.position))[:MOST_CANDIDATES]
    points = tuple(ring[bend.position] for bend in bends)
    if len(bends) < 4:
        return Ambiguous(sentence=f"Only {len(bends)} sharp turns can be found.", candidates=points)
    turns = {bend.position: bend.turn_deg for bend in bends}
    fours = [_in_order(four) for four in combinations(turns, 4)]
    choices = [four for four in fours if _faces_are_told(outline.side_lengths_mm(four))]
    if not choices:
        # A short panel with slanting ends: one side may be shorter than an end, the pair of them is not.
        choices = [four for four in fours if long_pair(outline.side_lengths_mm(four)) is not None]
    if not choices:
        return Ambiguous(sentence="No four turns leave two long sides and two short ones.", candidates=points)
    choices.sort(key=lambda four: -sum(turns[position] for position in four))
    best, *others = choices
    if others and sum(turns[i] for i in best) - sum(turns[i] for i in others[0]) < CLOSE_DEG:
        return Ambiguous(sentence="Two choices of the four corners come close.", candidates=points)
    return best


def long_pair(lengths_mm: Sequence[float]) -> int | None:
    """Return 0 where the first and third of four sides are the long ones, 1 for the others, None where all are alike."""
    even, odd = lengths_mm[0] + lengths_mm[2], lengths_mm[1] + lengths_mm[3]
    if even >= LONGER_SHARE * odd:
        return 0
    return 1 if odd >= LONGER_SHARE * even else None


def nearest_vertices(ring: Polyline, points: Sequence[Point]) -> list[int]:
    """Return the position of the ring's vertex nearest to each of some points, in their order."""
    if not points:
        return []
    vertices = shapely.STRtree(shapely.points(np.asarray(ring, dtype=float)))
    return [int(position) for position in vertices.nearest(shapely.points(np.asarray(points, dtype=float)))]


def sides_between(ring: Polyline, corners: Sequence[int]) -> tuple[Polyline, Polyline, Polyline, Polyline]:
    """Return the four runs of the ring from each corner to the next, ends included."""
    a, b, c, d = corners
    return _run(ring, a, b), _run(ring, b, c), _run(ring, c, d), _run(ring, d, a)


def _run(ring: Polyline, start: int, end: int) -> Polyline:
    if start < end:
        return ring[start : end + 1]
    return (*ring[start:], *ring[: end + 1])


def _in_order(four: tuple[int, ...]) -> Four:
    a, b, c, d = sorted(four)
    return a, b, c, d


def _faces_are_told(lengths_mm: Sequence[float]) -> bool:
    """Each of the long sides is longer than each of the short ones."""
    pair = long_pair(lengths_mm)
    if pair is None:
        return False
    return min(lengths_mm[pair], lengths_mm[pair + 2]) > max(lengths_mm[1 - pair], lengths_mm[3 - pair])


class _Outline:
    """A ring with the way along it to each vertex."""

    def __init__(self, ring: Polyline) -> None:
        points = np.asarray(ring)
        self.x, self.y = points[:, 0], points[:, 1]
        ways = np.cumsum(np.hypot(*np.diff(points, axis=0, append=points[:1]).T))
        self.around = float(ways[-1])
        self.places = np.concatenate(([0.0], ways[:-1]))
        # Once more round on either side, so that windows may pass the first vertex.
        turns = (-self.around, 0.0, self.around)
        self._far = np.concatenate([self.places + turn for turn in turns])
        self._far_x, self._far_y = np.tile(self.x, 3), np.tile(self.y, 3)

    def side_lengths_mm(self, corners: Four) -> tuple[float, float, float, float]:
        a, b, c, d = (float(self.places[position]) for position in corners)
        return ((b - a) % self.around, (c - b) % self.around, (d - c) % self.around, (a - d) % self.around)

    def gap_mm(self, position: int, others: Sequence[int]) -> float:
        """The way along the outline from a vertex to the nearest of some others."""
        ways = np.abs(self.places[list(others)] - self.places[position])
        return float(np.minimum(ways, self.around - ways).min())

    def bends(self) -> list[_Bend]:
        sharp = min(SHARP_WINDOW_MM, ROUND_WINDOW_SHARE * self.around)
        wide = min(ROUND_WINDOW_MM, ROUND_WINDOW_SHARE * self.around)
        runs = self._runs(self._turns_deg(sharp) >= LEAST_TURN_DEG, sharp)
        rounded = self._turns_deg(wide) >= LEAST_TURN_DEG
        for first, last in runs:
            along = (self.places - self.places[first] + wide) % self.around
            reach = (self.places[last] - self.places[first]) % self.around + 2 * wide
            rounded &= along > reach
        runs = sorted(runs + self._runs(rounded, wide))
        bends = []
        for index, (first, last) in enumerate(runs):
            before, after = runs[index - 1][1], runs[(index + 1) % len(runs)][0]
            turn = self._turn_over_deg(first, last, wide, before=before, after=after)
            if turn >= LEAST_TURN_DEG:
                bends.append(_Bend(position=self._middle(first, last), turn_deg=turn))
        return bends

    def _at(self, places: _Floats) -> tuple[_Floats, _Floats]:
        return np.interp(places, self._far, self._far_x), np.interp(places, self._far, self._far_y)

    def _turns_deg(self, window: float) -> _Floats:
        """The left turn at each vertex between the chords before and after it; right turns are negative."""
        before_x, before_y = self._at(self.places - window)
        after_x, after_y = self._at(self.places + window)
        arriving = np.arctan2(self.y - before_y, self.x - before_x)
        leaving = np.arctan2(after_y - self.y, after_x - self.x)
        turns: _Floats = np.degrees((leaving - arriving + np.pi) % (2 * np.pi) - np.pi)
        return turns

    def _runs(self, hits: NDArray[np.bool_], widest_gap: float) -> list[tuple[int, int]]:
        """Neighbouring hits as runs (first and last position), wrapping round the ring."""
        positions = np.flatnonzero(hits)
        if not len(positions):
            return []
        gaps = np.diff(self.places[positions], append=self.places[positions[:1]]) % self.around
        next_to = np.diff(positions, append=positions[:1]) % len(self.places) == 1
        ends = np.flatnonzero(~(next_to & (gaps <= widest_gap)))
        if not len(ends):
            return []
        firsts = positions[(np.concatenate((ends[-1:], ends[:-1])) + 1) % len(positions)]
        return [(int(first), int(last)) for first, last in zip(firsts, positions[ends], strict=True)]

    def _turn_over_deg(self, first: int, last: int, window: float, *, before: int, after: int) -> float:
        """The left turn from the chord before a run to the chord after it; chords stop short of neighbouring runs."""
        start, end = float(self.places[first]), float(self.places[last])
        into = min(window, 0.9 * ((start - float(self.places[before])) % self.around or window))
        out = min(window, 0.9 * ((float(self.places[after]) - end) % self.around or window))
        xs, ys = self._at(np.array([start - into, start, end, end + out]))
        arriving = math.atan2(ys[1] - ys[0], xs[1] - xs[0])
        leaving = math.atan2(ys[3] - ys[2], xs[3] - xs[2])
        return math.degrees(math.remainder(leaving - arriving, math.tau))

    def _middle(self, first: int, last: int) -> int:
        """The vertex of a run at which half of its turn is done; the corner itself where the corner is sharp."""
        if first == last:
            return first
        count = len(self.places)
        around = [(first + step) % count for step in range(-1, (last - first) % count + 2)]
        xs, ys = self.x[around].tolist(), self.y[around].tolist()
        headings = [math.atan2(y1 - y0, x1 - x0) for (x0, x1), (y0, y1) in zip(pairwise(xs), pairwise(ys), strict=True)]
        turned = list(accumulate(math.remainder(after - before, math.tau) for before, after in pairwise(headings)))
        # Float dust must not decide between two vertices that lie alike.
        way = math.copysign(1.0, turned[-1])
        half = abs(turned[-1]) / 2 - 1e-9
        return around[1 + next(step for step, done in enumerate(turned) if way * done >= half)]
