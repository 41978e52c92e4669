"""Which lines branch off an outline that goes on past them? A waist line whose ends lie on the points between which the
front and the back edge were drawn in pieces; a tick at such a point.

Words: an end is *free* where no other line ends, and *branches off* where exactly two others do, go on into each other
much straighter than into it, and neither of them ends in nothing.
"""

import math
from collections.abc import Sequence

from quotes.pattern.geometry import Point, Polyline, length_mm, point_along
from quotes.pattern.line_ends import LineEnds

__all__ = ["branching_off"]

_GOES_ON_DEG = 45.0
"""Two lines that turn by less than this into each other may be one edge; common practice, no source: a hip spring of 30°
with a straight rise above the waist."""
_STRAIGHTER_DEG = 20.0
"""By this much less than into the line that branches off."""
_ALONG_SHARE = 1 / 3
"""A line's direction at its end is told over twice the reach, of a short one over this share."""
_MOST_ENDS = 5
"""So many at a place, both of the line's own among them, and it branches off nothing."""

End = tuple[int, bool]


def branching_off(lines: Sequence[Polyline], reach: float) -> set[int]:
    """Return the places of open lines that are no part of an outline: one end branches off, the other too or is free."""
    ends = LineEnds(lines, reach)
    others = {
        (index, is_last): [one for one in ends.around(line[-1 if is_last else 0], _MOST_ENDS) if one[0] != index]
        for index, line in enumerate(lines)
        for is_last in (False, True)
    }

    def branches(end: End) -> bool:
        if len(others[end]) != 2:
            return False
        one, other = others[end]
        if one[0] == other[0] or not all(others[index, not is_last] for index, is_last in (one, other)):
            return False
        goes_on = _turn_deg(lines, one, other, reach)
        aside = min(_turn_deg(lines, end, one, reach), _turn_deg(lines, end, other, reach))
        return goes_on <= _GOES_ON_DEG and aside >= goes_on + _STRAIGHTER_DEG

    found = set()
    for index in range(len(lines)):
        both = ((index, False), (index, True))
        told = [branches(end) for end in both]
        if any(told) and all(is_branch or not others[end] for is_branch, end in zip(told, both, strict=True)):
            found.add(index)
    return found


def _turn_deg(lines: Sequence[Polyline], one: End, other: End, reach: float) -> float:
    """By how much a pen turns that comes along one line to its end and goes on along the other; 0 for straight on."""
    (x0, y0), (x1, y1) = _inwards(lines, one, reach), _inwards(lines, other, reach)
    return abs(math.degrees(math.remainder(math.atan2(y1, x1) - math.atan2(-y0, -x0), math.tau)))


def _inwards(lines: Sequence[Polyline], end: End, reach: float) -> Point:
    index, is_last = end
    line = lines[index][::-1] if is_last else lines[index]
    (x0, y0), (x1, y1) = line[0], point_along(line, min(2 * reach, _ALONG_SHARE * length_mm(line)))
    return x1 - x0, y1 - y0
