"""Which of many lines begins or ends nearest to a point? Found by squares of the plane, not by asking every line."""

import math
from collections import defaultdict
from collections.abc import Sequence

from quotes.pattern.geometry import Point, Polyline

__all__ = ["LineEnds"]


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
