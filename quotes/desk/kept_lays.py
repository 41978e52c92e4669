"""Lays that were drawn once are kept, by the key of their problem, so that the same cut is not searched again."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from inventory.ground.codec import Codec, Document
from quotes.commission.commission import Commission
from quotes.commission.quote import option_lays
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.laying import lay_all
from quotes.lay.nest import problem_key, relabelled
from quotes.models import DrawnLay

__all__ = ["AT_ONCE", "LAY_EFFORT", "PROVEN_SHARE", "LayProgress", "draw_next", "kept_lays"]

Key = TypeVar("Key", bound=Hashable)
LAY_EFFORT = Effort.NORMAL
"""How long the site searches for a lay."""
AT_ONCE = 2
PROVEN_SHARE = 1e-4
"""A lay this little above what is possible is searched no longer."""


def _to_2(document: Document) -> Document:
    """Version 1 did not say whether the engine failed where pieces lie in rows, so these are drawn again."""
    return {**document, "method": "failed" if document["method"] == "rows" else document["method"]}


DRAWN = Codec(kind=LayPlan, version=2, upgrades={1: _to_2})
"""A lay as it is kept."""


def kept_lays(problems: Mapping[Key, LayProblem]) -> dict[Key, LayPlan]:
    """Return the plans of those problems that were drawn before, and well."""
    keys = {name: problem_key(problem, LAY_EFFORT) for name, problem in problems.items()}
    rows = DrawnLay.objects.filter(key__in=set(keys.values())).values_list("key", "plan")
    plans = {key: plan for key, document in rows if not (plan := DRAWN.read(document)).has_failed}
    return {name: _named(plans[key], problems[name]) for name, key in keys.items() if key in plans}


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
    """How many of a quote's lays are drawn.

    `failed` has the keys of those whose search broke down this time; of these `undrawn` have no lay at all.
    """

    done: int
    total: int
    failed: frozenset[str] = frozenset()
    undrawn: int = 0

    @property
    def is_over(self) -> bool:
        """Whether none is left to try."""
        return self.done + len(self.failed) >= self.total


def draw_next(
    commission: Commission,
    *,
    effort: Effort = LAY_EFFORT,
    at_once: int = AT_ONCE,
    failed: frozenset[str] = frozenset(),
) -> LayProgress:
    """Draw the next lays of a commission that are lacking, and tell how far it is. Each takes some seconds.

    Lacking are those that were never drawn, whose search ended early, and with a greater effort than is usual those that
    were not searched for so long and may still be shorter. A lay that is kept gives way to a shorter one only; one that the
    engine could not draw is not kept, so that it is drawn again when it is asked for again.

    Args:
        effort: how long to search.
        failed: keys of lays that were tried in vain just now, and are left out.
    """
    problems = {problem_key(problem, LAY_EFFORT): problem for problem in option_lays(commission).values()}
    kept = kept_lays(problems)
    lacking = {key for key in problems if key not in kept or _may_be_shorter(kept[key], effort)}
    still_failed = set(failed & lacking)
    missing = {key: problems[key] for key in [key for key in problems if key in lacking - failed][:at_once]}
    drawn = lay_all(missing, effort)
    for key, plan in drawn.items():
        if plan.ended_early:
            still_failed.add(key)
        if not plan.has_failed:
            best = min((plan, kept.get(key, plan)), key=lambda each: each.length)
            document = DRAWN.written(_numbered(replace(best, effort=effort, method=plan.method), missing[key]))
            DrawnLay.objects.update_or_create(key=key, defaults={"plan": document})
    done = len(problems) - len(lacking) + len(drawn.keys() - still_failed)
    there = kept.keys() | {key for key, plan in drawn.items() if not plan.has_failed}
    undrawn = len(still_failed - there)
    return LayProgress(done=done, total=len(problems), failed=frozenset(still_failed), undrawn=undrawn)


def _may_be_shorter(plan: LayPlan, effort: Effort) -> bool:
    """Whether a search of that effort may find a shorter lay than one that is kept."""
    was_short = effort is Effort.THOROUGH is not plan.effort
    return plan.ended_early or (was_short and plan.above_bound_share > PROVEN_SHARE)
