"""A mixed-integer linear program for the solver library: columns, rows, an answer with its bound."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import highspy

__all__ = ["INFINITY", "Answer", "Program"]

INFINITY = float(highspy.kHighsInf)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Values by column and what they cost. `is_optimal` says that nothing is cheaper; `bound` is below every answer."""

    values: tuple[float, ...]
    cost: float
    is_optimal: bool
    bound: float


@dataclass(slots=True)
class Program:
    """Minimise cost over columns within rows."""

    costs: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lows: list[float] = field(default_factory=list)
    row_highs: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    factors: list[float] = field(default_factory=list)

    def column(self, *, cost: float = 0.0, high: float = INFINITY, whole: bool = False) -> int:
        """Add a column that is zero or more and return its number."""
        self.costs.append(cost)
        self.highs.append(high)
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float], *, low: float = -INFINITY, high: float = INFINITY) -> None:
        """Ask that Σ factor × column lies between `low` and `high`."""
        self.starts.append(len(self.columns))
        self.columns.extend(terms)
        self.factors.extend(terms.values())
        self.row_lows.append(low)
        self.row_highs.append(high)

    def solved(self, *, seconds: float, gap: float = 0.0) -> Answer | None:
        """Return the best answer found in time, or None where there is none.

        Args:
            gap: absolute difference from the bound that counts as optimal.
        """
        if not self.costs:
            # The solver calls a program without columns empty, not solved.
            holds = all(low <= 0 <= high for low, high in zip(self.row_lows, self.row_highs, strict=True))
            return Answer(values=(), cost=0.0, is_optimal=True, bound=0.0) if holds else None
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(self.costs), len(self.row_lows)
        model.col_cost_, model.col_lower_, model.col_upper_ = self.costs, [0.0] * len(self.costs), self.highs
        model.row_lower_, model.row_upper_ = self.row_lows, self.row_highs
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = [*self.starts, len(self.columns)]
        model.a_matrix_.index_, model.a_matrix_.value_ = self.columns, self.factors
        kinds = highspy.HighsVarType
        if any(self.whole):
            model.integrality_ = [kinds.kInteger if is_whole else kinds.kContinuous for is_whole in self.whole]
        solver = highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("time_limit", seconds)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", gap)
        solver.setOptionValue("mip_feasibility_tolerance", 1e-7)
        solver.setOptionValue("random_seed", 1)
        solver.passModel(model)
        solver.run()
        info = solver.getInfo()
        is_optimal = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None
        bound = float(info.mip_dual_bound) if any(self.whole) else float(info.objective_function_value)
        cost = float(info.objective_function_value)
        return Answer(values=tuple(solver.getSolution().col_value), cost=cost, is_optimal=is_optimal, bound=bound)
