"""One answer of each block, chosen so that the shared rows hold and the whole costs least (Dantzig and Wolfe 1960)."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from inventory.replenish.program import INFINITY, Answer, Entries, Numbers, Places, Program, Relaxation

__all__ = ["Choice", "Master", "Prices"]

# Missing what a shared row asks for costs more, by its unit, than anything that adds to it.
MISSING_COST = 1e4


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """An answer of a block.

    Attributes:
        columns: its own columns of the whole, those that are not zero.
        values: what they are.
        cost: of them all.
        given: what they add to the shared rows, by row of the whole.
        asked: the shared columns without which it cannot be.
    """

    columns: Places
    values: Numbers
    cost: float
    given: Mapping[int, float]
    asked: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What the best mix of known answers costs, and the prices that it makes.

    Attributes:
        of_rows: duals of the whole program’s rows, those of its blocks zero.
        of_links: what a block is asked for a shared column, by block and column.
        of_blocks: the cost, at these prices, under which an answer of a block betters the mix.
    """

    cost: float
    of_rows: Numbers
    of_links: Mapping[tuple[int, int], float]
    of_blocks: Numbers


class Master:
    """The shared columns and rows of a program, with a column for each answer of each block."""

    def __init__(self, whole: Program, in_shared_rows: Entries) -> None:
        self.whole = whole
        self.costs = np.array(whole.costs)
        self.is_shared = np.zeros(len(self.costs), dtype=bool)
        self.is_shared[whole.shared_columns] = True
        self.in_shared_rows = in_shared_rows

    def choice(self, columns: Places, values: Numbers) -> Choice:
        """Return what an answer of a block is to the whole: `values` of these of its columns."""
        is_own = ~self.is_shared[columns] & (values != 0.0)
        own, amounts = columns[is_own], values[is_own]
        of_whole = np.zeros(len(self.costs))
        of_whole[own] = amounts
        given = self.in_shared_rows.by_row(of_whole, len(self.whole.row_lows))
        rows = np.flatnonzero(given)
        return Choice(
            columns=own,
            values=amounts,
            cost=float(self.costs[own] @ amounts),
            given=dict(zip(rows.tolist(), given[rows].tolist(), strict=True)),
            asked=tuple(columns[self.is_shared[columns] & (values > 0.5)].tolist()),
        )

    def prices(self, choices: Sequence[Sequence[Choice]], *, seconds: float) -> Prices | None:
        """Return the prices at which no answer is better than a mix of these; None where time runs out."""
        built = _Built(self, choices, missing_cost=MISSING_COST)
        point = Relaxation(built.program).solved(seconds=seconds)
        if point is None:
            return None
        of_rows = np.zeros(len(self.whole.row_lows))
        of_rows[self.whole.shared_rows] = point.duals[built.rows]
        links: dict[tuple[int, int], float] = defaultdict(float)
        links.update({key: -point.duals[row] for key, row in built.links.items()})
        return Prices(cost=point.cost, of_rows=of_rows, of_links=links, of_blocks=point.duals[built.blocks])

    def best(self, choices: Sequence[Sequence[Choice]], *, seconds: float, gap: float) -> Answer | None:
        """Return the best answer of the whole that takes one answer a block; None where none is found in time."""
        built = _Built(self, choices, missing_cost=None)
        answer = built.program.solved(seconds=max(0.0, seconds), gap=gap)
        if answer is None:
            return None
        values = np.zeros(len(self.costs))
        for column, own in built.whole_columns.items():
            values[column] = round(answer.values[own])
        for own, choice in built.chosen.items():
            if answer.values[own] > 0.5:
                values[choice.columns] = choice.values
        return Answer(values=tuple(values), cost=float(self.costs @ values), is_optimal=False, bound=-INFINITY)


class _Built:
    """The program of a master."""

    def __init__(self, master: Master, choices: Sequence[Sequence[Choice]], *, missing_cost: float | None) -> None:
        whole = master.whole
        self.program = Program()
        self.chosen: dict[int, Choice] = {}
        self.links: dict[tuple[int, int], int] = {}
        self.blocks: list[int] = []
        self.whole_columns = {
            column: self.program.column(cost=whole.costs[column], high=whole.highs[column], whole=whole.whole[column])
            for column in whole.shared_columns
        }
        terms: dict[int, dict[int, float]] = {row: {} for row in whole.shared_rows}
        of_shared = master.in_shared_rows.where(master.is_shared[master.in_shared_rows.columns])
        for row, column, factor in zip(of_shared.rows, of_shared.columns, of_shared.factors, strict=True):
            terms[row][self.whole_columns[column]] = float(factor)
        for place, block_choices in enumerate(choices):
            self._block(place, block_choices, terms)
        self.rows = []
        for row in whole.shared_rows:
            if missing_cost is not None and whole.row_lows[row] > -np.inf:
                terms[row][self.program.column(cost=missing_cost)] = 1.0
            self.rows.append(self.program.row(terms[row], low=whole.row_lows[row], high=whole.row_highs[row]))

    def _block(self, place: int, choices: Sequence[Choice], terms: Mapping[int, dict[int, float]]) -> None:
        """One of the choices, each with what it costs, gives to the shared rows and asks of shared columns."""
        ones: dict[int, float] = {}
        asking: dict[int, dict[int, float]] = defaultdict(dict)
        for choice in choices:
            column = self.program.column(cost=choice.cost, whole=True)
            self.chosen[column] = choice
            ones[column] = 1.0
            for row, amount in choice.given.items():
                terms[row][column] = amount
            for shared in choice.asked:
                asking[shared][column] = 1.0
        self.blocks.append(self.program.row(ones, low=1.0, high=1.0))
        for shared, askers in asking.items():
            self.links[place, shared] = self.program.row({**askers, self.whole_columns[shared]: -1.0}, high=0.0)
