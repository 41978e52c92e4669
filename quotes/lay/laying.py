"""The way into the room for any cloth: plain cloth to the packing engine, given cloth to where it is minded."""

from quotes.lay.given_cloth import lay_on_given_cloth
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.nest import SECONDS, lay

__all__ = ["laid"]


def laid(problem: LayProblem, effort: Effort, *, seconds: int | None = None, workers: int | None = None) -> LayPlan:
    """Return the checked lay of a problem.

    Args:
        seconds: to search for, in place of what the effort means.
        workers: searches side by side; None for as many as is usual.

    Raises:
        Refused: what cannot be laid.
    """

    def plain(problem: LayProblem) -> LayPlan:
        return lay(problem, effort)

    if problem.is_plain:
        return plain(problem)
    return lay_on_given_cloth(problem, effort, plain=plain, seconds=seconds or SECONDS.get(effort, 0))
