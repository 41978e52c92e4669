"""A program that falls apart into blocks but for a few shared columns and rows, solved through what each block costs.

Each block is solved alone at the prices that the shared rows put on it (Lagrangian relaxation). Its least cost is a cut
that holds for every answer of the whole, and bounds it more tightly than the block's own rows do. Its answers are put
together to the best answer of the whole that they allow (Dantzig and Wolfe 1960), from which the solver starts.

A shared column is a yes that only allows: what a block may do without it, it may do with it.
"""

from dataclasses import dataclass, field, replace
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from inventory.replenish.master import Choice, Master, Prices
from inventory.replenish.program import INFINITY, Answer, Entries, Numbers, Places, Program, Relaxation

__all__ = ["solved_by_blocks"]

# Rounds of prices: of the relaxation until nothing is new, then of the answers found.
MOST_ROUNDS, MOST_MASTER_ROUNDS = 6, 40
# Costs nearer than this are the same.
WITHIN = 1e-6
# Of the time that is given: until when blocks are solved at the prices of the relaxation, then at those of their answers.
CUTS_SHARE, ANSWERS_SHARE = 0.35, 0.6
# Of the time that is left then: for putting answers together, before the last prices and after them.
FIRST_SHARE, TOGETHER_SHARE = 0.2, 0.5
# Seconds that putting together may take where no time is left: a plan a little late is better than none.
LEAST_SECONDS = 0.5


def solved_by_blocks(program: Program, *, seconds: float, gap: float) -> Answer | None:
    """Return the best answer found in time, or None where there is none.

    Args:
        gap: absolute difference from the bound that counts as optimal.
    """
    begun, end = monotonic(), monotonic() + seconds
    blocks = _Blocks(program)
    if len(blocks.blocks) < 2:
        return program.solved(seconds=seconds, gap=gap)
    blocks.tighten(until=begun + CUTS_SHARE * seconds, end=end)
    master = Master(program, blocks.in_shared_rows)
    first_seconds = max(LEAST_SECONDS, FIRST_SHARE * (end - monotonic()))
    start = master.best(blocks.choices(master), seconds=first_seconds, gap=gap)
    if start is None or start.cost - blocks.bound > gap:
        blocks.answer_to(master, until=begun + ANSWERS_SHARE * seconds)
        start = master.best(blocks.choices(master), seconds=TOGETHER_SHARE * (end - monotonic()), gap=gap) or start
    values = None if start is None else np.array(start.values)
    answer = program.solved(seconds=max(0.0, end - monotonic()), gap=gap, start=values)
    if answer is None and start is not None:
        answer = start
    return None if answer is None else replace(answer, bound=min(answer.cost, max(answer.bound, blocks.bound)))


@dataclass(slots=True)
class _Block:
    """A block's program, and the columns of the whole that its own stand for; `own` says which are not shared."""

    program: Program
    rows: Places
    columns: Places
    own: NDArray[np.bool_]
    entries: Entries
    whole: NDArray[np.bool_]
    cuts: list[tuple[int, Numbers]] = field(default_factory=list)
    answers: list[Numbers] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)
    known: dict[bytes, float] = field(default_factory=dict)

    def least(self, costs: Numbers, seconds: float) -> float:
        """A bound on what the block costs at these costs; its answer is kept."""
        key = costs.tobytes()
        if key not in self.known:
            self.program.costs = costs.tolist()
            answer = self.program.solved(seconds=max(0.0, seconds), gap=WITHIN / 10, searching=False)
            if answer is None:
                return -INFINITY
            values = np.array(answer.values)
            values[self.whole] = np.round(values[self.whole])
            if not any(np.array_equal(values, other) for other in self.answers):
                self.answers.append(values)
            self.known[key] = answer.bound
        return self.known[key]


class _Blocks:
    """The blocks of one program, and what is known of them."""

    def __init__(self, program: Program) -> None:
        self.program = program
        self.costs = np.array(program.costs)
        self.is_shared = np.zeros(len(self.costs), dtype=bool)
        self.is_shared[program.shared_columns] = True
        self.is_shared_row = np.zeros(len(program.row_lows), dtype=bool)
        self.is_shared_row[program.shared_rows] = True
        entries = program.entries
        self.in_shared_rows = entries.where(self.is_shared_row[entries.rows])
        self.relaxation = Relaxation(program)
        self.bound = -INFINITY
        self.blocks = self._found(entries.where(~self.is_shared_row[entries.rows]))

    def _found(self, entries: Entries) -> list[_Block]:
        """Rows that own columns join, with those columns."""
        own = entries.where(~self.is_shared[entries.columns])
        first_row = np.arange(len(self.is_shared_row))
        while True:
            of_column = np.full(len(self.costs), len(first_row))
            np.minimum.at(of_column, own.columns, first_row[own.rows])
            lower = first_row.copy()
            np.minimum.at(lower, own.rows, of_column[own.columns])
            if np.array_equal(lower, first_row):
                break
            first_row = lower
        order = np.argsort(first_row[entries.rows], kind="stable")
        of_entry = first_row[entries.rows][order]
        runs = np.split(order, np.flatnonzero(np.diff(of_entry)) + 1) if len(order) else []
        return [self._block(entries.where(run)) for run in runs]

    def _block(self, entries: Entries) -> _Block:
        """The block of these entries, with places of its own for their rows and columns."""
        rows, own_rows = np.unique(entries.rows, return_inverse=True)
        columns, own_columns = np.unique(entries.columns, return_inverse=True)
        whole = self.program
        part = Program()
        for column in columns:
            part.column(high=whole.highs[column], whole=whole.whole[column])
        terms: list[dict[int, float]] = [{} for _ in rows]
        for row, column, factor in zip(own_rows.tolist(), own_columns.tolist(), entries.factors.tolist(), strict=True):
            terms[row][column] = factor
        for row, of_row in zip(rows, terms, strict=True):
            part.row(of_row, low=whole.row_lows[row], high=whole.row_highs[row])
        return _Block(
            program=part,
            rows=rows,
            columns=columns,
            own=~self.is_shared[columns],
            entries=Entries(rows=own_rows, columns=own_columns, factors=entries.factors),
            whole=np.array(part.whole, dtype=bool),
        )

    def tighten(self, *, until: float, end: float) -> None:
        """Add to the program what its blocks cost at the least, until that says nothing new.

        The first round goes on until `end`: without an answer of each block there is none of the whole.
        """
        for number in range(MOST_ROUNDS):
            stop = until if number else end
            point = self.relaxation.solved(seconds=stop - monotonic())
            if point is None:
                return
            bound = point.cost
            self.bound = max(self.bound, bound)
            priced = self._priced(point.duals)
            found = 0
            for block in self.blocks:
                if monotonic() > stop:
                    return
                there = point.values[block.columns]
                costs = self._costs(block, priced, point.duals)
                if not self._may_cost_more(block, costs, there):
                    continue
                least = block.least(costs, stop - monotonic())
                more = least - float(costs @ there)
                if more > WITHIN:
                    self._cut(block, costs, least)
                    found += 1
                    # At these prices no block costs less than the relaxation says, and this one costs more.
                    bound += more
                    self.bound = max(self.bound, bound)
            if not found:
                return

    def _priced(self, duals: Numbers) -> Numbers:
        """Costs of all columns less what the shared rows pay for them."""
        return self.costs - self.in_shared_rows.by_column(duals, len(self.costs))

    def _costs(self, block: _Block, priced: Numbers, duals: Numbers) -> Numbers:
        """What a block's columns cost: its own as priced, shared ones as much as its rows pay for them."""
        paid = block.entries.by_column(duals[block.rows], len(block.columns))
        for row, factors in block.cuts:
            paid += factors * duals[row]
        return _clean(np.where(block.own, priced[block.columns], paid))

    @staticmethod
    def _may_cost_more(block: _Block, costs: Numbers, there: Numbers) -> bool:
        """Whether no known answer of the block is as cheap as the relaxation; a whole relaxation is an answer."""
        cheapest = costs @ there + WITHIN
        if any(costs @ answer <= cheapest for answer in block.answers):
            return False
        numbers = there[block.whole]
        nearest = np.round(numbers)
        if np.abs(numbers - nearest).max(initial=0.0) > WITHIN:
            return True
        whole = there.copy()
        whole[block.whole] = nearest
        block.answers.append(whole)
        return False

    def _cut(self, block: _Block, costs: Numbers, least: float) -> None:
        places = np.flatnonzero(costs)
        terms = dict(zip(block.columns[places].tolist(), costs[places].tolist(), strict=True))
        block.cuts.append((self.relaxation.row(terms, low=least), costs))

    def answer_to(self, master: Master, *, until: float) -> None:
        """Find the answers of blocks that better the mix of known ones, until none does; cut at the best prices."""
        best: list[tuple[_Block, Numbers, float]] = []
        best_bound = -INFINITY
        for _ in range(MOST_MASTER_ROUNDS):
            prices = master.prices(self.choices(master), seconds=until - monotonic())
            if prices is None or monotonic() > until:
                break
            found = self._priced_by(prices, until)
            worse = np.array([least for _, _, least in found]) - prices.of_blocks[: len(found)]
            bound = prices.cost + float(worse.sum())
            if len(found) == len(self.blocks) and bound > best_bound:
                best, best_bound = found, bound
            if worse.min(initial=0.0) > -WITHIN:
                break
        for block, costs, least in best:
            if costs.any() and not any(np.array_equal(costs, other) for _, other in block.cuts):
                self._cut(block, costs, least)
        self.bound = max(self.bound, best_bound)

    def _priced_by(self, prices: Prices, until: float) -> list[tuple[_Block, Numbers, float]]:
        """Each block, its costs at these prices, and the least that it costs; of some blocks where time runs out."""
        priced = self._priced(prices.of_rows)
        found: list[tuple[_Block, Numbers, float]] = []
        for place, block in enumerate(self.blocks):
            if monotonic() > until:
                break
            costs = priced[block.columns]
            costs[~block.own] = [prices.of_links[place, column] for column in block.columns[~block.own]]
            costs = _clean(costs)
            found.append((block, costs, block.least(costs, until - monotonic())))
        return found

    def choices(self, master: Master) -> list[list[Choice]]:
        """The known answers of each block, as the master has them."""
        for block in self.blocks:
            fresh = block.answers[len(block.choices) :]
            block.choices += [master.choice(block.columns, values) for values in fresh]
        return [block.choices for block in self.blocks]


def _clean(costs: Numbers) -> Numbers:
    """Costs without the solver's noise; any costs make a true cut."""
    return np.round(costs, 9) + 0.0
