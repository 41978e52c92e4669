"""Do the seams fit each other, and are the panels of a shape that can be sewn?"""

import math
from collections.abc import Sequence
from itertools import pairwise

from inventory.ground.findings import Finding, stop, warn
from quotes.defaults import desk_defaults
from quotes.pattern.geometry import Polyline
from quotes.pattern.panels import EdgeName, Panel, Pattern, Seam

__all__ = [
    "NARROW_WAIST_MM",
    "SEAM_DOES_NOT_TRUE",
    "SEAM_STOP_MM",
    "SEAM_TOLERANCE_MM",
    "TRUING_CODES",
    "WIDE_WAIST_MM",
    "is_off",
    "length_below_mm",
    "seams",
    "truing_findings",
]

SEAM_TOLERANCE_MM = desk_defaults().pattern.seam_tolerance_mm
"""A pair of edges may differ by this much, the waist notches of a seam lie this far apart."""
SEAM_STOP_MM = desk_defaults().pattern.seam_stop_mm
"""Beyond this a difference is an error unless it is marked as ease."""
NARROW_WAIST_MM = desk_defaults().pattern.narrow_waist_mm
WIDE_WAIST_MM = desk_defaults().pattern.wide_waist_mm
"""A panel narrower or wider than this at the waist asks for another number of panels."""

SEAM_DOES_NOT_TRUE = "pattern.seam-does-not-true"
_WAIST_DOES_NOT_MEET = "pattern.waist-does-not-meet"
_PANEL_WAIST_WIDTH = "pattern.panel-waist-width"
TRUING_CODES = frozenset({SEAM_DOES_NOT_TRUE, _WAIST_DOES_NOT_MEET, _PANEL_WAIST_WIDTH})
"""Codes of the findings here, which a moved waist or edge makes anew."""

_DUST_MM = 1e-6
"""Floating-point dust that decides no boundary."""


def seams(panels: Sequence[Panel]) -> tuple[Seam, ...]:
    """Return the seams of one half, in order: seam i joins panel i's back edge to panel i + 1's front edge."""
    return tuple(
        Seam(
            number=panel.number,
            length_mm=panel.edge_mm(EdgeName.BACK),
            other_length_mm=following.edge_mm(EdgeName.FRONT),
            waist_offset_mm=length_below_mm(panel.back, panel.waist_mm)
            - length_below_mm(following.front, following.waist_mm),
        )
        for panel, following in pairwise(panels)
    )


def is_off(seam: Seam) -> bool:
    """Whether a seam's edges or its waist notches lie further apart than is allowed, meant as ease or not."""
    return max(abs(seam.difference_mm), abs(seam.waist_offset_mm)) > SEAM_TOLERANCE_MM


def truing_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """Return what does not fit: seams beyond tolerance, waist notches that miss each other, odd panel widths."""
    findings: list[Finding] = []
    sides = [("", pattern.panels)]
    if pattern.right_panels is not None:
        sides = [("left ", pattern.panels), ("right ", pattern.right_panels)]
    for side, panels in sides:
        for seam in seams(panels):
            findings += _seam_findings(seam, side, is_ease=seam.number in pattern.ease)
        findings += _width_findings(panels, side)
    return tuple(findings)


def length_below_mm(edge: Polyline, waist_mm: float) -> float:
    """Return the length of an edge from its bottom up to where it first reaches a level."""
    below = 0.0
    for start, end in pairwise(edge):
        leg = math.dist(start, end)
        if start[1] <= waist_mm <= end[1] and end[1] > start[1]:
            return below + leg * (waist_mm - start[1]) / (end[1] - start[1])
        below += leg
    return 0.0 if edge[0][1] > waist_mm else below


def _seam_findings(seam: Seam, side: str, *, is_ease: bool) -> list[Finding]:
    where = f"{side}seam {seam.number}"
    off = abs(seam.difference_mm)
    pair = (
        f"panel {seam.number} back {seam.length_mm:.2f} mm, panel {seam.number + 1} front {seam.other_length_mm:.2f} mm"
    )
    findings = []
    if off > SEAM_STOP_MM + _DUST_MM and not is_ease:
        findings.append(
            stop(
                SEAM_DOES_NOT_TRUE,
                where,
                f"The edges differ by {off:.2f} mm ({pair}); more than {SEAM_STOP_MM:g} mm cannot be sewn flat.",
                f"Mend one edge, or mark seam {seam.number} as ease if the difference is meant.",
            )
        )
    elif off > SEAM_TOLERANCE_MM + _DUST_MM and not is_ease:
        findings.append(
            warn(
                SEAM_DOES_NOT_TRUE,
                where,
                f"The edges differ by {off:.2f} mm ({pair}); {SEAM_TOLERANCE_MM:g} mm is allowed.",
                "Walk the seam and mend one edge before cutting.",
            )
        )
    if abs(seam.waist_offset_mm) > SEAM_TOLERANCE_MM + _DUST_MM and not is_ease:
        findings.append(
            warn(
                _WAIST_DOES_NOT_MEET,
                where,
                f"Sewn from the bottom up, the waists miss each other by {abs(seam.waist_offset_mm):.2f} mm.",
                "Check the waist notches on both panels.",
            )
        )
    return findings


def _width_findings(panels: Sequence[Panel], side: str) -> list[Finding]:
    findings = []
    for panel in panels:
        width = panel.waist_width_mm
        if not NARROW_WAIST_MM <= width <= WIDE_WAIST_MM:
            findings.append(
                warn(
                    _PANEL_WAIST_WIDTH,
                    f"{side}panel {panel.number}",
                    f"The panel is {width:.0f} mm wide at the waist; "
                    f"{NARROW_WAIST_MM:.0f} to {WIDE_WAIST_MM:.0f} mm is usual.",
                    "Take more panels." if width > WIDE_WAIST_MM else "Take fewer panels.",
                )
            )
    return findings
