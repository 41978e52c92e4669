"""Lays that were drawn once are kept, by the key of their problem, so that the same cut is not searched again."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from inventory.ground.codec import Codec
from quotes.commission.commission import Commission
from quotes.commission.quote import option_lays
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.nest import lay_all, problem_key, relabelled
from quotes.models import DrawnLay

__all__ = ["LAY_EFFORT", "LayProgress", "draw_next", "kept_lays"]

Key = TypeVar("Key", bound=Hashable)
LAY_EFFORT = Effort.NORMAL
"""How long the site searches for a lay."""
AT_ONCE = 2
DRAWN = Codec(kind=LayPlan, version=1)
"""A lay as it is kept."""


def kept_lays(problems: Mapping[Key, LayProblem]) -> dict[Key, LayPlan]:
    """Return the plans of those problems that were drawn before."""
    keys = {name: problem_key(problem, LAY_EFFORT) for name, problem in problems.items()}
    plans = dict(DrawnLay.objects.filter(key__in=set(keys.values())).values_list("key", "plan"))
    return {name: _named(DRAWN.read(plans[key]), problems[name]) for name, key in keys.items() if key in plans}


def _numbered(plan: LayPlan, problem: LayProblem) -> LayPlan:
    """The plan with pieces called by their place in the problem: like cuts differ in labels only."""
    return relabelled(plan, problem, _with_numbers(problem))


def _named(plan: LayPlan, problem: LayProblem) -> LayPlan:
    return relabelled(plan, _with_numbers(problem), problem)


def _with_numbers(problem: LayProblem) -> LayProblem:
    pieces = tuple(replace(piece, label=str(index)) for index, piece in enumerate(problem.pieces))
    return replace(problem, pieces=pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayProgress:
    """How many of a quote's lays are drawn."""

    done: int
    total: int

    @property
    def is_done(self) -> bool:
        """Whether none is missing."""
        return self.done >= self.total


def draw_next(commission: Commission, *, at_once: int = AT_ONCE) -> LayProgress:
    """Draw the next lays that a commission lacks, and tell how far it is. Each takes some seconds."""
    problems = {problem_key(problem, LAY_EFFORT): problem for problem in option_lays(commission).values()}
    kept = kept_lays(problems)
    missing = {key: problems[key] for key in [key for key in problems if key not in kept][:at_once]}
    for key, plan in lay_all(missing, LAY_EFFORT).items():
        DrawnLay.objects.get_or_create(key=key, defaults={"plan": DRAWN.written(_numbered(plan, missing[key]))})
    return LayProgress(done=len(kept) + len(missing), total=len(problems))
