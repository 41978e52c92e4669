"""Days that were foretold: kept with a job and with its changes, judged when it is finished. Counted by hand."""

from datetime import date, datetime, time, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import delivered_copy

from inventory.ground.wording import day_text
from studio.bench.job_making import cancel_job, make_job, set_dates
from studio.calendar.days import days_known
from studio.calendar.endings import endings
from studio.calendar.evidence import reasons_text
from studio.calendar.promised_days import judged_jobs
from studio.calendar.work_ahead import outlook_of, works_ahead
from studio.models import DayOff, Job, PromisedDay
from studio.schedule.day_reasons import DayReasons

TODAY = timezone.localdate
ONE_DAY = timedelta(days=1)


def foretold(job: Job, *, day_50: date, day_90: date, promised: date | None = None) -> None:
    """Days as they were kept for a job; what they rested on is that of the row of another one."""
    reasons = PromisedDay.objects.earliest("pk").reasons
    PromisedDay.objects.create(
        job=job,
        made_at=timezone.now(),
        day_50=day_50,
        day_90=day_90,
        promised=promised,
        reasons=reasons,
        why="accepted",
    )


def delivered_late(job: Job, days: int, *, promised: date | None = None) -> Job:
    """A job that was delivered so many days after its likely day; its sure day was five days after that."""
    made = delivered_copy(job, days_ago=30)
    likely = TODAY() - (30 + days) * ONE_DAY
    foretold(made, day_50=likely, day_90=likely + 5 * ONE_DAY, promised=promised)
    return made


def test_a_new_job_keeps_its_days_and_what_they_rest_on(job: Job):
    (kept,) = PromisedDay.objects.all()
    (ahead,) = works_ahead(TODAY())
    (outlook,) = outlook_of([ahead], days_known(endings(), TODAY()), TODAY())
    assert (kept.job, kept.day_50, kept.day_90) == (job, outlook.day_50, outlook.day_90)
    assert (kept.promised, kept.why) == (None, "accepted")
    grounds = kept.grounds
    minutes = sum(stage.minutes for stage in ahead.work.stages)
    labour = job.option.takeoff.labour
    assert grounds.minutes == minutes
    assert grounds.low_minutes == pytest.approx(minutes * labour.low_min / labour.total_min, abs=1)
    assert grounds.high_minutes == pytest.approx(minutes * labour.high_min / labour.total_min, abs=1)
    assert (grounds.before, grounds.minutes_a_week) == ((), 5 * 360)
    assert (grounds.worked_share, grounds.own_weeks) == (0.85, 0)
    assert grounds.not_offered == ahead.materials.offered_by_nobody != ()


def test_other_days_of_a_job_are_kept_beside_those_before_and_the_same_ones_are_not(job: Job, books: User):
    day = TODAY() + 40 * ONE_DAY
    set_dates(job, due=None, promised=day, user=books)
    set_dates(job, due=None, promised=day, user=books)
    set_dates(job, due=day, promised=day, user=books)
    rows = PromisedDay.objects.all()
    assert [(row.why, row.promised) for row in rows] == [
        ("accepted", None),
        ("changed by the maker", day),
        ("changed by the maker", day),
    ]


def test_a_job_is_made_where_no_plan_can_be_and_nothing_is_kept_of_it(job: Job, books: User):
    revision = delivered_copy(job, days_ago=0).revision
    Job.objects.filter(revision=revision).delete()
    DayOff.objects.create(first=TODAY(), last=TODAY() + 500 * ONE_DAY)
    made = make_job(revision, user=books, on=TODAY())
    assert not made.promised_days.exists()


def test_a_piece_is_finished_by_its_last_tick_or_its_delivery(job: Job):
    def finished() -> date | None:
        (row,) = [row for row in endings() if row.job == job]
        return row.finished

    yesterday = timezone.make_aware(datetime.combine(TODAY() - ONE_DAY, time(12)))
    assert finished() is None
    job.operations.exclude(code="CLOSE").update(done_at=yesterday - ONE_DAY)
    assert finished() is None
    job.operations.filter(code="CLOSE").update(done_at=yesterday)
    assert finished() == TODAY() - ONE_DAY
    delivered = delivered_copy(job, days_ago=3)
    assert {row.job: row.finished for row in endings()}[delivered] == delivered.delivered_on


def test_jobs_without_kept_days_and_jobs_that_were_cancelled_are_not_judged(job: Job, books: User):
    delivered_copy(job, days_ago=3)
    cancel_job(job, why="the wedding is off", user=books)
    assert judged_jobs(endings()) == []


def test_the_first_days_of_a_job_are_judged_and_later_ones_named(job: Job, browser: Browser):
    first = TODAY() - 31 * ONE_DAY
    late = delivered_late(job, 3, promised=first)
    foretold(late, day_50=TODAY(), day_90=TODAY(), promised=TODAY() - 20 * ONE_DAY)
    (judged,) = judged_jobs(endings())
    assert judged.days.finished - judged.days.day_50 == 3 * ONE_DAY
    assert (judged.days.promised, judged.moved_to) == (first, TODAY() - 20 * ONE_DAY)
    kept = browser.get(reverse("calendar")).context["page"].kept
    assert [(figure.what, figure.count) for figure in kept.figures] == [
        ("By the likely day", "0 of 1"),
        ("By the nine-in-ten day", "1 of 1"),
        ("By the promised day", "0 of 1"),
    ]
    assert kept.sentence == "Only 1 finished job tells of it, and 5 are the fewest: too few to judge the days by."
    (row,) = kept.figures[-1].rows
    assert row.words.startswith(f"Moved to {day_text(judged.moved_to)}. It needed ")
    assert row.words.endswith("30 h a week, of which 85 % worked, by no weeks of your own.")


def test_the_calendar_says_how_its_days_were_kept(job: Job, browser: Browser):
    def kept() -> str:
        return browser.get(reverse("calendar")).context["page"].kept.sentence

    assert kept().startswith("Days are foretold for each job when it is made.")
    for days in (-2, 0, 1, 5):
        delivered_late(job, days)
    assert kept().startswith("Only 4 finished jobs tell of it")
    delivered_late(job, 5)
    assert kept().startswith("5 of 5 finished jobs kept the day that holds nine times in ten, which is as it should be")
    for _ in range(5):
        delivered_late(job, 9)
    # Of ten, five or fewer would be kept once in 600 times; of likely days two in ten once in twenty times.
    assert "5 of 10 finished jobs kept the day that holds nine times in ten: clearly too seldom" in kept()
    assert "likely day" not in kept()
    page = browser.get(reverse("calendar")).content.decode()
    assert all(words in page for words in ("How days were kept", "5 of 10", "2 of 10", "later"))


def test_likely_days_that_are_seldom_kept_are_said_so(job: Job, browser: Browser):
    for _ in range(8):
        delivered_late(job, 5)
    sentence = browser.get(reverse("calendar")).context["page"].kept.sentence
    assert sentence.endswith("The likely day was kept by 0, clearly fewer than half.")


def test_where_no_plan_can_be_made_fittings_days_off_and_kept_days_stand_still(job: Job, browser: Browser):
    delivered_late(job, 0)
    DayOff.objects.create(first=TODAY(), last=TODAY() + 500 * ONE_DAY, words="Round the world")
    page = browser.get(reverse("calendar")).context["page"]
    assert [finding.code for finding in page.findings] == ["calendar.no-time"]
    assert [row.what for row in page.agenda] == ["Round the world"]
    assert page.kept.figures[0].count == "1 of 1"


def test_what_a_day_rested_on_is_told_in_sentences():
    reasons = DayReasons(
        minutes=1500,
        low_minutes=1200,
        high_minutes=2100,
        before=("Q3", "Q5"),
        materials_by=date(2027, 3, 4),
        not_offered=(),
        minutes_a_week=1140,
        worked_share=0.846,
        own_weeks=1,
    )
    assert reasons_text(reasons) == (
        "It needed 25 h (20 h to 35 h). After Q3, Q5. Materials by 4 March 2027. "
        "19 h a week, of which 85 % worked, by 1 week of your own."
    )


def test_days_that_are_always_kept_could_be_earlier(job: Job, browser: Browser):
    for _ in range(36):
        delivered_late(job, -9)
    sentence = browser.get(reverse("calendar")).context["page"].kept.sentence
    assert "clearly more than nine in ten" in sentence
    assert sentence.endswith("The likely day was kept by 36, clearly more than half.")


def test_fittings_and_days_off_stand_by_their_days_past_ones_marked(job: Job, browser: Browser):
    at = timezone.make_aware(datetime.combine(TODAY(), time(11)))
    job.fittings.create(kind="final", at=at + 9 * ONE_DAY, minutes=45)
    job.fittings.create(kind="toile", at=at - 2 * ONE_DAY, minutes=60)
    job.fittings.create(kind="boned", at=at - 1 * ONE_DAY, minutes=60, held_on=TODAY())
    DayOff.objects.create(first=TODAY() + ONE_DAY, last=TODAY() + 2 * ONE_DAY, words="Sea")
    DayOff.objects.create(first=TODAY() - 9 * ONE_DAY, last=TODAY() - ONE_DAY, words="Fair")
    answer = browser.get(reverse("calendar"))
    rows = answer.context["page"].agenda
    assert [(row.what, row.has_passed) for row in rows] == [
        ("Toile fitting, 1 h", True),
        ("Sea", False),
        ("Final fitting, 45 min", False),
    ]
    assert "Its day has passed: note what it found, or move it." in answer.content.decode()
