"""Weeks as they may come: for each walk through the plan one sequence of them, the same for all its jobs.

Each walk first draws how often each known week comes in this workroom (a Dirichlet draw about the weights), then its weeks
by these frequencies. So a workroom of which little is known differs widely from walk to walk, and one whose weeks are many
goes on as it went.

Source: Rubin, The Bayesian bootstrap (Annals of Statistics, 1981), with the default weeks as its prior (Ferguson 1973).
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from studio.schedule.worked import DAYS_OF_A_WEEK, WorkedShare

__all__ = ["DrawnWeeks", "draw_weeks"]

WEEKS_DRAWN = 53
"""A longer plan goes through the same weeks again."""
MINUTES_OF_A_DAY = 1440
STREAM = 1
"""Weeks have random numbers of their own, so that they stay the same whatever jobs are in the plan."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnWeeks:
    """What is worked of each day, by walk.

    Attributes:
        monday: of the week in which the plan starts.
        day_shares: of Monday to Sunday, a row per known week.
        drawn: which of them comes, a row per week from the first on, a column per walk.
    """

    monday: date
    day_shares: NDArray[np.float64]
    drawn: NDArray[np.intp]

    def minutes_on(self, day: date, planned_min: int) -> NDArray[np.int64]:
        """Return the whole minutes that each walk works of those that are planned, a day at most."""
        week = (day - self.monday).days // DAYS_OF_A_WEEK % len(self.drawn)
        worked: NDArray[np.float64] = np.rint(planned_min * self.day_shares[self.drawn[week], day.weekday()])
        return np.minimum(worked, MINUTES_OF_A_DAY).astype(np.int64)


def draw_weeks(worked: WorkedShare, draws: int, start: date, *, seed: int) -> DrawnWeeks:
    """Return weeks for so many walks; the same seed and share give the same ones. The weights are one or more in all."""
    random = np.random.default_rng((seed, STREAM))
    often = random.standard_gamma(np.array(worked.weights), (draws, len(worked.weights)))
    reached = np.cumsum(often, axis=1)
    reached /= reached[:, -1:]
    # Each walk's own steps from 0 to 1, laid one after another, so that one search answers for all walks.
    walk = np.arange(draws)
    steps = (reached + walk[:, None]).ravel()
    found = np.searchsorted(steps, random.random((WEEKS_DRAWN, draws)) + walk, side="right")
    drawn = np.minimum(found - walk * len(worked.weights), len(worked.weights) - 1)
    return DrawnWeeks(monday=start - timedelta(days=start.weekday()), day_shares=np.array(worked.weeks), drawn=drawn)
