"""From the lines of one piece to a drawn panel: what the DXF and SVG readers do alike."""

import math
import re
from collections.abc import Sequence

import shapely
from shapely import LineString, Polygon

from inventory.ground.findings import refuse
from quotes.pattern.geometry import Point, Polyline

__all__ = ["checked_points", "inside", "number_in", "waist_among"]

FARTHEST_MM = 100_000.0
ON_OUTLINE_MM = 3.0
"""A waist line's ends lie this close to the stitching line."""
WITHIN_CUT_MM = 30.0
"""Where only the cut line is drawn, a waist line may end at the stitching line, an allowance inside it."""
_PANEL_NUMBER = re.compile(r"panel[\s_.:-]*(\d{1,3})(?!\d)", re.IGNORECASE)
_LENGTH = re.compile(r"\d+(?:[.,/]\d+)?\s*(?:(?:mm|cm|in|inch|inches)\b|[\"″”])", re.IGNORECASE)
_ANY_NUMBER = re.compile(r"(\d{1,3})(?!\d)")


def number_in(text: str) -> int | None:
    """Return the panel number that a name holds: after the word panel, else its last number that is no length.

    >>> number_in("UNDERBUST-2"), number_in("a 3 panel 4 left"), number_in("back"), number_in("5 cm")
    (2, 4, None, None)
    """
    after_word = _PANEL_NUMBER.search(text)
    if after_word:
        return int(after_word[1])
    numbers = _ANY_NUMBER.findall(_LENGTH.sub(" ", text))
    return int(numbers[-1]) if numbers else None


def checked_points(line: Polyline, where: str) -> Polyline:
    """Return the line. Raises Refused for a coordinate that is not finite or lies absurdly far off."""
    for x, y in line:
        if not (math.isfinite(x) and math.isfinite(y)):
            raise refuse("pattern.not-finite", where, "A coordinate is not a finite number.", "Draw the line again.")
        if max(abs(x), abs(y)) > FARTHEST_MM:
            raise refuse(
                "pattern.size",
                where,
                f"A point lies {max(abs(x), abs(y)) / 1000:.4g} m from the origin; 100 m is believed.",
                "Check the units of the file, or say them with --units.",
            )
    return line


def waist_among(
    lines: Sequence[tuple[Polyline, str]], outline: Polyline, *, is_cut_line: bool = False
) -> Polyline | None:
    """Return the waist among internal lines: the one whose text says so, else the shortest that crosses the panel.

    `lines` come with the text that belongs to them; `is_cut_line` says that `outline` is the only one there is.
    """
    told = [line for line, text in lines if "waist" in text.lower()]
    if told:
        return told[0]
    edge = LineString((*outline, outline[0]))
    xs, ys = zip(*outline, strict=True)
    reach = WITHIN_CUT_MM if is_cut_line else ON_OUTLINE_MM
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    crossing = [
        line
        for line, _ in lines
        if all(edge.distance(shapely.Point(end)) <= reach for end in (line[0], line[-1]))
        and math.dist(line[0], line[-1]) < longest * 0.9
    ]
    return min(crossing, key=lambda line: math.dist(line[0], line[-1])) if crossing else None


def inside(ring: Polyline, point: Point) -> bool:
    """Tell whether a point lies inside a ring."""
    return bool(Polygon(ring).contains(shapely.Point(point)))
