"""The walk through a log: what was known after each job, and how wrong what it foretold turned out.

Each past job is foretold by a fit that ends before it was begun. Under each explanation, errors = log(took ÷ foretold)
correct what is foretold next:

    bias = Σ h × error ÷ (Σ h + b × max h),   h = 1 ÷ spread²,
    width² = (w × width0² + Σ g × ((error − bias) ÷ spread)²) ÷ (w + Σ g),   g = h ÷ max h,

so both are nothing new while few jobs were judged, and the first jobs' wide guesses tell little of today's. What all
explanations foretell is mixed: its spread holds theirs and how far they lie apart.
Source: the normal distribution with conjugate priors; Gelman and others, Bayesian Data Analysis, chapter 2.
"""

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from quotes.labour.hours.assumptions import Assumptions
from quotes.labour.hours.columns import columns_of
from quotes.labour.hours.explanations import EXPLANATIONS, LOST, Explanation
from quotes.labour.hours.fit import Fit, fit
from quotes.labour.hours.foretelling import Guess, foretell, took
from quotes.labour.hours.log import Job, blocks_of, least_quarter_min
from quotes.labour.hours.weighing import weights_of

__all__ = ["Correction", "Known", "Walk", "correction"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What past errors add to the logarithm that is foretold, and how many times wider it is."""

    bias: float = 0.0
    width: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What was known after so many jobs: the explanations that count, and of each its weight, fit and correction."""

    explanations: tuple[Explanation, ...]
    weights: tuple[float, ...]
    fits: tuple[Fit, ...]
    corrections: tuple[Correction, ...]

    @property
    def likeliest(self) -> int:
        """The place of the explanation with the greatest weight."""
        return max(range(len(self.weights)), key=lambda at: self.weights[at])

    def foretell(self, estimates: Mapping[str, float], maker: str) -> Guess:
        """Return what a job to come takes."""
        guesses = [foretell(each, estimates, maker) for each in self.fits]
        return self.mixed(
            [
                Guess(
                    log_min=guess.log_min + corrected.bias,
                    spread=guess.spread * corrected.width,
                    common=guess.common * corrected.width,
                )
                for guess, corrected in zip(guesses, self.corrections, strict=True)
            ]
        )

    def took(self, job: int) -> Guess | None:
        """Return what a past job took, as far as can be told; None where nothing of it was written."""
        guesses = [took(each, job) for each in self.fits]
        return None if None in guesses else self.mixed([guess for guess in guesses if guess is not None])

    def mixed(self, guesses: Sequence[Guess]) -> Guess:
        """Return one guess of all explanations' own."""
        weights = np.array(self.weights)
        logs, spreads, common = (
            np.array([getattr(guess, name) for guess in guesses]) for name in ("log_min", "spread", "common")
        )
        middle = float(weights @ logs)
        apart = (logs - middle) ** 2
        return Guess(
            log_min=middle,
            spread=math.sqrt(float(weights @ (spreads**2 + apart))),
            common=math.sqrt(float(weights @ (common**2 + apart))),
        )


class Walk:
    """The latest jobs of a log, in the order in which they were delivered; fits are made when they are asked for."""

    def __init__(self, jobs: Sequence[Job], beliefs: Assumptions, *, earlier: int = 0) -> None:
        in_order = sorted(jobs, key=lambda job: (job.delivered, job.name))
        left_out = max(0, len(in_order) - beliefs.jobs_kept)
        self.jobs, self.beliefs = in_order[left_out:], beliefs
        least = least_quarter_min(self.jobs)
        self.blocks = [blocks_of(job, least_quarter=least) for job in self.jobs]
        is_whole = all(
            len(job.worked) == sum(len(block.places) for block in row)
            for job, row in zip(self.jobs, self.blocks, strict=True)
        )
        self.explanations = (LOST,) if is_whole else EXPLANATIONS
        self._columns = [
            columns_of(
                self.jobs, self.blocks, explanation, first_number=earlier + left_out, most_codes=beliefs.most_codes
            )
            for explanation in self.explanations
        ]
        self._fits: list[dict[int, Fit]] = [{} for _ in self.explanations]
        self._guesses: list[dict[int, Guess]] = [{} for _ in self.explanations]
        self._known: dict[int, Known] = {}

    def known(self, count: int) -> Known:
        """Return what was known after the first `count` jobs."""
        if count not in self._known:
            fits = [self._fit(at, count) for at in range(len(self.explanations))]
            weights = weights_of(fits, self.explanations, self.jobs[:count], self.blocks[:count], self.beliefs)
            counted = [at for at, weight in enumerate(weights) if weight > 0]
            self._known[count] = Known(
                explanations=tuple(self.explanations[at] for at in counted),
                weights=tuple(weights[at] for at in counted),
                fits=tuple(fits[at] for at in counted),
                corrections=tuple(self._correction(at, fits[at]) for at in counted),
            )
        return self._known[count]

    def foretold(self, job: int) -> Guess:
        """Return what was foretold of a past job."""
        return self.known(self._before(job)).foretell(*_asked(self.jobs[job]))

    def _before(self, job: int) -> int:
        """How many jobs the fit holds that a past job is foretold by: of those delivered before it was begun.

        Once some are known a fit serves the next few jobs, so that judging costs a part of it; it is a little older
        than it could be.
        """
        known = bisect_left(self.jobs, self.jobs[job].begun, hi=job, key=lambda row: row.delivered)
        return known if known < self.beliefs.fit_each_until else known - known % self.beliefs.fit_every

    def _fit(self, at: int, count: int) -> Fit:
        fits = self._fits[at]
        if count not in fits:
            fewer = max((known for known in fits if known < count), default=None)
            fits[count] = fit(self._columns[at], count, self.beliefs, None if fewer is None else fits[fewer])
        return fits[count]

    def _correction(self, at: int, known: Fit) -> Correction:
        errors, spreads = [], []
        for job in range(max(0, known.jobs - self.beliefs.jobs_corrected), known.jobs):
            found = took(known, job)
            if found is None:
                continue
            if job not in self._guesses[at]:
                self._guesses[at][job] = foretell(self._fit(at, self._before(job)), *_asked(self.jobs[job]))
            said = self._guesses[at][job]
            errors.append(found.log_min - said.log_min)
            spreads.append(math.hypot(said.spread, found.spread))
        return correction(errors, spreads, self.beliefs)


def correction(errors: Sequence[float], spreads: Sequence[float], beliefs: Assumptions) -> Correction:
    """Return what errors of these foretold spreads say of the next one."""
    if not errors:
        return Correction()
    error, spread = np.array(errors), np.array(spreads)
    held = spread**-2
    bias = float((held * error).sum() / (held.sum() + beliefs.bias_weight * held.max()))
    share = held / held.max()
    squared = float((share * ((error - bias) / spread) ** 2).sum())
    width = (beliefs.width_weight * beliefs.width**2 + squared) / (beliefs.width_weight + float(share.sum()))
    return Correction(bias=bias, width=math.sqrt(width))


def _asked(job: Job) -> tuple[dict[str, float], str]:
    """What would have been asked of a past job: its estimates, and who made most of it."""
    makers: Counter[str] = Counter()
    for session in job.sessions:
        makers[session.maker] += max(1, round(session.minutes))
    estimates = {row.code: row.estimated_min for row in job.worked}
    return estimates, max(makers, key=lambda name: (makers[name], name)) if makers else ""
