"""Joining lines end to end until they close: outlines are often drawn in several pieces."""

import math
from collections.abc import Sequence

from quotes.pattern.branching import branching_off
from quotes.pattern.geometry import Polyline
from quotes.pattern.line_ends import LineEnds, closed_without_overshoot, without_overshoot

__all__ = ["JOIN_MM", "chained"]

JOIN_MM = 0.5
"""Ends this close to each other meet."""


def chained(lines: Sequence[Polyline]) -> tuple[tuple[Polyline, ...], tuple[Polyline, ...]]:
    """Return the rings that the lines make (first point not repeated), and the lines that stay open."""
    rings: list[Polyline] = []
    waiting = [line for line in lines if len(line) > 1]
    aside = branching_off(waiting, JOIN_MM)
    still_open = [waiting[at] for at in sorted(aside)]
    waiting = [line for at, line in enumerate(waiting) if at not in aside]
    ends = LineEnds(waiting, JOIN_MM)
    # What closes by itself is no part of what begins beside it.
    alone = {at for at, line in enumerate(waiting) if _closes(line) and ends.take(at)}
    for first, line in enumerate(waiting):
        if first not in alone and not ends.take(first):
            continue
        chain = list(line)
        while not _closes(chain):
            found = ends.nearest(chain[-1])
            if found is None:
                break
            _, index, is_turned = found
            ends.take(index)
            chain, onward = without_overshoot(chain, waiting[index][:: -1 if is_turned else 1], JOIN_MM)
            chain += onward[1:]
        if _closes(chain):
            rings.append(tuple(closed_without_overshoot(chain, JOIN_MM)[:-1]))
        else:
            still_open.append(tuple(chain))
    return tuple(rings), tuple(still_open)


def _closes(chain: Sequence[tuple[float, float]]) -> bool:
    return len(chain) > 3 and math.dist(chain[0], chain[-1]) <= JOIN_MM
