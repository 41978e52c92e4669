"""How good estimates of past jobs were, each by what was known before it: the model's judgement of itself.

What a job took is not always known, where a part of it was never written: then it is a distribution, so its error is
the average over it, and its range held with the chance that it lies inside.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean

from quotes.labour.hours.foretelling import Guess
from quotes.labour.hours.walk import Walk

__all__ = ["JudgedJob", "Judgement", "judge", "reach_of"]

EVEN = tuple(NormalDist().inv_cdf((at + 0.5) / 9) for at in range(9))
"""Deviations that stand for a normal distribution in nine equal parts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedJob:
    """A past job: the table's minutes, what would have been foretold of it, and what it took as far as can be told."""

    name: str
    default_min: float
    foretold: Guess
    took: Guess

    @property
    def default_error(self) -> float:
        """|table ÷ actual − 1| on average."""
        return self._error(math.log(self.default_min))

    @property
    def error(self) -> float:
        """|foretold ÷ actual − 1| on average."""
        return self._error(self.foretold.log_min)

    def held(self, share: float) -> float:
        """The chance that the range of this share held it."""
        reach = reach_of(self.foretold, share)
        low, high = self.foretold.log_min - reach, self.foretold.log_min + reach
        if self.took.spread == 0:
            return float(low <= self.took.log_min <= high)
        actual = NormalDist(self.took.log_min, self.took.spread)
        return actual.cdf(high) - actual.cdf(low)

    def _error(self, log_min: float) -> float:
        return fmean(abs(math.exp(log_min - self.took.log_min - self.took.spread * at) - 1) for at in EVEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """The jobs that could be judged, oldest first, and three measures of them, from 0 to 1; None where there are none."""

    jobs: tuple[JudgedJob, ...]
    mape_default: float | None
    mape_learnt: float | None
    coverage_80: float | None


def judge(walk: Walk, count: int) -> Judgement:
    """Return the judgement over the latest of the first `count` jobs, as many as are judged."""
    beliefs = walk.beliefs
    now = walk.known(count)
    rows = []
    for place in range(max(0, count - beliefs.jobs_judged), count):
        job, took = walk.jobs[place], now.took(place)
        if took is not None and job.default_min > 0:
            rows.append(JudgedJob(name=job.name, default_min=job.default_min, foretold=walk.foretold(place), took=took))
    return Judgement(
        jobs=tuple(rows),
        mape_default=_mean([row.default_error for row in rows]),
        mape_learnt=_mean([row.error for row in rows]),
        coverage_80=_mean([row.held(beliefs.range_share) for row in rows]),
    )


def reach_of(guess: Guess, share: float) -> float:
    """Return how far on either side of the middle, in logarithms, `share` of a normal distribution lies."""
    return NormalDist().inv_cdf((1 + share) / 2) * guess.spread


def _mean(values: Sequence[float]) -> float | None:
    return fmean(values) if values else None
