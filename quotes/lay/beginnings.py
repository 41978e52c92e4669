"""What a lay begins with before the engine searches: rows, long pieces side by side, pieces put down one by one.

Each is worth a part of the time that there is for all of them, and is left out where that is over.
"""

from quotes.lay.beside import STEPS, beside
from quotes.lay.budget import OverError, Watch
from quotes.lay.filling import bottom_left
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.lay.simpler import FEW_CORNERS
from quotes.lay.true_lays import is_at_bound, plan_of, true_lay

__all__ = ["SEEDS", "begun"]

MOST_FILLED = 60
"""More pieces are not put down one by one, nor curved ones that lie in rows: that takes longer than it is worth."""
SEEDS = 8
"""So often at the most are long pieces laid side by side, in another order each time: of the seed of the lay, and of those after it."""
START_SECONDS, PIECE_SECONDS = 0.04, 0.006
"""What the order of rows takes of the processor, pushed together, for itself and for each piece of it: counted before it is
begun, so that the same is begun however fast the processor is just then.
"""
LEAST_START = 0.25
"""Of its steps, where there is not the time for one."""
PUSHED_SECONDS = 0.01
"""The same for each piece of rows that are pushed together; where nothing else is found they are, in the end, in any case."""


def begun(problem: LayProblem, rows: LayPlan, *, seed: int, seconds: float, watch: Watch) -> LayPlan:
    """Return the shortest true lay of the rows and of what else is found in so many seconds of the processor.

    The rows stay as they are where there is not the time to push them together.
    """
    watch = watch.within(seconds)
    best = _beside(problem, rows, seed, seconds, watch)
    if is_at_bound(best) or watch.is_over():
        return best
    if best is rows and PUSHED_SECONDS * len(rows.placements) <= seconds:
        best = true_lay(problem, rows, watch) or rows
    return best if is_at_bound(best) or watch.is_over() else _filled(problem, best, watch)


def _beside(problem: LayProblem, best: LayPlan, seed: int, seconds: float, watch: Watch) -> LayPlan:
    """The shortest of the best so far and of long pieces side by side: begun several times it comes out a percent or two apart."""
    starts = seconds / (START_SECONDS + PIECE_SECONDS * len(best.placements))
    steps = STEPS * min(1.0, max(starts, LEAST_START))
    for placements in beside(
        problem, range(seed, seed + min(SEEDS, max(1, int(starts)))), steps=int(steps), watch=watch
    ):
        true = true_lay(problem, plan_of(problem, placements, "beside"), watch)
        if true and true.length < best.length:
            best = true
        if is_at_bound(best) or watch.is_over():
            break
    return best


def _filled(problem: LayProblem, best: LayPlan, watch: Watch) -> LayPlan:
    """The shorter of the best so far and of pieces put down one by one, which finds exact fits that the engine misses."""
    are_curved = any(len(piece.outline) > FEW_CORNERS for piece in problem.pieces)
    if (are_curved and best.method == "beside") or sum(piece.copies for piece in problem.pieces) > MOST_FILLED:
        return best
    try:
        placements = bottom_left(problem, watch)
    except OverError:
        return best
    filled = true_lay(problem, plan_of(problem, placements, "filled"), watch) if placements else None
    return filled if filled and filled.length < best.length else best
