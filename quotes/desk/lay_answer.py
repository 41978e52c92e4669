"""What the `lay` command answers: its promised keys, in their order."""

from dataclasses import dataclass, field
from typing import Any

from inventory.ground.findings import Finding, warn
from quotes.desk.lay_files import LayOrder
from quotes.lay.bounds import above_bound_share, least_cost
from quotes.lay.lay_plan import LayPlan
from quotes.lay.remnants import cost_of
from quotes.pattern.geometry import Polyline

__all__ = ["LayAnswer", "PlacedPiece", "lay_answer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPiece:
    """One copy as it lies; `cut_with` is the piece that the lower thickness of a folded lay gives, None for none."""

    piece: str | int
    copy: int
    rotation: float
    mirrored: bool
    cut_with: str | int | None
    cloth: str | int
    outline: Polyline


@dataclass(frozen=True, slots=True, kw_only=True)
class LayAnswer:
    """A lay as the command prints it; lengths in mm for patterns, in the file's unit else.

    `cost` is in lengths of the roll: `length`, and what is used up of remnants by their worth. No lay costs less than
    `least_cost`; `above_bound_share` is how much more this one does, as a share, None where nothing is known of that.
    """

    width: float
    length: float
    density_share: float
    lower_bound: float
    cost: float
    least_cost: float
    above_bound_share: float | None
    seconds: float
    effort: str
    cached: bool
    method: str
    placements: tuple[PlacedPiece, ...]
    findings: tuple[Finding, ...] = field(default=())


def lay_answer(order: LayOrder, plan: LayPlan, *, effort: str) -> LayAnswer:
    """Return the answer for an order and its plan; `effort` in words, as it was asked for."""

    def name(label: str) -> Any:
        return label if order.is_in_mm else int(label)

    return LayAnswer(
        width=order.width,
        length=plan.length,
        density_share=plan.density_share,
        lower_bound=plan.lower_bound,
        cost=cost_of(order.problem, plan),
        least_cost=least_cost(order.problem),
        above_bound_share=above_bound_share(order.problem, plan),
        seconds=round(plan.seconds, 3),
        effort=effort,
        cached=False,
        method=plan.method,
        placements=tuple(
            PlacedPiece(
                piece=name(row.label),
                copy=row.copy,
                rotation=row.rotation % 360,
                mirrored=row.label in order.marked and order.marked[row.label].is_mirrored,
                cut_with=name(partner) if (partner := order.partners.get((row.label, row.copy))) else None,
                cloth="roll" if row.remnant is None else row.remnant,
                outline=row.outline,
            )
            for row in plan.placements
        ),
        findings=(*order.findings, *_ended_early(plan)),
    )


def _ended_early(plan: LayPlan) -> tuple[Finding, ...]:
    if not plan.ended_early:
        return ()
    why = "gave no lay that is true, and the pieces lie in rows" if plan.has_failed else "ended early"
    return (warn("lay.search-failed", "lay", f"The search for a shorter lay {why}.", "Lay it again."),)
