"""What remnants count in a lay, in lengths of the roll, and which of them are tried together."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from quotes.lay.lay_plan import LayPlan, LayProblem, Placement, Remnant

__all__ = ["MOST_REMNANTS_TRIED", "choices", "cost_of", "least_worth", "used_of_remnants", "worth_of"]

MOST_REMNANTS_TRIED = 6
"""So many remnants are tried in every choice; of more, one by one and from the least worth for its area up."""


def used_of_remnants(placements: Sequence[Placement]) -> dict[int, float]:
    """Return how far the pieces reach along each remnant that is begun, by its place among the remnants."""
    used: dict[int, float] = {}
    for row in placements:
        if row.remnant is not None:
            used[row.remnant] = max(used.get(row.remnant, 0.0), max(x for x, _ in row.outline))
    return used


def cost_of(problem: LayProblem, plan: LayPlan) -> float:
    """Return what a lay costs in lengths of the roll: the roll, and remnants less the rests of them that go back."""
    return plan.length + worth_of(problem, plan.placements)


def worth_of(problem: LayProblem, placements: Sequence[Placement]) -> float:
    """Return what is used up of remnants, in lengths of the roll."""
    return math.fsum(
        row.worth * (1 - row.rest_after(used) / row.length)
        for which, used in used_of_remnants(placements).items()
        for row in (problem.remnants[which],)
    )


def least_worth(problem: LayProblem, placements: Sequence[Placement], areas: Mapping[str, float]) -> float:
    """Return what is used up of remnants at the least, were their pieces laid without a gap."""
    filled: dict[int, float] = {}
    for row in placements:
        if row.remnant is not None:
            filled[row.remnant] = filled.get(row.remnant, 0.0) + areas[row.label]
    return math.fsum(
        row.worth * (1 - row.rest_after(area / row.width) / row.length)
        for which, area in filled.items()
        for row in (problem.remnants[which],)
    )


def choices(remnants: Sequence[Remnant]) -> Iterator[tuple[int, ...]]:
    """Return which remnants to try together."""
    numbers = range(len(remnants))
    if len(remnants) <= MOST_REMNANTS_TRIED:
        for count in numbers:
            yield from combinations(numbers, count + 1)
        return
    yield from ((number,) for number in numbers)
    cheap = sorted(
        numbers, key=lambda number: remnants[number].worth / (remnants[number].width * remnants[number].length)
    )
    yield from (tuple(cheap[:count]) for count in range(2, len(cheap) + 1))
