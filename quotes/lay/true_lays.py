"""Plans of a plain problem that hold: pieces as somebody laid them, pushed together, and checked."""

from dataclasses import replace

from quotes.lay.bounds import least_length, pieces_area
from quotes.lay.budget import ENDLESS, Watch
from quotes.lay.check import lay_faults
from quotes.lay.compaction import compacted
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem, Placement

__all__ = ["is_at_bound", "plan_of", "pushed_together", "true_lay"]

AT_BOUND_SHARE = 1e-6
"""A lay this little longer than what no lay can beat is searched no further."""


def plan_of(problem: LayProblem, placements: tuple[Placement, ...], method: str) -> LayPlan:
    """Return the plan of pieces as they lie; its effort and time are not known yet, nor whether it is true."""
    length = max(x for placement in placements for x, _ in placement.outline)
    return LayPlan(
        width=problem.width,
        length=length,
        density_share=pieces_area(problem) / (length * problem.width),
        lower_bound=least_length(problem),
        placements=placements,
        effort=Effort.NONE,
        seconds=0.0,
        method=method,
    )


def true_lay(problem: LayProblem, plan: LayPlan, watch: Watch = ENDLESS) -> LayPlan | None:
    """Return a lay pushed together, or as it was where that is shorter or not true; None where that is not true either."""
    outlines = compacted(
        [placement.outline for placement in plan.placements],
        width=problem.width,
        spacing=problem.spacing,
        watch=watch,
    )
    moved = tuple(
        replace(placement, outline=outline) for placement, outline in zip(plan.placements, outlines, strict=True)
    )
    pushed = plan_of(problem, moved, plan.method)
    lays = sorted((pushed, plan), key=lambda either: either.length)
    return next((either for either in lays if not lay_faults(problem, either)), None)


def pushed_together(problem: LayProblem, placements: tuple[Placement, ...], watch: Watch = ENDLESS) -> LayPlan | None:
    """Return the lay that comes of pieces of a plain problem as they lie, pushed together; None where none is true."""
    return true_lay(problem, plan_of(problem, placements, "packed"), watch)


def is_at_bound(plan: LayPlan) -> bool:
    """Tell whether no lay can be shorter."""
    return plan.length <= plan.lower_bound * (1 + AT_BOUND_SHARE)
