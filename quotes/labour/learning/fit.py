"""The fit: what a studio's entries say of its pace, each part shrunk toward what was believed before.

For an entry of kind k in job j, a years ago:

    log(found ÷ expected) = studio − trend × a + kind k + style + log(rate) × log2(repetition) + job j + rest

Every term but the rest has a normal prior of the spread that `Beliefs` names, about nothing (about the default rate for
the repeats), so thin data leave the table as it is, and a kind leans on the studio's pace before it leans on the table.
The rest follows Student's t, so that odd entries count for less; gross ones count for nothing; old ones fade. Minutes
are added up, so factors stand for averages, not for middles: the logarithm of the average of exp(rest) is added.

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
from quotes.labour.learning.curve import unit_factor
from quotes.labour.learning.observations import Columns, Floats

__all__ = ["Fit", "fit"]

STUDIO, TREND, REPEAT, FIRST_KIND = 0, 1, 2, 3
"""Places of the terms; kinds follow one another, styles come after them."""
DAYS_PER_YEAR = 365.25
ENOUGH = 1e-3
"""A step of all terms below a tenth of a per cent ends the search; so does the last of its rounds."""
ROUNDS = 30
ROWS_AT_ONCE = 128
FAR_REST = 3.0
"""Spreads beyond which a rest no longer raises the average."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What is known on a day.

    Attributes:
        terms: studio, trend, repeat, kinds, styles, as natural logarithms.
        covariance: of the terms.
        job_sd: spread of one job as a whole.
        average_log: logarithm of the average of exp(rest).
        expected: per entry used, what it should have been.
        is_high, is_low: per entry, whether it was set aside for being so.
    """

    beliefs: Beliefs
    kinds: Mapping[str, int]
    styles: Mapping[str, int]
    terms: Floats
    covariance: Floats
    job_sd: float
    average_log: float
    expected: Floats
    is_high: NDArray[np.bool_]
    is_low: NDArray[np.bool_]

    def log_factor(self, kind: str) -> tuple[float, float]:
        """Return the logarithm of a kind's factor and its standard error; of one never seen, the studio's pace."""
        lean = np.zeros(len(self.terms))
        lean[STUDIO] = 1.0
        unseen = 0.0
        if kind in self.kinds:
            lean[FIRST_KIND + self.kinds[kind]] = 1.0
        else:
            unseen = self.beliefs.kind_sd**2
        return self.log_pace(kind), math.sqrt(float(lean @ self.covariance @ lean) + unseen)

    def log_pace(self, kind: str) -> float:
        """Return the logarithm of a kind's factor alone; of one never seen, the studio's pace."""
        own = float(self.terms[FIRST_KIND + self.kinds[kind]]) if kind in self.kinds else 0.0
        return float(self.terms[STUDIO]) + own

    @property
    def pace(self) -> float:
        """The factor of an operation that was never logged."""
        return math.exp(float(self.terms[STUDIO]))

    @property
    def log_rate(self) -> tuple[float, float]:
        """The logarithm of the learning curve's rate and its standard error."""
        return float(self.terms[REPEAT]), math.sqrt(float(self.covariance[REPEAT, REPEAT]))

    def factor(self, style: str, repetition: int) -> float:
        """Return what a style and its repetition make of the time of all kinds."""
        place = self._style_place(style)
        own = 0.0 if place is None else float(self.terms[place])
        return math.exp(own) * unit_factor(repetition, math.exp(self.log_rate[0]))

    def spread(self, amounts: Mapping[str, float], style: str, repetition: int) -> float:
        """Return the standard deviation of the logarithm of a new job's total, where `amounts` are learnt ones.

        It holds what is not known of the terms, what one job differs from another, and what its entries do.
        """
        whole = math.fsum(amounts.values())
        lean = np.zeros(len(self.terms))
        lean[STUDIO], lean[REPEAT] = 1.0, math.log2(repetition)
        place = self._style_place(style)
        variance = self.job_sd**2
        if place is not None:
            lean[place] = 1.0
        elif style:
            variance += self.beliefs.style_sd**2
        for kind, amount in amounts.items():
            share = amount / whole
            variance += share**2 * 2 * self.average_log
            if kind in self.kinds:
                lean[FIRST_KIND + self.kinds[kind]] = share
            else:
                variance += (share * self.beliefs.kind_sd) ** 2
        return math.sqrt(variance + float(lean @ self.covariance @ lean))

    def _style_place(self, style: str) -> int | None:
        place = self.styles.get(style)
        return None if place is None else FIRST_KIND + len(self.kinds) + place


def fit(table: Columns, on: date, beliefs: Beliefs) -> Fit:
    """Return what the entries of `table`, none of them younger than `on`, say on that day."""
    age_days = on.toordinal() - table.day
    fade = np.exp2(-age_days / beliefs.half_life_days)
    ratio = np.log(table.found / table.expected)
    is_long = table.found > (math.inf if beliefs.long_amount is None else beliefs.long_amount)
    equations = _Equations(table, age_days / DAYS_PER_YEAR, fade, beliefs)

    terms, job_effect = _start(table, ratio, equations.centre), np.zeros(len(table.jobs))
    entry_variance, job_variance = beliefs.entry_sd**2, beliefs.job_sd**2
    believed_average = math.exp(entry_variance / 2)
    average_log = entry_variance / 2
    for _ in range(ROUNDS):
        rest = ratio + average_log - equations.of_entries(terms, job_effect)
        is_high = (rest > math.log(beliefs.most_times)) | (is_long & (rest > math.log(beliefs.long_times)))
        is_low = rest < math.log(beliefs.least_share)
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
        beliefs=beliefs,
        kinds={kind: place for place, kind in enumerate(table.kinds)},
        styles={style: place for place, style in enumerate(table.styles)},
        terms=terms,
        covariance=answer.covariance(),
        job_sd=math.sqrt(job_variance),
        average_log=average_log,
        expected=table.found / np.exp(rest),
        is_high=is_high,
        is_low=is_low,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Answer:
    """What the equations say for given weights.

    Attributes:
        job_effect: of each job; `job_unsure` its variance where the terms are known.
        core, cross, own: the precision of the terms: of those that are no style, of these with each style (one row a
            style), of each style.
    """

    terms: Floats
    job_effect: Floats
    job_unsure: Floats
    core: Floats
    cross: Floats
    own: Floats

    def covariance(self) -> Floats:
        """Return the inverse of the precision, block by block."""
        lean = self.cross / self.own[:, np.newaxis]
        core = np.linalg.inv(self.core - lean.T @ self.cross)
        between = -core @ lean.T
        found: Floats = np.block([[core, between], [between.T, np.diag(1 / self.own) - lean @ between]])
        return found


class _Equations:
    """Henderson's equations for given weights. Job effects are solved for each on its own and taken out, and so are
    styles: a job has one style, so that no two of them meet.

    The terms of an entry are its job's (studio, repeat, style), its kind's and the trend, so sums of weights by job and
    kind give what a design matrix would, many times sooner.
    """

    def __init__(self, table: Columns, age: Floats, fade: Floats, beliefs: Beliefs) -> None:
        self.age, self.job, self.kind = age, table.job, table.kind
        self.style, self.doublings = table.style, table.doublings
        self.precision, self.centre = _priors(table, beliefs)
        self.jobs, self.kinds = len(table.jobs), len(table.kinds)
        self.first_style = FIRST_KIND + self.kinds
        self.cell = self.job * self.kinds + self.kind
        # Jobs by style, those without one left out, and where each style begins among them.
        in_order = np.argsort(self.style, kind="stable")
        self.styled = in_order[np.searchsorted(self.style[in_order], 0) :]
        self.style_starts = np.searchsorted(self.style[self.styled], np.arange(len(table.styles)))
        self.job_fade: Floats = np.bincount(self.job, fade, self.jobs) / np.bincount(self.job, minlength=self.jobs)

    def of_entries(self, terms: Floats, job_effect: Floats) -> Floats:
        """Return what the terms and the jobs make of each entry."""
        of_style = np.append(terms[self.first_style :], 0.0)[self.style]  # no style is −1: the last, which is nothing
        of_job = job_effect + terms[STUDIO] + terms[REPEAT] * self.doublings + of_style
        of_kind = terms[FIRST_KIND : self.first_style]
        found: Floats = of_job[self.job] + of_kind[self.kind] - terms[TREND] * self.age
        return found

    def solve(self, weight: Floats, aim: Floats, job_variance: float) -> _Answer:
        """Return the terms and job effects that fit `aim` best, where entries and job effects have these weights."""
        aged, aimed = weight * self.age, weight * aim
        of_cells = np.bincount(self.cell, weight, self.jobs * self.kinds).reshape(self.jobs, self.kinds)
        of_jobs = of_cells.sum(axis=1)
        # What each job, one a row, adds to the terms that are no style, and last to the aim.
        rows = np.empty((self.jobs, self.first_style + 1))
        rows[:, STUDIO] = of_jobs
        rows[:, TREND] = -np.bincount(self.job, aged, self.jobs)
        rows[:, REPEAT] = self.doublings * of_jobs
        rows[:, FIRST_KIND:-1] = of_cells
        rows[:, -1] = np.bincount(self.job, aimed, self.jobs)
        # Jobs fade as a whole too, or their old entries together would count as much as ever.
        job_unsure = 1 / (of_jobs + self.job_fade / job_variance)
        stays = 1 - of_jobs * job_unsure  # the share that the jobs' own effects leave

        # All jobs together, one row a term: first as they are, then less what their own effects take.
        summed = np.zeros((self.first_style, self.first_style + 1))
        summed[STUDIO], summed[REPEAT] = rows.sum(axis=0), np.einsum("j,jt->t", self.doublings, rows)
        by_kind = summed[FIRST_KIND:]
        np.fill_diagonal(by_kind[:, FIRST_KIND:], summed[STUDIO, FIRST_KIND:-1])
        by_kind[:, :FIRST_KIND] = summed[:FIRST_KIND, FIRST_KIND:-1].T
        by_kind[:, TREND] = -np.bincount(self.kind, aged, self.kinds)
        by_kind[:, -1] = np.bincount(self.kind, aimed, self.kinds)
        summed[TREND, :-1] = summed[:, TREND]
        summed[TREND, TREND], summed[TREND, -1] = (aged * self.age).sum(), -(aged * aim).sum()
        summed -= _summed_products(rows[:, :-1], rows * job_unsure[:, np.newaxis])
        core = summed[:, :-1] + np.diag(self.precision[: self.first_style])
        right = summed[:, -1] + (self.precision * self.centre)[: self.first_style]

        styles = np.add.reduceat(rows[self.styled] * stays[self.styled, np.newaxis], self.style_starts)
        cross = styles[:, :-1]
        own = self.precision[self.first_style :] + cross[:, STUDIO]
        lean = styles / own[:, np.newaxis]
        less = _summed_products(cross, lean)
        known = np.asarray(np.linalg.solve(core - less[:, :-1], right - less[:, -1]), dtype=np.float64)
        style = lean[:, -1] - np.einsum("st,t->s", lean[:, :-1], known)
        of_known = np.einsum("jt,t->j", rows[:, :-1], known) + of_jobs * np.append(style, 0.0)[self.style]
        return _Answer(
            terms=np.concatenate([known, style]),
            job_effect=(rows[:, -1] - of_known) * job_unsure,
            job_unsure=job_unsure,
            core=core,
            cross=cross,
            own=own,
        )


def _summed_products(left: Floats, right: Floats) -> Floats:
    """Return `left.T @ right`, a few rows at a time: a product so small is not spread over threads.

    On a busy machine threads wait for each other longer than they work.
    """
    found = np.zeros((left.shape[1], right.shape[1]))
    for first in range(0, len(left), ROWS_AT_ONCE):
        found += left[first : first + ROWS_AT_ONCE].T @ right[first : first + ROWS_AT_ONCE]
    return found


def _priors(table: Columns, beliefs: Beliefs) -> tuple[Floats, Floats]:
    """Precision and centre of every term."""
    spreads = [beliefs.studio_sd, beliefs.trend_sd, beliefs.repeat_sd]
    spreads += [beliefs.kind_sd] * len(table.kinds) + [beliefs.style_sd] * len(table.styles)
    centre = np.zeros(len(spreads))
    centre[REPEAT] = math.log(beliefs.repeat_rate)
    return 1 / np.square(np.array(spreads)), centre


def _start(table: Columns, ratio: Floats, centre: Floats) -> Floats:
    """Where the search starts: middles, which a few gross entries cannot move."""
    terms = centre.copy()
    if len(ratio):
        terms[STUDIO] = _middle(ratio)
        by_kind = ratio[np.argsort(table.kind.astype(np.uint16), kind="stable")]  # short numbers are sorted much sooner
        first = 0
        for place, count in enumerate(np.bincount(table.kind).tolist()):
            own = _middle(by_kind[first : first + count]) - terms[STUDIO]
            terms[FIRST_KIND + place] = own * count / (count + 2)
            first += count
    return terms


def _middle(values: Floats) -> float:
    """The median. numpy's own looks first for what is no number, which takes longer for the few values of a kind."""
    ordered = np.sort(values)
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2
