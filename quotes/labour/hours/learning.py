"""What a log teaches: factors, the next job's hours with their range, and how good past estimates were."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.ground.findings import Finding
from quotes.labour.hours.assumptions import assumptions
from quotes.labour.hours.findings import log_findings
from quotes.labour.hours.foretelling import Guess, log_factor
from quotes.labour.hours.judging import Judgement, judge, reach_of
from quotes.labour.hours.log import Job, NextJob
from quotes.labour.hours.walk import Known, Walk

__all__ = ["Forecast", "Hours", "OperationFactor", "foretell", "learn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationFactor:
    """What an operation takes of its estimate on average; 8 times in 10 that average lies between low and high.

    Attributes:
        jobs: in how many its time was written.
    """

    code: str
    factor: float
    low: float
    high: float
    jobs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """A next job's whole minutes, without allowance: the middle, and the range that holds them 8 times in 10."""

    name: str
    default_min: float
    likely_min: float
    low_min: float
    high_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """What is known after all jobs of a log. `jobs` counts those that have a written minute."""

    jobs: int
    known: Known
    operations: tuple[OperationFactor, ...]
    findings: tuple[Finding, ...]
    walk: Walk

    def judgement(self) -> Judgement:
        """Return how good estimates of the latest jobs were."""
        return judge(self.walk, len(self.walk.jobs))


def learn(jobs: Sequence[Job]) -> Hours:
    """Return what a log teaches. Only the latest jobs count (`jobs_kept`), so it costs the same however many there are:
    of sixty jobs of thirty operations about a third of a second; `Hours.judgement` half a second more.
    """
    walk = Walk(jobs, assumptions())
    known = walk.known(len(walk.jobs))
    written = Counter(
        code for job in walk.jobs for code in {each for session in job.sessions for each in session.operations}
    )
    codes = dict.fromkeys(row.code for job in walk.jobs for row in job.worked)
    return Hours(
        jobs=sum(job.logged_min > 0 for job in jobs),
        known=known,
        operations=tuple(_factor(known, code, written[code]) for code in codes),
        findings=log_findings(walk, known),
        walk=walk,
    )


def foretell(hours: Hours, job: NextJob) -> Forecast:
    """Return what a job to come takes. Raises ValueError where nothing is to be done."""
    if not job.default_min > 0:
        raise ValueError("An estimate takes at least one operation with minutes above 0.")
    guess = hours.known.foretell(job.estimates, job.maker)
    low, likely, high = _range(guess)
    return Forecast(name=job.name, default_min=job.default_min, likely_min=likely, low_min=low, high_min=high)


def _factor(known: Known, code: str, jobs: int) -> OperationFactor:
    low, factor, high = _range(known.mixed([log_factor(each, code) for each in known.fits]))
    return OperationFactor(code=code, factor=factor, low=low, high=high, jobs=jobs)


def _range(guess: Guess) -> tuple[float, float, float]:
    reach = reach_of(guess, assumptions().range_share)
    return math.exp(guess.log_min - reach), math.exp(guess.log_min), math.exp(guess.log_min + reach)
