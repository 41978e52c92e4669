"""A lay as it was quoted: what the figures of an option say of one cloth, which several roles may share."""

import math

from quotes.lay.lay_plan import LayPlan
from quotes.seal.sealed import SealedCloth, SealedOption

__all__ = ["SAME_MM", "is_as_quoted_or_shorter", "is_shorter_than_quoted", "needs_of"]

SAME_MM = 0.01
"""Lengths that differ by less are the same."""


def needs_of(option: SealedOption, cloth: str) -> tuple[SealedCloth, ...]:
    """Return what the roles take that lie in the lay of a cloth, by the key that the takeoff looks plans up with."""
    return tuple(need for need in option.takeoff.cloths if cloth in (need.material, need.role))


def is_shorter_than_quoted(plan: LayPlan, option: SealedOption, cloth: str) -> bool:
    """Tell whether a plan is shorter than the lay that was drawn when the option was worked out; False where none was."""
    needs = needs_of(option, cloth)
    was_drawn = any(need.lay_above_share is not None for need in needs)
    return was_drawn and plan.length < _quoted_mm(needs) - SAME_MM


def is_as_quoted_or_shorter(plan: LayPlan, option: SealedOption, cloth: str) -> bool:
    """Tell whether a plan lays as many pieces on as wide a cloth as was quoted, and takes no more of it."""
    needs = needs_of(option, cloth)
    quoted = _quoted_mm(needs)
    if abs(plan.length - quoted) <= SAME_MM:
        return True
    # Of a folded lay half the width is laid, and each pair once.
    thicknesses = 2 if any(need.is_folded for need in needs) else 1
    pieces = sum(need.pieces for need in needs)
    has_all = thicknesses * len(plan.placements) >= pieces if thicknesses > 1 else len(plan.placements) == pieces
    is_same_cut = has_all and all(abs(need.usable_width_mm - thicknesses * plan.width) <= SAME_MM for need in needs)
    return is_same_cut and plan.length < quoted


def _quoted_mm(needs: tuple[SealedCloth, ...]) -> float:
    return math.fsum(need.lay_mm for need in needs)
