"""Where are the four corners of a panel? Told by the maker or the file, or found by the sharpest turns.

A *turn* is the change of heading at a point, measured between chords of `WINDOW_MM` (or less on small pieces), so that
a curve flattened to many short legs does not hide a corner, nor a single leg make one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from shapely import LinearRing

from quotes.pattern.geometry import Point, Polyline, length_mm

__all__ = ["Ambiguous", "nearest_vertex", "sharpest_corners", "sides_between"]

WINDOW_MM = 8.0
WINDOW_SHARE = 0.03
"""The chord is 8 mm or 3 % of the outline, whichever is less."""
LEAST_TURN_DEG = 22.0
"""Less is a bend in an edge: real waists bend by up to some 20°."""
CLOSE_DEG = 12.0
"""Two choices whose turns add up to within this are not told apart by guessing."""
MOST_CANDIDATES = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguous:
    """Why the corners could not be told: a sentence, and the candidates for whoever picks."""

    sentence: str
    candidates: tuple[Point, ...]


def sharpest_corners(ring: Polyline, *, among: Sequence[int] | None = None) -> tuple[int, int, int, int] | Ambiguous:
    """Return the positions of the four corners in a counter-clockwise ring, in ring order.

    They are the four sharpest turns that leave two long sides facing each other and two short ones. `among` limits the
    choice to some positions (turn points that the file marks).
    """
    turns = _turns_deg(ring)
    candidates = _peaks(ring, turns) if among is None else list(among)
    candidates = [index for index in candidates if among is not None or turns[index] >= LEAST_TURN_DEG]
    candidates.sort(key=lambda index: -turns[index])
    candidates = candidates[:MOST_CANDIDATES]
    points = tuple(ring[index] for index in candidates)
    if len(candidates) < 4:
        return Ambiguous(sentence=f"Only {len(candidates)} sharp turns can be found.", candidates=points)
    choices: list[tuple[float, tuple[int, int, int, int]]] = []
    for four in combinations(candidates, 4):
        a, b, c, d = sorted(four)
        if _two_long_two_short(ring, (a, b, c, d)):
            choices.append((sum(turns[index] for index in four), (a, b, c, d)))
    if not choices:
        return Ambiguous(sentence="No four turns leave two long sides and two short ones.", candidates=points)
    choices.sort(key=lambda choice: -choice[0])
    best, *others = choices
    if others and best[0] - others[0][0] < CLOSE_DEG:
        return Ambiguous(sentence="Two choices of the four corners come close.", candidates=points)
    return best[1]


def nearest_vertex(ring: Polyline, point: Point) -> int:
    """Return the position of the ring's point nearest to `point`."""
    return min(range(len(ring)), key=lambda index: math.dist(ring[index], point))


def sides_between(ring: Polyline, corners: Sequence[int]) -> tuple[Polyline, Polyline, Polyline, Polyline]:
    """Return the four runs of the ring from each corner to the next, ends included."""
    a, b, c, d = corners
    return _run(ring, a, b), _run(ring, b, c), _run(ring, c, d), _run(ring, d, a)


def _run(ring: Polyline, start: int, end: int) -> Polyline:
    if start < end:
        return ring[start : end + 1]
    return (*ring[start:], *ring[: end + 1])


def _two_long_two_short(ring: Polyline, corners: tuple[int, int, int, int]) -> bool:
    first, second, third, fourth = (length_mm(side) for side in sides_between(ring, corners))
    return min(first, third) > max(second, fourth) or min(second, fourth) > max(first, third)


def _turns_deg(ring: Polyline) -> list[float]:
    """The left turn at each point of the ring, degrees; right turns are negative."""
    outline = LinearRing(ring)
    around = float(outline.length)
    window = min(WINDOW_MM, WINDOW_SHARE * around)
    along = 0.0
    turns = []
    for index, here in enumerate(ring):
        before = outline.interpolate((along - window) % around)
        after = outline.interpolate((along + window) % around)
        arriving = math.atan2(here[1] - before.y, here[0] - before.x)
        leaving = math.atan2(after.y - here[1], after.x - here[0])
        turns.append(math.degrees(math.remainder(leaving - arriving, math.tau)))
        along += math.dist(here, ring[(index + 1) % len(ring)])
    return turns


def _peaks(ring: Polyline, turns: Sequence[float]) -> list[int]:
    """Positions whose turn is the sharpest within two windows to either side."""
    outline = LinearRing(ring)
    around = float(outline.length)
    reach = 2 * min(WINDOW_MM, WINDOW_SHARE * around)
    places, along = [], 0.0
    for index, here in enumerate(ring):
        places.append(along)
        along += math.dist(here, ring[(index + 1) % len(ring)])
    kept: list[int] = []
    for index in sorted(range(len(ring)), key=lambda position: -turns[position]):
        if turns[index] < LEAST_TURN_DEG:
            break
        gaps = (abs(math.remainder(places[index] - places[other], around)) for other in kept)
        if all(gap > reach for gap in gaps):
            kept.append(index)
    return kept
