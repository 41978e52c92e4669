"""The whole as one integer program: how often each pattern is cut, how many pieces come off each coil."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, isfinite
from time import monotonic

import numpy as np

from inventory.cutting.patterns import Pattern, Usable, cost_step, least_cost, length_step
from inventory.cutting.problem import CutProblem, Fit
from inventory.replenish.program import INFINITY, Answer, Numbers, Places, Point, Program, Relaxation

__all__ = ["Chosen", "Prices", "Whole"]

# Costs that differ by less than this count as alike: the solver computes in floats.
ALIKE = Fraction(1, 100_000)
# Of a step between plans, how much the solver may be off and still tell one plan from the next.
WITHIN = 0.4
# So much of a step may a bound be too high, as it is added from floats.
BOUND_OFF = 0.01
# So many patterns, those that add least, are tried before all are.
FEW_PATTERNS = 300
# And so much of the time at most.
SHARE_FOR_FEW = 0.5
# What is only for tidiness is looked for among so many nodes of the search, so that it ends alike on every machine.
NODES_FOR_FEWEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """An answer of the program.

    Attributes:
        times: by the pattern’s place.
        taken: pieces of bulk, by the place of the fit among those of bulk.
        missing: pieces of each want that found no stock.
        bound: of the cost, by what the solver proved.
        is_optimal: nothing costs less; where pieces are missing, fewer cannot be.
    """

    times: tuple[int, ...]
    taken: tuple[int, ...]
    missing: Mapping[str, int]
    bound: Fraction
    is_optimal: bool
    is_tidiest: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """The cheapest point where nothing need be whole, in units: its cost, what it takes, and the prices it makes.

    Attributes:
        times: by the pattern’s place, not whole.
        taken: pieces of bulk, as in `Chosen`, not whole.
        of_setup: by set-up and want, of a piece of the want that is served under it.
    """

    cost: float
    times: tuple[float, ...]
    taken: tuple[float, ...]
    of_want: Mapping[str, float]
    of_stock: Mapping[str, float]
    of_setup: Mapping[tuple[str, str], float]


class Whole:
    """The program of a problem over these patterns. Costs are in whole steps, lengths too."""

    def __init__(
        self, problem: CutProblem, stocks: Sequence[Usable], patterns: Sequence[Pattern], *, may_miss: bool = False
    ) -> None:
        self.problem, self.patterns = problem, patterns
        step = cost_step(problem)
        self.unit, self.is_in_steps = max(step, ALIKE), step >= ALIKE
        self.step = length_step(problem)
        self.program = Program()
        self.wastes: list[float] = []
        self.served: dict[str, dict[int, float]] = {want.code: {} for want in problem.wants}
        self.by_setup: dict[tuple[str, str], dict[int, float]] = defaultdict(dict)
        self.pieces_of: dict[str, dict[int, float]] = defaultdict(dict)
        for pattern in patterns:
            self._pattern(pattern)
        self.bulk_columns: list[int] = []
        self.used_columns: dict[int, int] = {}
        self.held: list[tuple[Sequence[float], float]] = []
        wants = {want.code: want for want in problem.wants}
        for of in stocks:
            if of.stock.is_bulk:
                self._bulk(of)
        self.missing = {want.code: self._column(high=want.count) for want in problem.wants} if may_miss else {}
        self.of_want: dict[str, int] = {}
        for code, terms in self.served.items():
            count = float(wants[code].count)
            self.of_want[code] = self.program.row(
                terms | ({self.missing[code]: 1.0} if may_miss else {}), low=count, high=count
            )
        self.of_stock = {
            stock.code: self.program.row(self.pieces_of[stock.code], high=float(stock.count))
            for stock in problem.stocks
            if stock.count is not None and not stock.is_bulk and self.pieces_of[stock.code]
        }
        self.of_setup: dict[tuple[str, str], int] = {}
        columns = {name: self._column(cost=Fraction(problem.setups[name]), high=1) for name, _ in self.by_setup}
        for (name, code), terms in self.by_setup.items():
            self.of_setup[name, code] = self.program.row(terms | {columns[name]: -float(wants[code].count)}, high=0.0)

    def _column(self, *, cost: Fraction = Fraction(0), waste: int = 0, high: int | None, whole: bool = True) -> int:
        self.wastes.append(waste / self.step)
        high_or_none = INFINITY if high is None else float(high)
        return self.program.column(cost=float(cost / self.unit), high=high_or_none, whole=whole)

    def _serves(self, column: int, fit: Fit, number: int) -> None:
        self.served[fit.want][column] = self.served[fit.want].get(column, 0.0) + number
        if fit.setup:
            self.by_setup[fit.setup, fit.want][column] = float(number)

    def _pattern(self, pattern: Pattern) -> None:
        column = self._column(cost=Fraction(pattern.cost), waste=pattern.waste, high=pattern.most)
        self.pieces_of[pattern.stock.code][column] = 1.0
        for fit, number in pattern.pieces:
            self._serves(column, fit, number)

    def _bulk(self, of: Usable) -> None:
        """Each piece takes its length and a kerf; the last takes none that would reach over the end."""
        stock, kerf, cost = of.stock, self.problem.kerf, Fraction(of.stock.cost)
        terms: dict[int, float] = {}
        for fit, want in of.pieces:
            each = want.length + kerf
            column = self._column(cost=cost * each + Fraction(fit.cost), waste=kerf, high=want.count)
            self.bulk_columns.append(column)
            self._serves(column, fit, 1)
            terms[column] = each / self.step
        if stock.length is None:
            return
        length = stock.length / self.step
        if kerf and sum((want.length + kerf) * want.count for _, want in of.pieces) > stock.length:
            is_used_up = self._column(high=1)
            beyond = self._column(cost=-cost * self.step, waste=-self.step, high=kerf // self.step, whole=False)
            terms[beyond] = -1.0
            self.program.row({beyond: 1.0, is_used_up: -kerf / self.step}, high=0.0)
            self.program.row(terms | {is_used_up: -length}, low=0.0)
        self.program.row(terms, high=length)

    def prices(self, *, seconds: float) -> Prices | None:
        """Return what wants, set-ups and stocks are worth where nothing need be whole; None where time runs out.

        Where wants may be left out, costs are how many are.
        """
        if self.missing:
            self.program.costs = self._missing_costs()
        # A limit of a pattern’s own would have a price too, which no pattern that is not yet made could be told.
        self.program.highs[: len(self.patterns)] = [INFINITY] * len(self.patterns)
        point = Relaxation(self.program).solved(seconds=max(0.0, seconds))
        if point is None:
            return None
        duals = point.duals.tolist()
        return Prices(
            cost=point.cost,
            times=tuple(point.values[: len(self.patterns)].tolist()),
            taken=tuple(point.values[self.bulk_columns].tolist()),
            of_want={code: duals[row] for code, row in self.of_want.items()},
            of_stock={code: duals[row] for code, row in self.of_stock.items()},
            of_setup={key: duals[row] for key, row in self.of_setup.items()},
        )

    def _missing_costs(self) -> list[float]:
        return [float(column in self.missing.values()) for column in range(len(self.program.costs))]

    def solved(self, *, seconds: float, bound: float | None = None) -> Chosen | None:
        """Return the plan of least cost, then of least waste, then of fewest different cuts; None where none is found.

        Among plans that leave out wants, it is the one that leaves out fewest pieces.

        Args:
            bound: of the cost, in units, where these patterns are not all there are.
        """
        until = monotonic() + seconds
        costs = self.program.costs
        if self.missing:
            self.program.costs = self._missing_costs()
            answer = self.program.solved(seconds=seconds, gap=WITHIN)
            if answer is None:
                return None
            lowest = self.raised(-INFINITY)
            return self._chosen(answer, bound=lowest, is_optimal=answer.is_optimal, is_tidiest=False)
        first = self._cheapest(until)
        if first is None:
            return None
        lowest = self.raised(first.bound if bound is None else bound)
        answer, is_proven = first, first.is_optimal
        is_optimal = self._reached(first, costs) - lowest < 2 * WITHIN
        for nodes in (None, NODES_FOR_FEWEST):
            if not is_proven:
                break
            self._hold(answer)
            self.program.costs = self._different() if nodes else self.wastes
            better = self._tidier(answer, seconds=until - monotonic(), nodes=nodes)
            is_proven = better is not None and better.is_optimal
            answer = better or answer
        is_tidiest = is_optimal and is_proven and bound is None
        return self._chosen(answer, bound=lowest, is_optimal=is_optimal, is_tidiest=is_tidiest)

    def raised(self, bound: float) -> float:
        """A bound in units, raised to the next amount that a plan can cost."""
        least = float(least_cost(self.problem) / self.unit)
        if not isfinite(bound):
            return least
        return max(least, float(ceil(bound - BOUND_OFF)) if self.is_in_steps else bound)

    def _reached(self, answer: Answer, costs: Sequence[float]) -> float:
        """What is looked at, of whole numbers of columns; columns that came later have none."""
        return sum(cost * round(value) for cost, value in zip(costs, answer.values, strict=False) if cost)

    def _cheapest(self, until: float) -> Answer | None:
        """The answer of least cost; afterwards columns are left out that no answer of that cost has.

        The relaxation’s prices say what one of a column adds to its cost. Those that add least are enough to find a
        good answer; only those that add no more than it lies above the relaxation can be in a better one.
        """
        program = self.program
        point = Relaxation(program).solved(seconds=max(0.0, until - monotonic()))
        if point is None:
            return program.solved(seconds=max(0.0, until - monotonic()), gap=WITHIN)
        added = np.array(program.costs) - program.entries.by_column(point.duals, len(program.costs))
        highs, others = list(program.highs), np.argsort(added[: len(self.patterns)], kind="stable")[FEW_PATTERNS:]
        answers = []
        if others.size:
            self._leave(others)
            found = program.solved(seconds=max(0.0, until - monotonic()) * SHARE_FOR_FEW, gap=WITHIN)
            program.highs = highs
            if found is not None:
                self._leave_dear(point, added, found)
                is_whole = not any(program.highs[column] for column in others)
                answers.append(found if is_whole else replace(found, bound=point.cost, is_optimal=False))
        if not any(answer.is_optimal for answer in answers):
            start = np.array(answers[0].values) if answers else None
            found = program.solved(seconds=max(0.0, until - monotonic()), gap=WITHIN, start=start)
            answers += [found] if found is not None else []
        if not answers:
            return None
        cheapest = min(answers, key=lambda answer: self._reached(answer, program.costs))
        self._leave_dear(point, added, cheapest)
        bound = max(point.cost, *(answer.bound for answer in answers))
        return replace(cheapest, bound=bound, is_optimal=any(answer.is_optimal for answer in answers))

    def _leave_dear(self, point: Point, added: Numbers, answer: Answer) -> None:
        """Leave out what no answer has that costs no more than this one."""
        most = self._reached(answer, self.program.costs) + 2 * WITHIN - point.cost
        self._leave(np.flatnonzero((added > most) & (point.values == 0.0)))

    def _leave(self, columns: Places) -> None:
        for column in columns.tolist():
            self.program.highs[column] = 0.0

    def _hold(self, answer: Answer) -> None:
        """Ask further answers to be as good as this one in what was looked at."""
        terms = {column: cost for column, cost in enumerate(self.program.costs) if cost}
        reached = self._reached(answer, self.program.costs)
        self.held.append((self.program.costs, reached))
        if terms:
            self.program.row(terms, low=reached - WITHIN, high=reached + WITHIN)

    def _tidier(self, answer: Answer, *, seconds: float, nodes: int | None) -> Answer | None:
        """The best answer by what is looked at now, from this one on; None where none is found in time."""
        values = np.array([*answer.values, *[0.0] * (len(self.program.costs) - len(answer.values))])
        for column, pattern_column in self.used_columns.items() if nodes else ():
            values[column] = float(values[pattern_column] > 0.5)
        better = self.program.solved(seconds=max(0.0, seconds), gap=WITHIN, start=values, nodes=nodes)
        if better is None or any(self._reached(better, costs) > reached + 0.5 for costs, reached in self.held):
            return None
        return better

    def _different(self) -> list[float]:
        """Costs that count the different cuts. A pattern that can be cut once only counts itself."""
        costs = [0.0] * len(self.program.costs)
        for column, pattern in enumerate(self.patterns):
            if pattern.most == 1:
                costs[column] = 1.0
                continue
            used = self.program.column(high=1.0, whole=True)
            costs.append(1.0)
            self.used_columns[used] = column
            self.program.row({column: 1.0, used: -float(pattern.most)}, high=0.0)
        return costs

    def _chosen(self, answer: Answer, *, bound: float, is_optimal: bool, is_tidiest: bool) -> Chosen:
        values = [round(value) for value in answer.values]
        missing = {code: values[column] for code, column in self.missing.items() if values[column]}
        return Chosen(
            times=tuple(values[: len(self.patterns)]),
            taken=tuple(values[column] for column in self.bulk_columns),
            missing=missing,
            bound=Fraction(bound) * self.unit,
            is_optimal=is_optimal,
            is_tidiest=is_tidiest,
        )
