"""The fit: what a workroom's use of materials says of it, each part shrunk toward what was believed before.

For an entry of kind k in job j, a years ago:

    log(found ÷ expected) = workroom − trend × a + kind k + job j + rest

Every term but the rest has a normal prior about nothing of the spread that `Beliefs` names, so thin data leave what is
quoted as it is, and a kind leans on the workroom's own use before it leans on the quote. The rest follows Student's t, so
that odd entries count for less; gross ones count for nothing; old ones fade. Lengths are added up, so factors stand for
averages, not for middles: the logarithm of the average of exp(rest) is added.

Sources: Lange, Little and Taylor, Journal of the American Statistical Association 84, 1989, 881–896 (t by reweighting);
Henderson, Biometrics 31, 1975, 423–447 (the equations with job effects); Duan, Journal of the American Statistical
Association 78, 1983, 605–610 (averages from logarithms).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from quotes.labour.learning.assumptions import Beliefs
from quotes.labour.learning.observations import Columns, Floats

__all__ = ["Fit", "fit"]

WORKROOM, TREND, FIRST_KIND = 0, 1, 2
"""Places of the terms; kinds follow one another."""
DAYS_PER_YEAR = 365.25
ENOUGH = 1e-3
"""A step of all terms below a tenth of a per cent ends the search; so does the last of its rounds."""
ROUNDS = 30
FAR_REST = 3.0
"""Spreads beyond which a rest no longer raises the average."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What is known on a day.

    Attributes:
        terms: workroom, trend, kinds, as natural logarithms; `covariance` theirs.
        expected: per entry, what it should have been.
        is_high, is_low: per entry, whether it was set aside for being so.
    """

    kinds: Mapping[str, int]
    terms: Floats
    covariance: Floats
    expected: Floats
    is_high: NDArray[np.bool_]
    is_low: NDArray[np.bool_]

    def log_factor(self, kind: str) -> tuple[float, float]:
        """Return the logarithm of a kind's factor and its standard error."""
        lean = np.zeros(len(self.terms))
        lean[[WORKROOM, FIRST_KIND + self.kinds[kind]]] = 1.0
        return float(lean @ self.terms), math.sqrt(float(lean @ self.covariance @ lean))


def fit(table: Columns, on: date, beliefs: Beliefs) -> Fit:
    """Return what the entries of `table`, none of them younger than `on`, say on that day."""
    age_days = on.toordinal() - table.day
    fade = np.exp2(-age_days / beliefs.half_life_days)
    ratio = np.log(table.found / table.expected)
    equations = _Equations(table, age_days / DAYS_PER_YEAR, fade, beliefs)

    terms, job_effect = _start(table, ratio), np.zeros(len(table.jobs))
    entry_variance, job_variance = beliefs.entry_sd**2, beliefs.job_sd**2
    believed_average = math.exp(entry_variance / 2)
    average_log = entry_variance / 2
    for _ in range(ROUNDS):
        rest = ratio + average_log - equations.design @ terms - job_effect[table.job]
        is_high, is_low = rest > math.log(beliefs.most_times), rest < math.log(beliefs.least_share)
        held = np.where(is_high | is_low, 0.0, fade)
        weight = held * (beliefs.tail_freedom + 1) / (beliefs.tail_freedom + rest**2 / entry_variance)

        counted = beliefs.entry_weight + held.sum()
        far = FAR_REST * math.sqrt(entry_variance)
        entry_variance = (beliefs.entry_weight * beliefs.entry_sd**2 + (weight * rest**2).sum()) / counted
        raised = (held * np.exp(np.clip(rest, -far, far))).sum()
        average = (beliefs.entry_weight * believed_average + raised) / counted
        average_log = max(0.0, math.log(average))

        before = terms
        answer = equations.solve(weight / entry_variance, ratio + average_log, job_variance)
        terms, job_effect = answer.terms, answer.job_effect
        job_fade = equations.job_fade
        job_variance = (
            beliefs.job_weight * beliefs.job_sd**2 + (job_fade * (job_effect**2 + answer.job_unsure)).sum()
        ) / (beliefs.job_weight + job_fade.sum())
        if np.abs(terms - before).max() < ENOUGH:
            break
    return Fit(
        kinds={kind: place for place, kind in enumerate(table.kinds)},
        terms=terms,
        covariance=answer.covariance,
        expected=table.found / np.exp(rest),
        is_high=is_high,
        is_low=is_low,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Answer:
    """What the equations say for given weights: `job_unsure` is a job effect's variance where the terms are known."""

    terms: Floats
    covariance: Floats
    job_effect: Floats
    job_unsure: Floats


class _Equations:
    """Henderson's equations for given weights; each job's effect is solved on its own and taken out."""

    def __init__(self, table: Columns, age: Floats, fade: Floats, beliefs: Beliefs) -> None:
        kinds, self.job, self.jobs = len(table.kinds), table.job, len(table.jobs)
        self.design = np.zeros((len(age), FIRST_KIND + kinds))
        self.design[:, WORKROOM], self.design[:, TREND] = 1.0, -age
        self.design[np.arange(len(age)), FIRST_KIND + table.kind] = 1.0
        self.priors = np.diag([beliefs.studio_sd**-2, beliefs.trend_sd**-2, *[beliefs.kind_sd**-2] * kinds])
        self.job_fade: Floats = np.bincount(self.job, fade, self.jobs) / np.bincount(self.job, minlength=self.jobs)

    def solve(self, weight: Floats, aim: Floats, job_variance: float) -> _Answer:
        """Return the terms and job effects that fit `aim` best, where entries and job effects have these weights."""
        weighed = self.design * weight[:, np.newaxis]
        of_jobs = np.zeros((self.jobs, self.design.shape[1]))
        np.add.at(of_jobs, self.job, weighed)
        aimed = np.bincount(self.job, weight * aim, self.jobs)
        # Jobs fade as a whole too, or their old entries together would count as much as ever.
        job_unsure = 1 / (of_jobs[:, WORKROOM] + self.job_fade / job_variance)
        taken = of_jobs * job_unsure[:, np.newaxis]
        precision = weighed.T @ self.design + self.priors - taken.T @ of_jobs
        covariance = np.asarray(np.linalg.inv(precision), dtype=np.float64)
        terms = covariance @ (weighed.T @ aim - taken.T @ aimed)
        effect = (aimed - of_jobs @ terms) * job_unsure
        return _Answer(terms=terms, covariance=covariance, job_effect=effect, job_unsure=job_unsure)


def _start(table: Columns, ratio: Floats) -> Floats:
    """Where the search starts: middles, which a few gross entries cannot move."""
    terms = np.zeros(FIRST_KIND + len(table.kinds))
    if len(ratio):
        terms[WORKROOM] = np.median(ratio)
        for place in range(len(table.kinds)):
            own = ratio[table.kind == place]
            terms[FIRST_KIND + place] = (np.median(own) - terms[WORKROOM]) * len(own) / (len(own) + 2)
    return terms
