"""How the closed garment fits the body: what is proposed where nobody said, and what is hard to believe."""

from dataclasses import replace

from inventory.ground.findings import Finding, note, refuse, warn
from inventory.ground.wording import percent_text
from quotes.defaults import desk_defaults
from quotes.pattern.panels import Pattern

__all__ = [
    "FIT_CODES",
    "LARGE_REDUCTION_MM",
    "LARGE_REDUCTION_SHARE",
    "child_findings",
    "fit_findings",
    "nothing_taken_in",
    "proposal_note",
    "proposed_reduction_mm",
    "take_in_findings",
    "with_fit",
]

LARGE_REDUCTION_MM = desk_defaults().pattern.large_reduction_mm
LARGE_REDUCTION_SHARE = desk_defaults().pattern.large_reduction_share
"""More than either as worn wants a recorded reason."""
CHILD_WAIST_MM = desk_defaults().pattern.child_waist_mm

FIT_CODES = frozenset(
    f"pattern.{what}"
    for what in (
        "child-waist",
        "large-reduction",
        "large-take-in",
        "larger-than-body",
        "nothing-taken-in",
        "reduction-proposed",
    )
)
"""What findings say of how a garment fits, beside what they say of its panels and seams."""


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


def proposed_reduction_mm(body_waist_mm: float) -> float:
    """Return what is taken in at the waist where nobody says: 10 % of it. Source: published drafting tutorial.

    >>> round(proposed_reduction_mm(720.0), 9)
    72.0
    """
    return body_waist_mm * desk_defaults().takeoff.reduction_share


def proposal_note(reduction_mm: float, *, body_waist_mm: float) -> Finding:
    """Return the sentence that marks a reduction as proposed."""
    return note(
        "pattern.reduction-proposed",
        "waist",
        f"Nobody said how much is taken in at the waist: {reduction_mm:.0f} mm are proposed, "
        f"{percent_text(desk_defaults().takeoff.reduction_share)} of {body_waist_mm:.0f} mm.",
        "Ask the wearer, and say it with the measures.",
    )


def fit_findings(reduction_mm: float, *, body_waist_mm: float, where: str) -> tuple[Finding, ...]:
    """Return warnings where much is taken in at the waist, or the waist is a child's."""
    childs = child_findings(body_waist_mm, where=where)
    share = reduction_mm / body_waist_mm
    if reduction_mm <= LARGE_REDUCTION_MM and share <= LARGE_REDUCTION_SHARE:
        return childs
    return (
        warn(
            "pattern.large-reduction",
            where,
            f"{reduction_mm:.0f} mm ({percent_text(share)}) is taken in at the waist; more than "
            f"{LARGE_REDUCTION_MM:.0f} mm or {percent_text(LARGE_REDUCTION_SHARE)} is a large reduction.",
            "Write down the reason and the wearer's experience; their doctor has the last word.",
        ),
        *childs,
    )


def child_findings(body_waist_mm: float, *, where: str) -> tuple[Finding, ...]:
    """Return a warning where the waist is a child's."""
    if body_waist_mm >= CHILD_WAIST_MM:
        return ()
    return (
        warn(
            "pattern.child-waist",
            where,
            f"A waist of {body_waist_mm:.0f} mm is a child's, or measured in another unit; an adult's is hardly "
            f"below {CHILD_WAIST_MM:.0f} mm.",
            "Measure again. For a growing child take nothing in: costume only, a guardian present, "
            "and their doctor has the last word.",
        ),
    )


def nothing_taken_in(body_waist_mm: float) -> Finding:
    """Return the warning that a garment leaves the waist as it is."""
    return warn(
        "pattern.nothing-taken-in",
        "waist",
        f"Closed waist and lacing gap come to the body's {body_waist_mm:.0f} mm: nothing is taken in.",
        f"Check the measures; {proposed_reduction_mm(body_waist_mm):.0f} mm, "
        f"{percent_text(desk_defaults().takeoff.reduction_share)} of the waist, is what a draft starts from.",
    )


def take_in_findings(take_in_mm: float, *, height_mm: float, girth_mm: float) -> tuple[Finding, ...]:
    """Return a warning where a level is taken in, or left larger than the body, more than is believed.

    Args:
        take_in_mm: what is taken in there, below zero where the corset is larger than the body.
        height_mm: of the level above the waist; how much the waist itself is taken in, `fit_findings` judges.
    """
    assumed = desk_defaults().pattern
    where = "waist" if height_mm == 0 else f"{abs(height_mm):.0f} mm {'above' if height_mm > 0 else 'below'} the waist"
    if take_in_mm < -assumed.ease_mm:
        return (
            warn(
                "pattern.larger-than-body",
                where,
                f"The corset would be {-take_in_mm:.0f} mm larger than the body here; "
                f"up to {assumed.ease_mm:.0f} mm of ease is usual.",
                "Check the figure and its sign: what is taken in is above zero.",
            ),
        )
    is_near = abs(height_mm) <= assumed.waist_reach_mm
    most = LARGE_REDUCTION_MM if is_near else assumed.large_take_in_mm
    share = take_in_mm / girth_mm
    if height_mm == 0 or (take_in_mm <= most and share <= LARGE_REDUCTION_SHARE):
        return ()
    return (
        warn(
            "pattern.large-take-in",
            where,
            f"{take_in_mm:.0f} mm ({percent_text(share)}) is taken in here; more than {most:.0f} mm or "
            f"{percent_text(LARGE_REDUCTION_SHARE)} is hardly ever worn.",
            "Check the figure and its unit. Ribs and hips give less than the waist; the wearer's doctor has the last word.",
        ),
    )
