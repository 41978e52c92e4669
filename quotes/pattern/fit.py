"""How the closed garment fits the body at the waist, and when much is taken in."""

from dataclasses import replace

from inventory.ground.findings import Finding, refuse, warn
from inventory.ground.wording import percent_text
from quotes.defaults import desk_defaults
from quotes.pattern.panels import Pattern

__all__ = ["LARGE_REDUCTION_MM", "LARGE_REDUCTION_SHARE", "reduction_findings", "with_fit"]

LARGE_REDUCTION_MM = desk_defaults().pattern.large_reduction_mm
LARGE_REDUCTION_SHARE = desk_defaults().pattern.large_reduction_share
"""More than either as worn wants a recorded reason."""


def with_fit(pattern: Pattern, *, body_waist_mm: float, gap_mm: float) -> Pattern:
    """Return the pattern with the fit that a body gives it: reduction = body waist − closed waist − gap.

    Raises:
        Refused: closed waist and gap are together more than the body's waist.
    """
    reduction = body_waist_mm - pattern.closed_waist_mm - gap_mm
    if reduction < 0:
        raise refuse(
            "pattern.larger-than-body",
            "waist",
            f"The closed waist of {pattern.closed_waist_mm:.0f} mm and a gap of {gap_mm:.0f} mm are more than the "
            f"body's {body_waist_mm:.0f} mm.",
            "Check the measure and its unit, or choose a smaller gap.",
        )
    return replace(pattern, reduction_mm=reduction, gap_mm=gap_mm)


def reduction_findings(reduction_mm: float, *, body_waist_mm: float, where: str) -> tuple[Finding, ...]:
    """Return a warning where much is taken in at the waist."""
    share = reduction_mm / body_waist_mm
    if reduction_mm <= LARGE_REDUCTION_MM and share <= LARGE_REDUCTION_SHARE:
        return ()
    return (
        warn(
            "pattern.large-reduction",
            where,
            f"{reduction_mm:.0f} mm ({percent_text(share)}) is taken in at the waist; more than "
            f"{LARGE_REDUCTION_MM:.0f} mm or {percent_text(LARGE_REDUCTION_SHARE)} is a large reduction.",
            "Write down the reason and the wearer's experience; their doctor has the last word.",
        ),
    )
