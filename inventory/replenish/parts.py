"""The parts of a problem that nothing joins: codes that are exchanged belong together, all others stand alone."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from inventory.replenish.problem import Problem

__all__ = ["Parts"]

T = TypeVar("T")


class Parts:
    """Tells which rows of a problem some codes touch; made once, asked for many."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.exchanged: dict[str, set[str]] = defaultdict(set)
        for row in problem.materials:
            for other in row.substitutes:
                self.exchanged[row.code].add(other)
                self.exchanged[other].add(row.code)
        self.materials = _places(problem.materials, lambda row: row.code)
        self.needs = _places(problem.needs, lambda row: row.material)
        self.open_orders = _places(problem.open_orders, lambda row: row.material)
        self.offers = _places(problem.offers, lambda row: row.material)

    def of(self, codes: Iterable[str]) -> Problem:
        """Return the part that these codes touch: themselves and all that is exchanged with them."""
        reached = set(codes)
        waiting = list(reached)
        while waiting:
            fresh = self.exchanged.get(waiting.pop(), set()) - reached
            reached |= fresh
            waiting += fresh
        problem = self.problem
        return replace(
            problem,
            materials=_rows(problem.materials, self.materials, reached),
            needs=_rows(problem.needs, self.needs, reached),
            open_orders=_rows(problem.open_orders, self.open_orders, reached),
            offers=_rows(problem.offers, self.offers, reached),
        )


def _places(rows: Iterable[T], code_of: Callable[[T], str]) -> dict[str, list[int]]:
    places: dict[str, list[int]] = defaultdict(list)
    for place, row in enumerate(rows):
        places[code_of(row)].append(place)
    return places


def _rows(rows: tuple[T, ...], places: dict[str, list[int]], codes: set[str]) -> tuple[T, ...]:
    """The rows of these codes, in their order."""
    return tuple(rows[place] for place in sorted(place for code in codes for place in places.get(code, ())))
