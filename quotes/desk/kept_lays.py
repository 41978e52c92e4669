"""Lays that were drawn once are kept, by the key of their problem, so that the same cut is not searched again."""

from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from django.db import transaction

from inventory.ground.codec import Codec, Document
from quotes.commission.commission import Commission
from quotes.commission.quote import option_lays
from quotes.lay.bounds import above_bound_share
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.laying import lay_all, matched_beside, unmatched
from quotes.lay.nest import problem_key, relabelled
from quotes.lay.remnants import cost_of
from quotes.models import DrawnLay

__all__ = [
    "AT_ONCE",
    "LAY_EFFORT",
    "PROVEN_SHARE",
    "LayProgress",
    "better",
    "draw_next",
    "keep",
    "kept_by_key",
    "kept_lays",
    "lay_key",
    "lays_of",
    "may_be_shorter",
    "with_numbers",
]

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
    """Return the plans of those problems that were drawn before, and well.

    Where pieces are to be had matched and not, the plain lay is never the longer one: a matched lay is a plain one too.
    """
    keys = {name: lay_key(problem) for name, problem in problems.items()}
    plans = kept_by_key(set(keys.values()))
    for name, problem in problems.items():
        if problem.repeat and keys[name] in plans and (plain := lay_key(unmatched(problem))) in plans:
            plans[plain] = matched_beside(problem, plans[keys[name]], plans[plain]).plain
    return {
        name: relabelled(plans[key], with_numbers(problems[name]), problems[name])
        for name, key in keys.items()
        if key in plans
    }


def kept_by_key(keys: Collection[str]) -> dict[str, LayPlan]:
    """Return the plans that were drawn before, and well, by the keys of their problems; pieces are called by their numbers.

    A plain lay is never longer than what was drawn of the same pieces matched, for whichever quote: it takes that layout.
    """
    rows = DrawnLay.objects.filter(key__in=[*keys, *map(_matched_key, keys)]).values_list("key", "plan")
    plans = {key: plan for key, document in rows if not (plan := DRAWN.read(document)).has_failed}
    return {
        key: replace(matched, effort=plan.effort, seconds=plan.seconds, method=plan.method)
        if (matched := plans.get(_matched_key(key))) and matched.length < plan.length
        else plan
        for key, plan in plans.items()
        if key in keys
    }


def keep(key: str, plan: LayPlan, problem: LayProblem) -> None:
    """Keep a plan whose pieces are called by their numbers; one that is kept gives way to one that takes less only.

    A plan of which the engine failed is not kept. A matched one is kept for its pieces were they plain as well, beside their own.
    """
    if plan.has_failed:
        return
    _keep(key, plan, problem)
    if problem.repeat and not problem.remnants:
        plain = unmatched(problem)
        _keep(_matched_key(lay_key(plain)), plan, plain)


def _keep(key: str, plan: LayPlan, problem: LayProblem) -> None:
    with transaction.atomic():
        kept, is_new = DrawnLay.objects.select_for_update().get_or_create(
            key=key, defaults={"plan": DRAWN.written(plan)}
        )
        if not is_new:
            kept.plan = DRAWN.written(better(DRAWN.read(kept.plan), plan, problem))
            kept.save(update_fields=["plan"])


def better(kept: LayPlan, plan: LayPlan, problem: LayProblem) -> LayPlan:
    """Return that of two plans of a problem which takes less, with the greatest effort that either was searched with to the end."""
    if kept.has_failed:
        return plan
    best = min((plan, kept), key=lambda each: cost_of(problem, each))
    ended = [each.effort for each in (kept, plan) if not each.ended_early]
    if not ended:
        return best
    effort = max(ended, key=list(Effort).index)
    return replace(best, effort=effort, method="packed" if best.ended_early else best.method)


def lay_key(problem: LayProblem) -> str:
    """Return the key that the lay of a problem is kept by."""
    return problem_key(problem, LAY_EFFORT)


def _matched_key(key: str) -> str:
    """The key of the shortest matched lay of pieces whose plain one is kept by a key."""
    return f"matched {key}"


def lays_of(commission: Commission) -> dict[str, LayProblem]:
    """Return the lays of all options by the keys that they are kept by. Raises Refused for an option that cannot be made."""
    return {lay_key(problem): problem for problem in option_lays(commission).values()}


def with_numbers(problem: LayProblem) -> LayProblem:
    """Return the problem with its pieces called by their place in it: like cuts differ in labels only."""
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
    problems = lays_of(commission)
    kept = kept_by_key(problems)
    lacking = {key for key in problems if key not in kept or may_be_shorter(problems[key], kept[key], effort)}
    still_failed = set(failed & lacking)
    missing = {key: problems[key] for key in [key for key in problems if key in lacking - failed][:at_once]}
    drawn = lay_all(missing, effort)
    for key, plan in drawn.items():
        if plan.ended_early:
            still_failed.add(key)
        keep(key, relabelled(plan, missing[key], with_numbers(missing[key])), missing[key])
    done = len(problems) - len(lacking) + len(drawn.keys() - still_failed)
    there = kept.keys() | {key for key, plan in drawn.items() if not plan.has_failed}
    undrawn = len(still_failed - there)
    return LayProgress(done=done, total=len(problems), failed=frozenset(still_failed), undrawn=undrawn)


def may_be_shorter(problem: LayProblem, plan: LayPlan, effort: Effort) -> bool:
    """Tell whether a search of that effort may find a lay that takes less than one that is kept."""
    if plan.ended_early or effort is not Effort.THOROUGH or plan.effort is Effort.THOROUGH:
        return plan.ended_early
    above = above_bound_share(problem, plan)
    return above is None or above > PROVEN_SHARE
