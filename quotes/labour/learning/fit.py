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
from quotes.labour.learning.observations import Columns, Floats, Integers

__all__ = ["Fit", "fit"]

STUDIO, TREND, REPEAT, FIRST_KIND = 0, 1, 2, 3
"""Places of the terms; kinds follow one another, styles come after them."""
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
        return float(lean @ self.terms), math.sqrt(float(lean @ self.covariance @ lean) + unseen)

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
    job = table.job
    age_days = on.toordinal() - table.day
    fade = np.exp2(-age_days / beliefs.half_life_days)
    ratio = np.log(table.found / table.expected)
    is_long = table.found > (math.inf if beliefs.long_amount is None else beliefs.long_amount)
    equations = _Equations(table, age_days / DAYS_PER_YEAR, fade, beliefs)

    terms = _start(table, ratio, equations.centre)
    job_effect = np.zeros(len(table.jobs))
    entry_variance, job_variance = beliefs.entry_sd**2, beliefs.job_sd**2
    believed_average = math.exp(entry_variance / 2)
    average_log = entry_variance / 2
    for _ in range(ROUNDS):
        rest = ratio + average_log - equations.of_entries(terms) - job_effect[job]
        is_high = (rest > math.log(beliefs.most_times)) | (is_long & (rest > math.log(beliefs.long_times)))
        is_low = rest < math.log(beliefs.least_share)
        held = np.where(is_high | is_low, 0.0, fade)
        weight = held * (beliefs.tail_freedom + 1) / (beliefs.tail_freedom + rest**2 / entry_variance)

        # Long sums are not written with "@": its threads, on a busy machine, wait for each other longer than they work.
        counted = beliefs.entry_weight + held.sum()
        far = FAR_REST * math.sqrt(entry_variance)
        entry_variance = (beliefs.entry_weight * beliefs.entry_sd**2 + (weight * rest**2).sum()) / counted
        raised = (held * np.exp(np.clip(rest, -far, far))).sum()
        average = (beliefs.entry_weight * believed_average + raised) / counted
        average_log = max(0.0, math.log(average))

        before = terms
        terms, job_effect, job_unsure, precision = equations.solve(
            weight / entry_variance, ratio + average_log, job_variance
        )
        job_fade = equations.job_fade
        job_variance = (beliefs.job_weight * beliefs.job_sd**2 + job_fade @ (job_effect**2 + job_unsure)) / (
            beliefs.job_weight + job_fade.sum()
        )
        if np.abs(terms - before).max() < ENOUGH:
            break
    return Fit(
        beliefs=beliefs,
        kinds={kind: place for place, kind in enumerate(table.kinds)},
        styles={style: place for place, style in enumerate(table.styles)},
        terms=terms,
        covariance=np.asarray(np.linalg.inv(precision), dtype=np.float64),
        job_sd=math.sqrt(job_variance),
        average_log=average_log,
        expected=table.found / np.exp(rest),
        is_high=is_high,
        is_low=is_low,
    )


class _Equations:
    """Henderson's equations for given weights. Job effects are solved for each on its own and taken out.

    Only five of an entry's terms are not 0, so sums over their pairs give what a design matrix would, many times sooner.
    """

    def __init__(self, table: Columns, age: Floats, fade: Floats, beliefs: Beliefs) -> None:
        self.places, self.values = _design(table, age)
        self.precision, self.centre = _priors(table, beliefs)
        self.width, self.jobs = len(self.centre), len(table.jobs)
        self.job = table.job
        self.job_places = (self.job * self.width + self.places).ravel()
        first, second = np.triu_indices(len(self.places))
        self.pair_places = (self.places[first] * self.width + self.places[second]).ravel()
        self.pair_values = self.values[first] * self.values[second]
        self.job_fade: Floats = np.bincount(self.job, fade, self.jobs) / np.bincount(self.job, minlength=self.jobs)

    def of_entries(self, terms: Floats) -> Floats:
        """Return what the terms make of each entry."""
        summed: Floats = (self.values * terms[self.places]).sum(axis=0)
        return summed

    def solve(self, weight: Floats, aim: Floats, job_variance: float) -> tuple[Floats, Floats, Floats, Floats]:
        """Return terms, job effects, the variances of these where the terms are known, and the precision of the terms."""
        weighed = self.values * weight
        pairs = np.bincount(self.pair_places, (self.pair_values * weight).ravel(), self.width**2)
        upper = pairs.reshape(self.width, self.width)
        of_jobs = np.bincount(self.job_places, weighed.ravel(), self.jobs * self.width).reshape(self.jobs, self.width)
        of_terms = np.bincount(self.places.ravel(), (weighed * aim).ravel(), self.width)
        # Jobs fade as a whole too, or their old entries together would count as much as ever.
        job_unsure = 1 / (np.bincount(self.job, weight, self.jobs) + self.job_fade / job_variance)
        job_aim = np.bincount(self.job, weight * aim, self.jobs)

        shared = of_jobs * job_unsure[:, np.newaxis]
        of_pairs = np.einsum("jp,jq->pq", of_jobs, shared)
        left = upper + upper.T + np.diag(self.precision - upper.diagonal()) - of_pairs
        right = of_terms + self.precision * self.centre - shared.T @ job_aim
        terms: Floats = np.asarray(np.linalg.solve(left, right), dtype=np.float64)
        return terms, (job_aim - of_jobs @ terms) * job_unsure, job_unsure, left


def _design(table: Columns, age: Floats) -> tuple[Integers, Floats]:
    """Which terms an entry has, and what each is multiplied by: one row a sort of term, one column an entry."""
    count, style = len(age), table.style
    ones, first_style = np.ones(count), FIRST_KIND + len(table.kinds)
    places = np.stack(
        [
            np.full(count, STUDIO),
            np.full(count, TREND),
            np.full(count, REPEAT),
            FIRST_KIND + table.kind,
            np.where(style < 0, STUDIO, first_style + style),
        ]
    )
    return places, np.stack([ones, -age, table.doublings, ones, (style >= 0).astype(np.float64)])


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
        terms[STUDIO] = np.median(ratio)
        for place in range(len(table.kinds)):
            own = ratio[table.kind == place] - terms[STUDIO]
            terms[FIRST_KIND + place] = np.median(own) * len(own) / (len(own) + 2)
    return terms
