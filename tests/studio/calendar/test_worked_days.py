"""What the calendar learns from logged time: which weeks of the books count, by which hours, and how it is said.

Counted by hand; six hours a day from Monday to Friday are the preset, common practice, no source.
"""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import new_job, operation

from quotes.models import PatternRevision
from studio.bench import timing
from studio.bench.job_making import cancel_job
from studio.calendar.days import add_day_off, days_known, save_hours
from studio.calendar.endings import endings
from studio.calendar.evidence import worked_text
from studio.calendar.work_ahead import outlook_of, works_ahead
from studio.models import DayOff, Job
from studio.schedule.worked import WorkedShare

TODAY = timezone.localdate
ONE_DAY = timedelta(days=1)
WEEKS = 12

Log = Callable[[range, int], None]


def this_monday() -> date:
    return TODAY() - TODAY().weekday() * ONE_DAY


def monday(weeks_ago: int) -> date:
    return this_monday() - 7 * weeks_ago * ONE_DAY


@pytest.fixture
def job(books: User, pattern: PatternRevision, two_layers: dict) -> Job:
    """A job that was begun long ago and is still open."""
    made = new_job(books, pattern, two_layers)
    Job.objects.filter(pk=made.pk).update(started_on=monday(WEEKS + 1))
    return made


@pytest.fixture
def log(job: Job, books: User) -> Log:
    """So many minutes on each of Monday to Friday, so many weeks ago."""

    def written(weeks_ago: range, minutes: int) -> None:
        for week in weeks_ago:
            for weekday in range(5):
                day = monday(week) + weekday * ONE_DAY
                timing.write_down(operation(job, "FIN"), user=books, key=uuid4(), day=day, minutes=minutes)

    return written


def known() -> WorkedShare:
    return days_known(endings(), TODAY()).worked


def own(share: WorkedShare) -> list[float]:
    """The shares of the workroom's own weeks, oldest first."""
    return [round(week, 3) for week in share.week_shares[len(share.week_shares) - share.observed :]]


def test_whole_weeks_of_an_open_job_tell_of_the_share(job: Job, log: Log):
    log(range(1, 4), 306)
    log(range(4, 5), 180)
    assert own(known()) == [0.5, 0.85, 0.85, 0.85]


def test_weeks_before_other_hours_count_by_the_hours_of_then(job: Job, log: Log):
    save_hours([600] * 5 + [0, 0], on=monday(9))
    save_hours([180] * 5 + [0, 0], on=monday(2))
    save_hours([240] * 5 + [0, 0], on=monday(2))  # put right on the same day
    log(range(1, 4), 240)
    assert own(known()) == [0.4, 1.0, 1.0]


def test_days_off_count_as_planned_where_they_were_not_known_before(job: Job, log: Log):
    log(range(1, 5), 360)
    before = add_day_off(first=monday(3), last=monday(3) + ONE_DAY, words="Sea", on=monday(4))
    # The work on two days off is overtime: five days of minutes in three days.
    assert own(known()) == [1.0, 1.667, 1.0, 1.0]
    before.delete()
    add_day_off(first=monday(3), last=monday(3) + ONE_DAY, words="Ill", on=monday(3))
    assert own(known()) == [1.0, 1.0, 1.0, 1.0]
    # Those from before it was kept when they were entered are taken as known.
    DayOff.objects.update(noted_on=None)
    assert own(known()) == [1.0, 1.667, 1.0, 1.0]


def test_a_job_that_only_waits_for_its_client_leaves_nothing_to_do(job: Job, log: Log):
    log(range(1, 6), 300)
    long_ago = timezone.now() - (TODAY() - monday(2)).days * ONE_DAY
    job.operations.exclude(role__in=("fitting", "hand-over", "closing")).update(done_at=long_ago)
    assert len(own(known())) == 3
    job.operations.filter(code="FIN").update(done_at=None)
    assert len(own(known())) == 5


def test_a_cancelled_job_was_open_until_then(job: Job, log: Log, books: User):
    log(range(1, 6), 300)
    cancel_job(job, why="the wedding is off", user=books)
    Job.objects.filter(pk=job.pk).update(cancelled_on=monday(3) + ONE_DAY)
    assert len(own(known())) == 2


def test_it_is_said_how_much_is_known(job: Job, log: Log, browser: Browser):
    def said() -> str:
        (row,) = browser.get(reverse("calendar")).context["page"].rows
        return dict(row.reasons)["Worked"]

    assert said().startswith("Of planned hours 85 % are taken to be worked, by 20 stated weeks (common practice")
    assert "No whole week of your own is logged yet" in said()
    log(range(1, 3), 180)
    assert "Only 2 weeks of your own tell of it yet, which is too little" in said()
    log(range(3, WEEKS), 180)
    assert said() == worked_text(known())
    # By hand: the stated weeks weigh 6 / 2^(11 / 5) = 1.31 beside eleven, 11 % of all.
    assert "by what was logged in 11 weeks of your own; 20 stated weeks" in said()
    assert said().endswith("still count for 11 % of it.")


def test_a_workroom_that_works_less_than_it_plans_is_foretold_later_days(job: Job, log: Log):
    def sure() -> date:
        (outlook,) = outlook_of(works_ahead(TODAY()), days_known(endings(), TODAY()), TODAY())
        return outlook.day_90

    before = sure()
    planned = sum(stage.minutes for stage in works_ahead(TODAY())[0].work.stages)
    log(range(1, WEEKS), 90)
    still = sum(stage.minutes for stage in works_ahead(TODAY())[0].work.stages)
    assert still <= planned
    assert sure() > before
