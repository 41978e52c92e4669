"""Lays on given cloth: a repeat to match, flaws to leave out, remnants to use first.

Least is the length of the roll together with the worth of every remnant that is begun, less that of the rests which go back,
in lengths of the roll. The roll alone is laid first, with all the time that it would have were there no remnants; so whatever
is tried with remnants after that, and taken only where it costs less, never costs more than the lay without them.
"""

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from inventory.ground.findings import Finding, Refused, stop
from quotes.lay.bounds import least_length, pieces_area
from quotes.lay.budget import Budget, OverError, Stop, Watch
from quotes.lay.cloth import Laid, Maker, PlainLay, areas_of, placed_on
from quotes.lay.fitting import that_fit, width_faults
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem, Placement
from quotes.lay.remnants import choices, least_worth, worth_of
from quotes.pattern.geometry import turned

__all__ = ["lay_on_given_cloth"]

_ENGINE_TRIES = 3
"""Choices of remnants whose rest is laid by the engine; more are judged by their area."""
_WHOLE_TRIES = 2
"""Remnants on which the engine tries to lay all pieces."""
_MORE_SHARE = 0.5
"""Of the time for the roll alone, where it is for all that is tried: so much more for what uses remnants."""
_FILLING_SHARE = 0.2
"""Of that: for putting pieces on remnants one by one; the rest is the engine's."""
_LEAST_FILLING_SECONDS = 2.0
"""For that at any effort, which says how long the engine searches."""
_LEAST_SECONDS = 0.5
"""With less time of the processor the engine often finds nothing."""


def lay_on_given_cloth(
    problem: LayProblem,
    effort: Effort,
    *,
    plain: PlainLay,
    budget: Budget,
    seed: int,
    on_progress: Callable[[float], None] | None = None,
    stop: Stop | None = None,
) -> LayPlan:
    """Return a checked lay on cloth with a repeat, flaws or remnants.

    Args:
        plain: lays a problem without any of them, in so many seconds.
        budget: of the processor, for the roll alone; where it is for all that is tried, what uses remnants has half as much again.
        seed: of the orders that pieces are put down in.
        on_progress: told of the length of each shorter lay whose pieces are put down so, where there are no remnants.
        stop: asks the search to end; what was found by then is kept.

    Raises:
        Refused: a piece that no allowed turning or whole repeat makes fit the roll.
    """
    started = time.monotonic()
    if faults := [*width_faults(problem.pieces, problem.width), *_repeat_faults(problem)]:
        raise Refused(faults)
    rows = [piece.label for piece in problem.pieces for _ in range(piece.copies)]
    told = None if problem.remnants else on_progress
    maker = Maker(problem=problem, plain=plain, seed=seed, on_progress=told, stop=stop)
    if problem.remnants:
        best = _with_remnants(maker, rows, maker.on_roll(rows, budget), budget.parted(_MORE_SHARE))
    else:
        best = maker.on_roll(rows, budget)
    if stop and stop.is_set():
        best = replace(best, method="stopped")
    plan = _plan(problem, best, effort, time.monotonic() - started)
    if faults := list(given_cloth_faults(problem, plan)):
        raise RuntimeError(f"A lay that is not true was made: {faults[0].message}")
    return plan


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    """Pieces on remnants, and what is left for the roll; `searches` is how many have to be made for it."""

    least_cost: float
    placements: tuple[Placement, ...]
    left: list[str]
    searches: int


def _with_remnants(maker: Maker, labels: Sequence[str], roll: Laid, budget: Budget) -> Laid:
    """The least cost over the choices of remnants; the roll alone where none is worth it."""
    problem = maker.problem
    best = _Best(problem=problem, laid=roll, cost=roll.length * (1 + 1e-9))
    seconds = budget.parted(_FILLING_SHARE).seconds
    filling = Watch(stop=maker.stop).within(seconds if budget.is_for_all else max(seconds, _LEAST_FILLING_SECONDS))
    tries = _tries(maker, labels, roll, filling)[:_ENGINE_TRIES]
    for one in tries:
        best.take(one.placements, maker.without(roll, one.left, filling))
    large = _large_enough(problem, labels)[:_WHOLE_TRIES]
    # What is filled already needs no search where nothing is left and no rest goes back.
    budget = budget.parted(1 - _FILLING_SHARE)
    searches = sum(one.searches for one in tries) + len(large)
    worth_it = budget.enough_for(searches, _LEAST_SECONDS)
    each = budget.parted(1 / max(1, worth_it))
    for one in tries:
        if one.searches <= worth_it:
            worth_it -= one.searches
            _take_searched(maker, best, maker.tightened(one.placements, each), one.left, each)
    for which in large[: max(0, worth_it)]:
        plan = maker.plain_on(labels, which, each)
        if plan.length <= problem.remnants[which].length:
            _take_searched(maker, best, placed_on(which, plan), [], each)
    return best.laid


@dataclass(slots=True, kw_only=True)
class _Best:
    """What costs least so far."""

    problem: LayProblem
    laid: Laid
    cost: float

    def take(self, placed_rows: Sequence[Placement], rest: Laid) -> None:
        """Take pieces on remnants and the rest of them on the roll where that costs no more: remnants are used first."""
        cost = worth_of(self.problem, placed_rows) + rest.length
        if cost <= self.cost:
            self.cost = cost
            self.laid = Laid(length=rest.length, placements=(*placed_rows, *rest.placements), method=rest.method)


def _take_searched(
    maker: Maker, best: _Best, placed_rows: tuple[Placement, ...], left: Sequence[str], each: Budget
) -> None:
    """Let the rest of the pieces be searched for on the roll, where what lies on remnants is not dearer by itself."""
    if worth_of(maker.problem, placed_rows) <= best.cost:
        best.take(placed_rows, maker.on_roll(left, each.parted(maker.searches_of_roll)))


def _tries(maker: Maker, labels: Sequence[str], roll: Laid, watch: Watch) -> list[_Try]:
    """Choices of remnants, filled until the watch is over, those first that cost least as far as areas tell."""
    problem = maker.problem
    areas = areas_of(problem.pieces)
    whole = math.fsum(areas[label] for label in labels)
    tries = []
    for choice in choices(problem.remnants):
        placed: list[Placement] = []
        left = list(labels)
        try:
            for which in sorted(
                choice, key=lambda which: -problem.remnants[which].width * problem.remnants[which].length
            ):
                if left:
                    rows, left = maker.on_remnant(left, which, watch)
                    placed += rows
        except OverError:
            break
        least = least_worth(problem, placed, areas)
        if placed and least < roll.length:
            rest = roll.length * math.fsum(areas[label] for label in left) / whole
            searches = len(maker.may_tighten(placed)) + (maker.searches_of_roll if left else 0)
            tries.append(_Try(least_cost=least + rest, placements=tuple(placed), left=left, searches=searches))
    return sorted(tries, key=lambda one: one.least_cost)


def _large_enough(problem: LayProblem, labels: Sequence[str]) -> list[int]:
    """Remnants that may hold all pieces, those first that are worth least; none where pieces are matched."""
    if problem.repeat:
        return []
    areas = areas_of(problem.pieces)
    whole = math.fsum(areas[label] for label in labels)
    large = [
        (row.worth, which)
        for which, row in enumerate(problem.remnants)
        if whole <= row.width * row.length and len(that_fit(problem.pieces, row)) == len(problem.pieces)
    ]
    return [which for _, which in sorted(large)]


def _repeat_faults(problem: LayProblem) -> list[Finding]:
    """Pieces that fit the width, but at no whole repeat across."""
    across = problem.repeat.across if problem.repeat else 0.0
    if not across:
        return []
    faults = []
    for piece in problem.pieces:
        spans = [[y for _, y in turned(piece.outline, turn)] for turn in piece.rotations]
        if not any(_has_whole(-min(ys), problem.width - max(ys), across) for ys in spans):
            faults.append(
                stop(
                    "lay.repeat-too-wide",
                    f"piece {piece.label}",
                    f"Piece {piece.label} fits the cloth at no whole repeat of {across:g} across.",
                    "Move the origin of its outline to where the repeat is to meet it, or take a wider cloth.",
                )
            )
    return faults


def _has_whole(least: float, most: float, repeat: float) -> bool:
    hair = 1e-9 * (abs(least) + abs(most) + repeat)
    return math.ceil((least - hair) / repeat) <= math.floor((most + hair) / repeat)


def _plan(problem: LayProblem, laid: Laid, effort: Effort, seconds: float) -> LayPlan:
    begun = {row.remnant for row in laid.placements if row.remnant is not None}
    cloth = laid.length * problem.width + math.fsum(
        problem.remnants[which].width * problem.remnants[which].length for which in begun
    )
    copies: dict[str, int] = {}
    placements = []
    for row in laid.placements:
        copies[row.label] = copies.get(row.label, 0) + 1
        placements.append(replace(row, copy=copies[row.label]))
    return LayPlan(
        width=problem.width,
        length=laid.length,
        density_share=pieces_area(problem) / cloth,
        lower_bound=least_length(problem),
        placements=tuple(placements),
        effort=effort,
        seconds=seconds,
        method=laid.method,
    )
