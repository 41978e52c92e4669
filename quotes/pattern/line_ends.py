"""Which of many lines begins or ends nearest to a point, and where do two that meet there go on into each other?

Ends are found by squares of the plane, not by asking every line.
"""

import math
from collections import defaultdict
from collections.abc import Sequence

from quotes.pattern.geometry import Point, Polyline

__all__ = ["LineEnds", "closed_without_overshoot", "without_overshoot"]

_OVERSHOOT_REACHES = 2.0
"""Lines drawn past each other cross within so many reaches of their ends, along each: at 30° and more between them."""


class LineEnds:
    """The ends of lines that are not taken yet; ends farther than `reach` from a point are not found."""

    def __init__(self, lines: Sequence[Polyline], reach: float) -> None:
        self._lines, self._reach = lines, reach
        self._cell = max(reach, 1e-9)
        self._left = set(range(len(lines)))
        self._at: dict[tuple[int, int], list[tuple[int, bool]]] = defaultdict(list)
        for index, line in enumerate(lines):
            for is_turned, point in ((False, line[0]), (True, line[-1])):
                self._at[self._square(point)].append((index, is_turned))

    def take(self, index: int) -> bool:
        """Take a line; False where it was taken before."""
        if index not in self._left:
            return False
        self._left.remove(index)
        return True

    def around(self, point: Point, most: int) -> list[tuple[int, bool]]:
        """Return ends that lie within reach, of lines taken too, up to `most`: which line, and whether its last point."""
        column, row = self._square(point)
        found: list[tuple[int, bool]] = []
        for square in ((column + x, row + y) for x in (0, -1, 1) for y in (0, -1, 1)):
            for index, is_last in self._at.get(square, ()):
                if math.dist(point, self._lines[index][-1 if is_last else 0]) <= self._reach:
                    found.append((index, is_last))
                    if len(found) == most:
                        return found
        return found

    def nearest(self, end: Point) -> tuple[float, int, bool] | None:
        """Return the line that begins or ends nearest: how far off, which (the first of several), and whether to turn it."""
        column, row = self._square(end)
        best: tuple[float, int, bool] | None = None
        for square in ((column + x, row + y) for x in (-1, 0, 1) for y in (-1, 0, 1)):
            for index, is_turned in self._at.get(square, ()):
                if index in self._left:
                    line = self._lines[index]
                    found = (math.dist(end, line[-1] if is_turned else line[0]), index, is_turned)
                    best = found if found[0] <= self._reach and (best is None or found < best) else best
        return best

    def _square(self, point: Point) -> tuple[int, int]:
        return math.floor(point[0] / self._cell), math.floor(point[1] / self._cell)


def without_overshoot(line: Sequence[Point], onward: Sequence[Point], reach: float) -> tuple[list[Point], list[Point]]:
    """Return two lines of which the second goes on where the first ends, each cut off where they cross near those ends.

    Lines that do not cross there are returned as they are, and so are ends that are one point.
    """
    if line[-1] == onward[0]:
        return list(line), list(onward)
    near = _OVERSHOOT_REACHES * reach
    tail, head = _within(line[::-1], near), _within(onward, near)
    for back in range(tail):
        for ahead in range(head):
            at = _crossing(line[-1 - back], line[-2 - back], onward[ahead], onward[ahead + 1])
            if at is not None and max(math.dist(at, line[-1]), math.dist(at, onward[0])) <= near:
                return [*line[: len(line) - 1 - back], at], [at, *onward[ahead + 1 :]]
    return list(line), list(onward)


def closed_without_overshoot(line: Sequence[Point], reach: float) -> list[Point]:
    """Return a line whose ends meet, cut off likewise where they cross near each other; as it is where too little would be left."""
    half = len(line) // 2
    ending, beginning = without_overshoot(line[half:], line[:half], reach)
    cut = [*beginning, *ending]
    return cut if len(set(cut)) > 2 else list(line)


def _within(line: Sequence[Point], along: float) -> int:
    """How many of a line's parts begin less than this far along it."""
    parts, passed = 0, 0.0
    while parts < len(line) - 1 and passed < along:
        passed += math.dist(line[parts], line[parts + 1])
        parts += 1
    return parts


def _crossing(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Where the straight lines from a to b and from c to d cross; None where they do not, or run alike."""
    (rx, ry), (sx, sy) = (b[0] - a[0], b[1] - a[1]), (d[0] - c[0], d[1] - c[1])
    across = rx * sy - ry * sx
    if across == 0:
        return None
    qx, qy = c[0] - a[0], c[1] - a[1]
    along, other = (qx * sy - qy * sx) / across, (qx * ry - qy * rx) / across
    return (a[0] + along * rx, a[1] + along * ry) if 0 <= along <= 1 and 0 <= other <= 1 else None
