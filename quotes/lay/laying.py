"""The way into the room for any cloth: plain cloth to the packing engine, given cloth to where it is minded."""

from collections.abc import Hashable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from quotes.lay.given_cloth import lay_on_given_cloth
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.nest import CPU_SECONDS, WORKERS, Search, lay, problem_key, relabelled

__all__ = ["laid", "lay_all"]

LAYS_AT_ONCE = 2
Key = TypeVar("Key", bound=Hashable)


def laid(problem: LayProblem, effort: Effort, *, seconds: int | None = None, workers: int | None = None) -> LayPlan:
    """Return the checked lay of a problem.

    Args:
        seconds: of the processor to search for, in place of what the effort means; on given cloth for each lay that is tried.
        workers: searches side by side; None for as many as is usual.

    Raises:
        Refused: what cannot be laid.
    """
    if seconds and effort is Effort.NONE:
        effort = Effort.NORMAL
    search = Search(cpu_seconds=seconds, workers=workers or WORKERS)
    if problem.is_plain:
        return lay(problem, effort, search)
    budget = seconds or CPU_SECONDS.get(effort, 0.0)
    return lay_on_given_cloth(problem, effort, plain=lambda plain: lay(plain, effort, search), seconds=budget)


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
