"""All explanations together: each fitted, its own errors corrected, and weighed by what it says of the whole log."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quotes.labour.hours.assumptions import Assumptions, assumptions
from quotes.labour.hours.columns import columns_of
from quotes.labour.hours.explanations import EXPLANATIONS, LOST, Explanation
from quotes.labour.hours.fit import Fit, fit
from quotes.labour.hours.foretelling import Guess, foretell, took
from quotes.labour.hours.missing import missing_evidence
from quotes.labour.hours.log import Job, NextJob, blocks_of, least_quarter_min

__all__ = ["Known", "Walk", "walk"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What all explanations say after so many jobs."""

    fits: tuple[Fit, ...]
    weights: tuple[float, ...]
    corrections: tuple[tuple[float, float, float], ...]


class Walk:
    """The walk through a log. `known(n)` is what was known after the first n jobs, `guess` what it foretells."""

    def __init__(self, jobs: Sequence[Job], beliefs: Assumptions) -> None:
        self.jobs = sorted(jobs, key=lambda job: (job.delivered, job.name))
        self.beliefs = beliefs
        first = max(0, len(self.jobs) - beliefs.jobs_kept)
        self.jobs = self.jobs[first:]
        least = least_quarter_min(self.jobs)
        self.blocks = blocks = [blocks_of(job, least_quarter=least) for job in self.jobs]
        whole = all(
            len(job.worked) == sum(len(block.places) for block in row)
            for job, row in zip(self.jobs, blocks, strict=True)
        )
        self.explanations: tuple[Explanation, ...] = (LOST,) if whole else EXPLANATIONS
        self.columns = [
            columns_of(self.jobs, blocks, explanation, first_number=first) for explanation in self.explanations
        ]
        self._fits: list[dict[int, Fit]] = [{} for _ in self.explanations]
        self._guesses: list[dict[int, Guess]] = [{} for _ in self.explanations]

    def fit_of(self, at: int, count: int) -> Fit:
        fits = self._fits[at]
        if count not in fits:
            fewer = max((known for known in fits if known < count), default=None)
            fits[count] = fit(self.columns[at], count, self.beliefs, None if fewer is None else fits[fewer])
        return fits[count]

    def before(self, job: int) -> int:
        """How many jobs were delivered before a job was begun."""
        count = bisect_left(self.jobs, self.jobs[job].begun, hi=job, key=lambda row: row.delivered)
        return count if count < 8 else count - count % 3

    def raw(self, at: int, job: int) -> Guess:
        guesses = self._guesses[at]
        if job not in guesses:
            row = self.jobs[job]
            estimates = {each.code: each.estimated_min for each in row.worked}
            minutes: dict[str, float] = {}
            for session in row.sessions:
                minutes[session.maker] = minutes.get(session.maker, 0) + session.minutes
            maker = max(minutes, key=lambda name: minutes[name]) if minutes else ""
            guesses[job] = foretell(self.fit_of(at, self.before(job)), estimates, maker)
        return guesses[job]

    def known(self, count: int) -> Known:
        fits = tuple(self.fit_of(at, count) for at in range(len(self.columns)))
        share = min(self.beliefs.evidence_share, self.beliefs.evidence_jobs / max(count, 1))
        evidence = np.array([known.evidence for known in fits]) * share
        evidence += [self.plausible(known) for known in fits]
        evidence += self.pattern(count)
        weights = np.exp(evidence - evidence.max())
        weights = np.where(weights >= 0.01*weights.sum(), weights, 0.0)
        return Known(
            fits=fits,
            weights=tuple((weights / weights.sum()).tolist()),
            corrections=tuple(self._correction(at, fits[at]) if weights[at] else (0.0,1.0,1.0) for at in range(len(fits))),
        )

    def pattern(self, count: int) -> np.ndarray:
        """What the pattern of missing operations says of each explanation."""
        limits = [row.below_min for row in self.explanations]
        if len(limits) == 1:
            return np.zeros(1)
        done, missing, estimates = (np.array(each) for each in zip(*self._missing(count).values(), strict=True)) if count else (np.zeros(0),)*3
        by_limit = {
            limit: missing_evidence(limit, estimates / np.maximum(done, 1), done, missing)
            for limit in dict.fromkeys([*limits, 0.0, math.inf])
        }
        # Where all are lost, or all are with others, any limit may tell which are missing.
        of_any = float(np.logaddexp.reduce(list(by_limit.values()))) - math.log(len(by_limit))
        of_lost = float(np.logaddexp(by_limit[0.0], of_any + math.log(self.beliefs.dropped_chance)))
        return self.beliefs.evidence_share * np.array(
            [of_lost if limit == 0 else of_any if limit == math.inf else by_limit[limit] for limit in limits]
        )

    def _missing(self, count: int) -> dict[str, list[float]]:
        found: dict[str, list[float]] = {}
        for job, row in zip(self.jobs[:count], self.blocks, strict=False):
            written = {place for block in row for place in block.places}
            for place, each in enumerate(job.worked):
                tally = found.setdefault(each.code, [0.0, 0.0, 0.0])
                tally[0] += 1
                tally[1] += place not in written
                tally[2] += each.estimated_min
        return found

    def plausible(self, known: Fit) -> float:
        """How plausible an explanation is by itself: what it makes of the whole work."""
        logged = lost = default = 0.0
        for job in range(known.jobs):
            found = took(known, job)
            if found is not None:
                first = 0 if job == 0 else known.columns.block_ends[job - 1]
                blocks = slice(int(first), int(known.columns.block_ends[job]))
                logged += float(known.columns.minutes[blocks][known.is_believed[blocks]].sum())
                lost += math.exp(found.log_min)
                default += self.jobs[job].default_min
        if not logged:
            return 0.0
        return self.beliefs.lost_weight * math.log(logged / lost) - (math.log(lost / default) / self.beliefs.pace_sd)**2 / 2

    def _correction(self, at: int, known: Fit) -> tuple[float, float, float]:
        """Bias, width and freedom by the errors of past jobs."""
        beliefs = self.beliefs
        errors, expected = [], []
        for job in range(max(0, known.jobs - beliefs.jobs_corrected), known.jobs):
            said, found = self.raw(at, job), took(known, job)
            if found is None:
                continue
            errors.append(found.log_min - said.log_min)
            expected.append(math.hypot(said.spread, found.spread))
        if not errors:
            return 0.0, beliefs.width, beliefs.width_weight
        error, spread = np.array(errors), np.array(expected)
        held = spread**-2
        held_at = beliefs.bias_weight / spread.min() ** 2
        bias = float((held * error).sum() / (held.sum() + held_at))
        # Errors of the first jobs tell of the wide guess before the pace was known, not of today's.
        share = (spread.min() / spread) ** 2
        squared = float((share * ((error - bias) / spread) ** 2).sum())
        freedom = beliefs.width_weight + float(share.sum())
        return bias, math.sqrt((beliefs.width_weight * beliefs.width**2 + squared) / freedom), freedom

    def together(self, known: Known, guesses: Sequence[Guess], *, corrected: bool) -> Guess:
        """Mix what the explanations say."""
        weights = np.array(known.weights)
        logs = np.array([guess.log_min for guess in guesses])
        spreads = np.array([guess.spread for guess in guesses])
        if corrected:
            logs = logs + [bias for bias, _, _ in known.corrections]
            spreads = spreads * [width for _, width, _ in known.corrections]
        middle = float(weights @ logs)
        return Guess(log_min=middle, spread=math.sqrt(float(weights @ (spreads**2 + (logs - middle) ** 2))))

    def foretell(self, count: int, job: NextJob) -> Guess:
        known = self.known(count)
        return self.together(
            known, [foretell(each, job.estimates, job.maker) for each in known.fits], corrected=True
        )

    def foretold(self, job: int) -> Guess:
        """What was foretold of a past job."""
        known = self.known(self.before(job))
        return self.together(known, [self.raw(at, job) for at in range(len(known.fits))], corrected=True)

    def took(self, known: Known, job: int) -> Guess | None:
        found = [took(each, job) for each in known.fits]
        if any(each is None for each in found):
            return None
        return self.together(known, [each for each in found if each is not None], corrected=False)


def walk(jobs: Sequence[Job]) -> Walk:
    """Return the walk."""
    return Walk(jobs, assumptions())
