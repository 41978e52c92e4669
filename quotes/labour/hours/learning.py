"""What a log teaches: factors, the next job's hours with their range, and how good past estimates were."""

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from inventory.ground.findings import Finding
from quotes.labour.hours.assumptions import assumptions
from quotes.labour.hours.doubts import Doubt, doubts_of
from quotes.labour.hours.findings import log_findings
from quotes.labour.hours.foretelling import Guess, log_factor, log_trend
from quotes.labour.hours.judging import Judgement, judge, reach_of
from quotes.labour.hours.log import Job, NextJob
from quotes.labour.hours.presence import PresentDay
from quotes.labour.hours.walk import Known, Walk

EVEN_ODDS = 0.5

__all__ = ["Forecast", "Hours", "OperationFactor", "Practice", "foretell", "learn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationFactor:
    """What an operation takes of its estimate on average; 8 times in 10 that average lies between low and high.

    Attributes:
        default_min: its estimate on average, in the jobs in which it was done.
        jobs: in how many its time was written.
    """

    code: str
    factor: float
    low: float
    high: float
    default_min: float
    jobs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """What share of its time a job takes when twice as many were made; 8 times in 10 it lies between low and high.

    Attributes:
        made: jobs that were delivered so far.
    """

    rate: float
    low: float
    high: float
    made: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """A next job's whole minutes, without allowance: the middle, and the range that holds them 8 times in 10.

    Attributes:
        common_share: of the variance of their logarithm, what the next jobs have in common with it, 0 to 1.
    """

    name: str
    default_min: float
    likely_min: float
    low_min: float
    high_min: float
    common_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """What is known after all jobs of a log. `jobs` counts those that have a written minute."""

    jobs: int
    known: Known
    operations: tuple[OperationFactor, ...]
    practice: Practice
    doubts: tuple[Doubt, ...]
    findings: tuple[Finding, ...]
    walk: Walk

    @property
    def elsewhere_below_min(self) -> float:
        """Operations estimated below this, and without time, were more likely logged with others than lost; 0 for none."""
        found, weight = 0.0, 0.0
        limits = sorted(zip((row.below_min for row in self.known.explanations), self.known.weights, strict=True))
        for limit, share in reversed(limits):
            weight += share
            if weight >= EVEN_ODDS:
                found = limit
                break
        return found

    def judgement(self) -> Judgement:
        """Return how good estimates of the latest jobs were."""
        return judge(self.walk, len(self.walk.jobs))


def learn(
    jobs: Sequence[Job],
    *,
    earlier: int = 0,
    names: Mapping[str, str] | None = None,
    present: Sequence[PresentDay] = (),
) -> Hours:
    """Return what a log teaches. Only the latest jobs count (`jobs_kept`), so it costs the same however many there are:
    of sixty jobs of thirty operations about a third of a second; `Hours.judgement` half a second more.

    Args:
        earlier: jobs that were delivered before these and are not handed in.
        names: of operations in findings, in place of their codes.
        present: days of which the hours present are known.
    """
    walk = Walk(jobs, assumptions(), earlier=earlier)
    known = walk.known(len(walk.jobs))
    doubts = doubts_of(walk, known.fits[known.likeliest])
    written = Counter(
        code for job in walk.jobs for code in {each for session in job.sessions for each in session.operations}
    )
    estimates: dict[str, list[float]] = defaultdict(list)
    for job in walk.jobs:
        for row in job.worked:
            estimates[row.code].append(row.estimated_min)
    low, rate, high = _range(known.mixed([log_trend(each) for each in known.fits]), times=math.log(2))
    return Hours(
        jobs=sum(job.logged_min > 0 for job in jobs),
        known=known,
        operations=tuple(_factor(known, code, fmean(mins), written[code]) for code, mins in estimates.items()),
        practice=Practice(rate=rate, low=low, high=high, made=earlier + len(jobs)),
        doubts=doubts,
        findings=log_findings(walk, known, doubts, names=names or {}, present=present),
        walk=walk,
    )


def foretell(hours: Hours, job: NextJob) -> Forecast:
    """Return what a job to come takes. Raises ValueError where nothing is to be done."""
    if not job.default_min > 0:
        raise ValueError("An estimate takes at least one operation with minutes above 0.")
    guess = hours.known.foretell(job.estimates, job.maker)
    low, likely, high = _range(guess)
    return Forecast(
        name=job.name,
        default_min=job.default_min,
        likely_min=likely,
        low_min=low,
        high_min=high,
        common_share=(guess.common / guess.spread) ** 2,
    )


def _factor(known: Known, code: str, default_min: float, jobs: int) -> OperationFactor:
    low, factor, high = _range(known.mixed([log_factor(each, code) for each in known.fits]))
    return OperationFactor(code=code, factor=factor, low=low, high=high, default_min=default_min, jobs=jobs)


def _range(guess: Guess, *, times: float = 1.0) -> tuple[float, float, float]:
    reach = reach_of(guess, assumptions().range_share)
    low, middle, high = (math.exp(times * (guess.log_min + by)) for by in (-reach, 0.0, reach))
    return low, middle, high
