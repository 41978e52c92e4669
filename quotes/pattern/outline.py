"""Is a drawn line fit to be a panel's outline? And the bounds that a panel must keep."""

import math
from collections.abc import Sequence

from shapely import Polygon
from shapely.validation import explain_validity

from inventory.findings import Finding, stop
from quotes.pattern.geometry import Polyline, signed_area_mm2

__all__ = ["LARGEST_MM", "SMALLEST_MM", "clean_ring", "outline_faults", "unit_faults"]

SMALLEST_MM, LARGEST_MM = 4.0, 3000.0
"""A panel is believed between 4 mm and 3 m in each direction."""
LOOKS_SMALL_MM = 80.0
"""No panel of a garment is less tall; such a file was drawn in inches or centimetres."""
_SAME_POINT_MM = 1e-6


def clean_ring(ring: Sequence[tuple[float, float]]) -> Polyline:
    """Return the ring counter-clockwise, without doubled points and without its first point repeated."""
    points: list[tuple[float, float]] = []
    for point in ring:
        if not points or math.dist(points[-1], point) > _SAME_POINT_MM:
            points.append((float(point[0]), float(point[1])))
    while len(points) > 1 and math.dist(points[0], points[-1]) <= _SAME_POINT_MM:
        points.pop()
    if len(points) >= 3 and signed_area_mm2(points) < 0:
        points.reverse()
    return tuple(points)


def outline_faults(ring: Polyline, where: str) -> list[Finding]:
    """Return why a ring cannot be a panel's outline; empty where it can."""
    if any(not math.isfinite(value) for point in ring for value in point):
        return [stop("pattern.not-finite", where, "A coordinate is not a finite number.", "Draw the line again.")]
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
    shape = Polygon(ring)
    if not shape.is_valid:
        reason = explain_validity(shape)
        place = reason[reason.find("[") :] if "[" in reason else ""
        return [
            stop(
                "pattern.outline-crosses-itself",
                where,
                f"The outline crosses or touches itself{f' near {place} mm' if place else ''}.",
                "Draw one simple closed line.",
            )
        ]
    return []


def unit_faults(heights_mm: Sequence[float], widths_mm: Sequence[float]) -> list[Finding]:
    """Name a file whose panels are all too small to be millimetres."""
    if not heights_mm or max(*heights_mm, *widths_mm) >= LOOKS_SMALL_MM:
        return []
    width, height = widths_mm[0], heights_mm[0]
    likely = "inches" if height <= 20 else "centimetres" if height > 32 else "inches or centimetres"
    units = {"inches": "in", "centimetres": "cm"}.get(likely, "in or --units cm")
    return [
        stop(
            "pattern.looks-like-other-units",
            "panel 1",
            f"The panel is {width:.4g} mm wide and {height:.4g} mm tall: that looks like {likely}.",
            f"Say --units {units}.",
        )
    ]
