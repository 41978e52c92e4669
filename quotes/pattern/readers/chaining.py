"""Joining lines end to end until they close: outlines are often drawn in several pieces."""

import math
from collections.abc import Sequence

from quotes.pattern.geometry import Polyline

__all__ = ["JOIN_MM", "chained"]

JOIN_MM = 0.5
"""Ends this close to each other meet."""


def chained(lines: Sequence[Polyline]) -> tuple[tuple[Polyline, ...], tuple[Polyline, ...]]:
    """Return the rings that the lines make (first point not repeated), and the lines that stay open."""
    rings: list[Polyline] = []
    waiting = [line for line in lines if len(line) > 1]
    still_open: list[Polyline] = []
    while waiting:
        chain = list(waiting.pop(0))
        while not _closes(chain):
            found = _next(chain, waiting)
            if found is None:
                break
            index, turned = found
            following = waiting.pop(index)
            chain += (tuple(reversed(following)) if turned else following)[1:]
        if _closes(chain):
            rings.append(tuple(chain[:-1]))
        else:
            still_open.append(tuple(chain))
    return tuple(rings), tuple(still_open)


def _closes(chain: Sequence[tuple[float, float]]) -> bool:
    return len(chain) > 3 and math.dist(chain[0], chain[-1]) <= JOIN_MM


def _next(chain: Sequence[tuple[float, float]], waiting: Sequence[Polyline]) -> tuple[int, bool] | None:
    """The waiting line nearest to the chain's end, and whether it has to be turned."""
    best: tuple[float, int, bool] | None = None
    for index, line in enumerate(waiting):
        for turned, end in ((False, line[0]), (True, line[-1])):
            gap = math.dist(chain[-1], end)
            if gap <= JOIN_MM and (best is None or gap < best[0]):
                best = (gap, index, turned)
    return None if best is None else best[1:]
