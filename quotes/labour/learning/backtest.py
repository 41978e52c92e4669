"""The backtest: would learnt minutes have foretold past jobs better than the table, and did the range hold?"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from statistics import fmean

from quotes.labour.learning.assumptions import labour_beliefs
from quotes.labour.learning.fit import fit
from quotes.labour.learning.known_before import JudgedJob, range_of_errors, walk
from quotes.labour.learning.observations import Observation, columns, logged_entries

__all__ = ["Backtest", "BacktestRow", "backtest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BacktestRow:
    """A job and the range that would have been given on its first day, minutes without allowance."""

    judged: JudgedJob
    low_min: float
    high_min: float

    @property
    def is_held(self) -> bool:
        """Whether the range held what the job took."""
        return self.low_min <= self.judged.actual_min <= self.high_min


@dataclass(frozen=True, slots=True, kw_only=True)
class Backtest:
    """How good estimates would have been. Shares from 0 to 1; None where no job could be judged.

    Attributes:
        rows: one for each job, oldest first.
        mape_default, mape_learnt: mean of |estimate − actual| ÷ actual by the table, and by learnt minutes.
        coverage_80: share of jobs whose 80 % range held.
    """

    rows: tuple[BacktestRow, ...]
    mape_default: float | None
    mape_learnt: float | None
    coverage_80: float | None

    @property
    def jobs(self) -> int:
        """How many jobs were judged."""
        return len(self.rows)


def backtest(observations: Sequence[Observation]) -> Backtest:
    """Return how past jobs would have been estimated, each only from what was known before its first day."""
    table = columns(logged_entries(observations))
    if not table.entries:
        return Backtest(rows=(), mape_default=None, mape_learnt=None, coverage_80=None)
    today = fit(table, table.entries[-1].day, labour_beliefs())
    judged = walk(observations, table, today, latest=None)
    in_time = sorted(judged, key=lambda past: past.finished)
    errors = [past.error for past in in_time]
    rows = []
    for job in judged:
        low, high = range_of_errors(errors[: bisect_left(in_time, job.day, key=lambda past: past.finished)])
        rows.append(
            BacktestRow(
                judged=job,
                low_min=job.learnt_min * exp(low * job.spread),
                high_min=job.learnt_min * exp(high * job.spread),
            )
        )
    if not rows:
        return Backtest(rows=(), mape_default=None, mape_learnt=None, coverage_80=None)
    return Backtest(
        rows=tuple(rows),
        mape_default=fmean(abs(job.default_min / job.actual_min - 1) for job in judged),
        mape_learnt=fmean(abs(job.learnt_min / job.actual_min - 1) for job in judged),
        coverage_80=fmean(row.is_held for row in rows),
    )
