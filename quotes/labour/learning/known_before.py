"""The walk through past jobs, each estimated only from what was known before its first day.

What a job took is judged with hindsight: entries that all that is known today sets aside count neither in the estimate
nor in what was found, and a job of which too little was logged is not judged at all.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from quotes.labour.learning.aside import is_aside
from quotes.labour.learning.assumptions import judging
from quotes.labour.learning.fit import Fit, fit
from quotes.labour.learning.interval import range_of_next
from quotes.labour.learning.observations import Columns, Observation

__all__ = ["JudgedJob", "learnt_minutes", "range_of_errors", "walk"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedJob:
    """A finished job's minutes, without allowance, over the operations that were believably logged.

    Attributes:
        day: its first; `finished` its last.
        default_min: by the table.
        learnt_min: as they would have been foretold on its first day.
        actual_min: as they were logged.
        spread: standard deviation of log(actual ÷ learnt), as it would have been foretold on its first day.
    """

    job: str
    day: date
    finished: date
    default_min: float
    learnt_min: float
    actual_min: float
    spread: float

    @property
    def error(self) -> float:
        """How wrong the estimate was, in the spreads that were foretold; above 0 where the job took longer."""
        return math.log(self.actual_min / self.learnt_min) / self.spread


def walk(observations: Sequence[Observation], table: Columns, today: Fit, *, latest: int | None) -> list[JudgedJob]:
    """Return the jobs that can be judged, oldest first.

    Args:
        table: what was logged of the observations.
        today: what all entries of `table` say.
        latest: only so many jobs, the latest; None for all.
    """
    by_job: dict[str, list[Observation]] = defaultdict(list)
    for seen in observations:
        by_job[seen.job].append(seen)
    believed: dict[str, list[int]] = defaultdict(list)
    for place, entry in enumerate(table.entries):
        if not is_aside(today, place):
            believed[entry.job].append(place)
    starts = {job: min(seen.first_day for seen in rows) for job, rows in by_job.items()}
    in_order = sorted((start, job) for job, start in starts.items() if _is_judged(by_job[job], believed[job], table))
    fits: dict[date, Fit] = {}
    judged = []
    for day, job in in_order[-latest:] if latest else in_order:
        if day not in fits:
            fits[day] = fit(table.before(day), day, today.beliefs)
        entries = [table.entries[place] for place in believed[job]]
        minutes: dict[str, float] = defaultdict(float)
        for entry in entries:
            minutes[entry.kind] += entry.expected
        style, repetition = entries[0].style, entries[0].repetition
        learnt = learnt_minutes(minutes, fits[day], style, repetition)
        judged.append(
            JudgedJob(
                job=job,
                day=day,
                finished=max(seen.day for seen in by_job[job]),
                default_min=math.fsum(minutes.values()),
                learnt_min=math.fsum(learnt.values()),
                actual_min=math.fsum(entry.found for entry in entries),
                spread=fits[day].spread(learnt, style, repetition),
            )
        )
    return judged


def learnt_minutes(minutes: Mapping[str, float], known: Fit, style: str, repetition: int) -> dict[str, float]:
    """Return the minutes of each operation as `known` corrects them."""
    of_piece = known.factor(style, repetition)
    return {kind: amount * of_piece * math.exp(known.log_pace(kind)) for kind, amount in minutes.items()}


def range_of_errors(errors: Sequence[float]) -> tuple[float, float]:
    """Return low and high of the next job's error, in spreads, from the errors of earlier jobs, oldest first.

    The latest count, with as many imagined ones as `imagined_jobs` says, which are as wide as was foretold.
    """
    rules = judging()
    imagined = math.sqrt((rules.imagined_jobs - 1) / rules.imagined_jobs)
    believed = [imagined, -imagined] * (rules.imagined_jobs // 2)
    return range_of_next([*believed, *errors[-rules.errors_kept :]], rules.range_share)


def _is_judged(rows: Sequence[Observation], believed: Sequence[int], table: Columns) -> bool:
    expected = math.fsum(table.entries[place].expected for place in believed)
    return bool(believed) and expected >= judging().judged_share * math.fsum(seen.estimated_min for seen in rows)
