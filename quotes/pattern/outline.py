"""Is a drawn line fit to be a panel's outline? And the bounds that a panel must keep."""

import itertools
import math
import re
from collections.abc import Sequence

import numpy as np
from shapely.validation import explain_validity

from inventory.ground.findings import Finding, stop, warn
from inventory.ground.units import MAX_LENGTH_MM
from quotes.pattern.geometry import Point, Polyline, as_polygon, signed_area_mm2

__all__ = [
    "LARGEST_MM",
    "SAME_POINT_MM",
    "SMALLEST_MM",
    "clean_ring",
    "coordinate_faults",
    "cut_line_faults",
    "outline_faults",
    "unit_faults",
]

SMALLEST_MM, LARGEST_MM = 4.0, 3000.0
"""A panel is believed between 4 mm and 3 m in each direction."""
LOOKS_SMALL_MM, LOOKS_LARGE_MM = 80.0, 1200.0
"""No panel of a garment is less or more tall; a file with only such panels was drawn in another unit."""
TALLEST_INCHES = 32.0
"""A panel of more inches would reach from shoulder to knee; one of fewer centimetres is a cincher."""
SAME_POINT_MM = 1e-6
"""Points this close are one."""
_PLACE = re.compile(r"\[(\S+) (\S+)\]")


def clean_ring(ring: Sequence[Point]) -> Polyline:
    """Return the ring counter-clockwise, without doubled points and without its first point repeated."""
    if len(ring) < 2:
        return tuple(ring)
    points = np.asarray(ring, dtype=float)
    apart = np.hypot(*np.diff(points, axis=0, prepend=points[-1:]).T) > SAME_POINT_MM
    kept = tuple(ring) if apart.all() else tuple(itertools.compress(ring, apart))
    return kept if len(kept) < 3 or signed_area_mm2(kept) > 0 else kept[::-1]


def coordinate_faults(line: Sequence[Point], where: str) -> list[Finding]:
    """Return a stop where a coordinate is no finite number, or lies farther off than is believed."""
    farthest = float(np.abs(np.asarray(line, dtype=float)).max()) if len(line) else 0.0
    if not math.isfinite(farthest):
        return [stop("pattern.not-finite", where, "A coordinate is not a finite number.", "Draw the line again.")]
    if farthest > MAX_LENGTH_MM:
        return [
            stop(
                "pattern.size",
                where,
                f"A point lies {farthest / 1000:.4g} m from the origin; {MAX_LENGTH_MM / 1000:g} m is believed.",
                "Check the units of the file, or say them with --units.",
            )
        ]
    return []


def outline_faults(ring: Polyline, where: str) -> list[Finding]:
    """Return why a ring of believable coordinates cannot be a panel's outline; empty where it can."""
    if len(ring) < 3:
        return [
            stop(
                "pattern.too-few-corners",
                where,
                f"The outline has {len(ring)} corners; a panel has at least 3.",
                "Close the line round the panel.",
            )
        ]
    xs, ys = zip(*ring, strict=True)
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    if width > LARGEST_MM or height > LARGEST_MM or width < SMALLEST_MM or height < SMALLEST_MM:
        return [
            stop(
                "pattern.size",
                where,
                f"The panel is {width:.4g} mm wide and {height:.4g} mm tall; "
                f"{SMALLEST_MM:g} mm to {LARGEST_MM / 1000:g} m is believed.",
                "Check the units of the file, or say them with --units.",
            )
        ]
    shape = as_polygon(ring)
    if not shape.is_valid:
        place = _PLACE.search(explain_validity(shape))
        near = f" near ({float(place[1]):.1f}, {float(place[2]):.1f}) mm" if place else ""
        return [
            stop(
                "pattern.outline-crosses-itself",
                where,
                f"The outline crosses or touches itself{near}.",
                "Draw one simple closed line.",
            )
        ]
    return []


def cut_line_faults(cut: Polyline, stitching: Polyline, where: str) -> list[Finding]:
    """Return what is wrong with a cut line drawn beside a stitching line; the stitching line is what counts."""
    faults = coordinate_faults(cut, where)
    if faults:
        return faults
    if abs(signed_area_mm2(cut)) < abs(signed_area_mm2(stitching)):
        return [
            warn(
                "pattern.cut-line-inside",
                where,
                "The cut line encloses less than the stitching line.",
                "Check that the two lines are not exchanged.",
            )
        ]
    return []


def unit_faults(boxes_mm: Sequence[tuple[float, float]], *, units_told: bool) -> list[Finding]:
    """Name a file whose panels are all too small or too tall to be millimetres.

    `boxes_mm` are widths and heights as drawn. Where the maker says the unit (`units_told`) it is only a warning.
    """
    if not boxes_mm:
        return []
    width, height = boxes_mm[0]
    longest = [max(box) for box in boxes_mm]
    if max(longest) < LOOKS_SMALL_MM:
        tall = max(boxes_mm[0])
        likely, hint = "inches or centimetres", "--units in or --units cm"
        if tall <= TALLEST_INCHES / 2:
            likely, hint = "inches", "--units in"
        elif tall > TALLEST_INCHES:
            likely, hint = "centimetres", "--units cm"
    elif min(longest) > LOOKS_LARGE_MM:
        likely, hint = "millimetres taken for a larger unit", "--units mm"
    else:
        return []
    name = warn if units_told else stop
    return [
        name(
            "pattern.looks-like-other-units",
            "file",
            f"The first panel would be {width:.4g} mm wide and {height:.4g} mm tall, and the others are alike: "
            f"that looks like {likely}.",
            f"Say {hint}, or --units mm if the size is meant." if hint != "--units mm" else f"Say {hint}.",
        )
    ]
