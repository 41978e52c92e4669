"""The way into the room for any cloth: plain cloth to the packing engine, given cloth to where it is minded."""

from collections.abc import Hashable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TypeVar

from quotes.lay.budget import Budget
from quotes.lay.given_cloth import lay_on_given_cloth
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.nest import WORKERS, Search, cpu_seconds, lay, problem_key, relabelled
from quotes.lay.remnants import cost_of
from quotes.lay.standing_back import standing_back
from quotes.pattern.geometry import at_origin

__all__ = ["Matched", "laid", "laid_matched", "lay_all", "matched_beside", "unmatched"]

LAYS_AT_ONCE = 2
Key = TypeVar("Key", bound=Hashable)


def laid(
    problem: LayProblem,
    effort: Effort,
    *,
    seconds: float | None = None,
    workers: int | None = None,
    search: Search | None = None,
) -> LayPlan:
    """Return the checked lay of a problem.

    Args:
        seconds: of the processor, for all searches of the engine together, in place of the effort; where the lay may use remnants,
            half as many again for what uses them. An effort says how long the engine searches for each lay that is tried.
        workers: searches side by side; None for as many as is usual.
        search: how it is searched for in all else.

    Raises:
        Refused: what cannot be laid.
    """
    if seconds and effort is Effort.NONE:
        effort = Effort.NORMAL
    search = replace(search or Search(), cpu_seconds=seconds, workers=workers or WORKERS)
    lay_it = lay if problem.is_plain else _on_given_cloth
    return standing_back(search, lambda within: lay_it(problem, effort, within))


def _on_given_cloth(problem: LayProblem, effort: Effort, search: Search) -> LayPlan:
    seconds = search.cpu_seconds
    within = replace(search, on_progress=None)
    return lay_on_given_cloth(
        problem,
        effort,
        plain=lambda plain, part: lay(plain, effort, replace(within, cpu_seconds=part if seconds else None)),
        budget=Budget(seconds=seconds, is_for_all=True) if seconds else Budget(seconds=cpu_seconds(problem, effort)),
        seed=search.seed,
        on_progress=search.on_progress,
        stop=search.stop,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Matched:
    """The lay of pieces that are matched, and that of the same pieces were they not.

    `extra` is what matching costs in lengths of the roll, 0 or more.
    """

    matched: LayPlan
    plain: LayPlan
    extra: float


def laid_matched(problem: LayProblem, effort: Effort) -> Matched:
    """Return the checked lay of a problem with a repeat, and the plain one of the same pieces on the same cloth.

    Every matched lay is a plain one too, so that the plain lay takes its layout where that is no dearer than what was found
    for it: matching never comes out as a saving.

    Raises:
        Refused: what cannot be laid.
    """
    matched, plain = (laid(each, effort) for each in (problem, unmatched(problem)))
    return matched_beside(problem, matched, plain)


def matched_beside(problem: LayProblem, matched: LayPlan, plain: LayPlan) -> Matched:
    """Return the lay of a problem with a repeat beside the plain one, which is never dearer."""
    extra = cost_of(problem, matched) - cost_of(problem, plain)
    if extra < 0:
        return Matched(matched=matched, plain=matched, extra=0.0)
    return Matched(matched=matched, plain=plain, extra=extra)


def unmatched(problem: LayProblem) -> LayProblem:
    """Return the same pieces on the same cloth where nothing has to match; their outlines begin at the origin, as plain ones do."""
    return replace(
        problem,
        repeat=None,
        pieces=tuple(replace(piece, outline=at_origin(piece.outline)) for piece in problem.pieces),
    )


def lay_all(problems: Mapping[Key, LayProblem], effort: Effort) -> dict[Key, LayPlan]:
    """Return the lays of several cloths by their keys, two drawn at a time.

    Problems that differ only in their labels are drawn once.
    """
    distinct = {problem_key(problem, effort): problem for problem in problems.values()}
    with ThreadPoolExecutor(LAYS_AT_ONCE) as pool:
        drawn = pool.map(lambda problem: laid(problem, effort), distinct.values())
        plans = dict(zip(distinct, drawn, strict=True))
    return {
        key: relabelled(plans[same], distinct[same], problem)
        for key, problem in problems.items()
        for same in (problem_key(problem, effort),)
    }
