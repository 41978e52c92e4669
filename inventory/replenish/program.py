"""A mixed-integer linear program for the solver library: columns, rows, an answer with its bound."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isclose
from operator import mul

import highspy
import numpy as np
from numpy.typing import NDArray

__all__ = ["INFINITY", "Answer", "Entries", "Numbers", "Places", "Point", "Program", "Relaxation"]

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

INFINITY = float(highspy.kHighsInf)

# Threads that wait for each other cost small programs more than they bring.
THREADS = 1
# A block of a larger program is solved by its bounds and cuts sooner than any search for answers ends.
WITHOUT_SEARCH: Mapping[str, float | bool] = {
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_root_reduced_cost": False,
    "mip_allow_restart": False,
    "mip_detect_symmetry": False,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Values by column and what they cost. `is_optimal` says that nothing is cheaper; `bound` is below every answer."""

    values: tuple[float, ...]
    cost: float
    is_optimal: bool
    bound: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """The cheapest point where nothing need be whole: values by column, duals by row, and the cost."""

    values: Numbers
    duals: Numbers
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """Factors of a program, each with its row and its column."""

    rows: Places
    columns: Places
    factors: Numbers

    def where(self, taken: NDArray[np.bool_] | Places) -> "Entries":
        """Some of them, by yes and no or by their places."""
        return Entries(rows=self.rows[taken], columns=self.columns[taken], factors=self.factors[taken])

    def by_column(self, of_rows: Numbers, size: int) -> Numbers:
        """Σ factor × number of its row, for each of `size` columns."""
        return np.bincount(self.columns, self.factors * of_rows[self.rows], size).astype(np.float64)

    def by_row(self, of_columns: Numbers, size: int) -> Numbers:
        """Σ factor × number of its column, for each of `size` rows."""
        return np.bincount(self.rows, self.factors * of_columns[self.columns], size).astype(np.float64)


@dataclass(slots=True)
class Program:
    """Minimise cost over columns within rows. Shared columns and rows are those that join it into one program."""

    costs: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lows: list[float] = field(default_factory=list)
    row_highs: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    factors: list[float] = field(default_factory=list)
    shared_columns: list[int] = field(default_factory=list)
    shared_rows: list[int] = field(default_factory=list)

    def column(self, *, cost: float = 0.0, high: float = INFINITY, whole: bool = False, shared: bool = False) -> int:
        """Add a column that is zero or more and return its number."""
        place = len(self.costs)
        if shared:
            self.shared_columns.append(place)
        self.costs.append(cost)
        self.highs.append(high)
        self.whole.append(whole)
        return place

    def row(
        self, terms: Mapping[int, float], *, low: float = -INFINITY, high: float = INFINITY, shared: bool = False
    ) -> int:
        """Ask that Σ factor × column lies between `low` and `high`, and return the row's number."""
        place = len(self.row_lows)
        if shared:
            self.shared_rows.append(place)
        self.starts.append(len(self.columns))
        self.columns.extend(terms)
        self.factors.extend(terms.values())
        self.row_lows.append(low)
        self.row_highs.append(high)
        return place

    @property
    def entries(self) -> "Entries":
        """All factors with their rows and columns."""
        lengths = np.diff([*self.starts, len(self.columns)])
        return Entries(
            rows=np.repeat(np.arange(len(self.starts)), lengths),
            columns=np.array(self.columns, dtype=np.int64),
            factors=np.array(self.factors, dtype=np.float64),
        )

    def solved(
        self,
        *,
        seconds: float,
        gap: float = 0.0,
        start: Numbers | None = None,
        searching: bool = True,
        nodes: int | None = None,
    ) -> Answer | None:
        """Return the best answer found in time, or None where there is none.

        Args:
            gap: absolute difference from the bound that counts as optimal.
            start: values of an answer to begin with.
            searching: whether answers are searched for beside bounds.
            nodes: of the search, after which it ends; alike on every machine, as time is not.
        """
        if not self.costs:
            # The solver calls a program without columns empty, not solved.
            holds = all(low <= 0 <= high for low, high in zip(self.row_lows, self.row_highs, strict=True))
            return Answer(values=(), cost=0.0, is_optimal=True, bound=0.0) if holds else None
        solver = self.solver(is_whole=True)
        solver.setOptionValue("time_limit", seconds)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", gap)
        solver.setOptionValue("mip_feasibility_tolerance", 1e-7)
        if nodes is not None:
            solver.setOptionValue("mip_max_nodes", nodes)
        for name, value in {} if searching else WITHOUT_SEARCH.items():
            solver.setOptionValue(name, value)
        if start is not None:
            solution = highspy.HighsSolution()
            solution.col_value = start.tolist()
            solver.setSolution(solution)
        solver.run()
        info = solver.getInfo()
        is_optimal = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None
        bound = float(info.mip_dual_bound) if any(self.whole) else float(info.objective_function_value)
        cost, values = float(info.objective_function_value), tuple(solver.getSolution().col_value)
        if start is not None and not isclose(cost, sum(map(mul, self.costs, values)), rel_tol=1e-6, abs_tol=1e-6):
            # HiGHS 1.16 now and then tells of a start that it improves an objective without the answer.
            left = max(0.0, seconds - solver.getRunTime())
            return self.solved(seconds=left, gap=gap, searching=searching, nodes=nodes)
        return Answer(values=values, cost=cost, is_optimal=is_optimal, bound=bound)

    def solver(self, *, is_whole: bool) -> highspy.Highs:
        """The solver with this program; without what must be whole where that is left out."""
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(self.costs), len(self.row_lows)
        model.col_cost_, model.col_lower_, model.col_upper_ = self.costs, [0.0] * len(self.costs), self.highs
        model.row_lower_, model.row_upper_ = self.row_lows, self.row_highs
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = [*self.starts, len(self.columns)]
        model.a_matrix_.index_, model.a_matrix_.value_ = self.columns, self.factors
        kinds = highspy.HighsVarType
        if is_whole and any(self.whole):
            model.integrality_ = [kinds.kInteger if is_whole else kinds.kContinuous for is_whole in self.whole]
        solver = highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("threads", THREADS)
        solver.setOptionValue("random_seed", 1)
        solver.passModel(model)
        return solver


class Relaxation:
    """A program without what must be whole, solved again and again from where it was, as rows are added to it."""

    def __init__(self, program: Program) -> None:
        self.program = program
        self.solver = program.solver(is_whole=False)

    def row(self, terms: Mapping[int, float], *, low: float) -> int:
        """Add a row to the program and here."""
        columns = np.fromiter(terms, dtype=np.int32, count=len(terms))
        factors = np.fromiter(terms.values(), dtype=np.float64, count=len(terms))
        self.solver.addRow(low, INFINITY, len(terms), columns, factors)
        return self.program.row(terms, low=low)

    def solved(self, *, seconds: float) -> Point | None:
        """Return the cheapest point; None where time runs out or there is none."""
        # The solver counts the time of all its runs together.
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(0.0, seconds))
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        solution = self.solver.getSolution()
        return Point(
            values=np.array(solution.col_value),
            duals=np.array(solution.row_dual),
            cost=float(self.solver.getInfo().objective_function_value),
        )
