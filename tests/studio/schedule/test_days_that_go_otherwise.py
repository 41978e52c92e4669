"""Days promised in invented workrooms whose days are not full, held against the days on which jobs were then finished.

The workrooms live by random numbers and formulas of their own (tests/support_workdays.py); `make promises` prints the same
for many more of them. With eight workrooms a kind a share is known to within some six points.
"""

from functools import cache

import pytest
from support_workdays import KINDS, Promised, promises

from studio.schedule.worked import ALL_WORKED

WORKROOMS = 8
JOBS = 40


@cache
def of_kind(kind: str) -> list[Promised]:
    return [job for seed in range(WORKROOMS) for job in promises(KINDS[kind], seed, jobs=JOBS, draws=200)]


def kept(jobs: list[Promised]) -> tuple[float, float]:
    """The shares of likely and of sure days that were kept."""
    likely = sum(job.finished <= job.day_50 for job in jobs) / len(jobs)
    return likely, sum(job.finished <= job.day_90 for job in jobs) / len(jobs)


@pytest.mark.parametrize("kind", KINDS)
def test_after_twenty_jobs_days_are_kept_as_often_as_they_say(kind: str):
    likely, sure = kept([job for job in of_kind(kind) if job.number > 20])
    assert 0.38 <= likely <= 0.64
    assert 0.83 <= sure <= 0.97


def test_over_all_kinds_nine_in_ten_are_kept_after_twenty_jobs():
    likely, sure = kept([job for kind in KINDS for job in of_kind(kind) if job.number > 20])
    assert 0.44 <= likely <= 0.58
    assert 0.87 <= sure <= 0.94


@pytest.mark.parametrize("kind", KINDS)
def test_from_the_first_day_on_no_fewer_than_four_in_five_are_kept(kind: str):
    assert kept([job for job in of_kind(kind) if job.number <= 20])[1] >= 0.8


def test_days_that_are_promised_as_if_all_hours_were_worked_are_missed():
    daily = KINDS["days 85 % full"]
    jobs = [job for seed in range(6) for job in promises(daily, seed, jobs=JOBS, draws=100, known=ALL_WORKED)]
    assert kept(jobs)[1] < 0.75
