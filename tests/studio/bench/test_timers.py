"""Time at the bench: one timer a person on all devices, time written down, corrections that keep what stood before.

Sources: IANA time zone database, Europe/Amsterdam (clocks go from 02:00 to 03:00 on 28 March 2027, the last Sunday of
March by Directive 2000/84/EC); the rest is reckoned by hand.
"""

from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone
from support_bench import at, codes, operation

from inventory.ground.findings import Refused
from inventory.shelf.settings import close_until
from studio.bench import timing
from studio.bench.job_page import time_page
from studio.jobs.fields import minutes_of
from studio.models import Job, TimeEntry

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


@pytest.fixture
def helper(db: None) -> User:
    """Another person of the workroom."""
    return User.objects.create_user("helper")


def test_a_timer_runs_from_start_to_stop(job: Job, books: User, monkeypatch: pytest.MonkeyPatch):
    at(monkeypatch, "2027-03-01T09:00:20")
    timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    at(monkeypatch, "2027-03-01T09:42:00")
    entry = timing.stop(user=books)
    assert entry is not None
    assert (entry.minutes, entry.day) == (42, date(2027, 3, 1))
    assert timing.stop(user=books) is None


@pytest.mark.parametrize(
    ("start", "stop", "minutes"),
    [
        # 01:30 in summer time to the second 02:30 of 31 October 2027, when the hour from two to three comes twice.
        ("2027-10-31T01:30+02:00", "2027-10-31T02:30+01:00", 120),
        # The clock was set back meanwhile: nothing is counted, and nothing less.
        ("2027-03-01T09:00+01:00", "2027-03-01T08:00+01:00", 0),
    ],
)
def test_a_timer_counts_minutes_and_not_what_the_wall_shows(
    start: str, stop: str, minutes: int, job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(timezone, "now", lambda: datetime.fromisoformat(start))
    timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    monkeypatch.setattr(timezone, "now", lambda: datetime.fromisoformat(stop))
    entry = timing.stop(user=books)
    assert entry is not None
    assert entry.minutes == minutes


def test_a_timer_that_runs_has_its_minutes_so_far(job: Job, books: User, monkeypatch: pytest.MonkeyPatch):
    at(monkeypatch, "2027-03-01T09:00")
    entry = timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    at(monkeypatch, "2027-03-01T10:12:30")
    assert entry.so_far_min == 72.5
    stopped = timing.stop(user=books)
    assert stopped is not None
    at(monkeypatch, "2027-03-01T18:00")
    assert stopped.so_far_min == stopped.minutes == 72


def test_a_timer_across_midnight_counts_whole_on_the_day_it_was_started(
    job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    at(monkeypatch, "2027-03-01T23:40")
    timing.start(operation(job, "BINDH"), user=books, key=uuid4())
    at(monkeypatch, "2027-03-02T00:25")
    entry = timing.stop(user=books)
    assert entry is not None
    assert (entry.minutes, entry.day) == (45, date(2027, 3, 1))


def test_the_night_on_which_clocks_go_forward_is_an_hour_shorter(
    job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    at(monkeypatch, "2027-03-27T23:30")
    timing.start(operation(job, "BINDH"), user=books, key=uuid4())
    at(monkeypatch, "2027-03-28T04:30")
    entry = timing.stop(user=books)
    assert entry is not None
    assert entry.minutes == 4 * 60


def test_two_devices_share_one_timer(job: Job, books: User):
    first = timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    second = timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    assert first.pk == second.pk
    assert TimeEntry.objects.count() == 1
    timing.stop(user=books, only=first.pk)
    assert timing.stop(user=books, only=first.pk) is None
    assert TimeEntry.objects.filter(ended_at__isnull=False).count() == 1


def test_a_stop_pressed_on_an_old_page_leaves_the_newer_timer_running(job: Job, books: User):
    old = timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    newer = timing.start(operation(job, "PRESS"), user=books, key=uuid4())
    old.refresh_from_db()
    assert old.ended_at is not None
    assert timing.stop(user=books, only=old.pk) is None
    assert timing.running(books) == newer


def test_a_double_click_on_start_starts_once_even_after_a_stop(job: Job, books: User):
    key = uuid4()
    first = timing.start(operation(job, "SEW1"), user=books, key=key)
    timing.stop(user=books)
    assert timing.start(operation(job, "SEW1"), user=books, key=key).pk == first.pk
    assert timing.running(books) is None


def test_two_people_run_a_timer_each(job: Job, books: User, helper: User):
    timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    timing.start(operation(job, "SEW1"), user=helper, key=uuid4())
    assert TimeEntry.objects.filter(ended_at__isnull=True).count() == 2


def test_the_database_itself_refuses_a_second_timer_of_one_person(job: Job, books: User):
    facts = {"operation": operation(job, "SEW1"), "by": books, "started_at": timezone.now(), "day": TODAY()}
    TimeEntry.objects.create(key=uuid4(), **facts)
    with pytest.raises(IntegrityError), transaction.atomic():
        TimeEntry.objects.create(key=uuid4(), **facts)


def test_the_device_that_comes_second_in_the_same_moment_gets_the_timer_of_the_first(
    job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    """Both looked before either wrote: what was seen is nothing, what is there is the other's timer."""
    first = timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    look, seen = timing.running, iter([None])
    monkeypatch.setattr(timing, "running", lambda user: next(seen, look(user)))
    assert timing.start(operation(job, "PRESS"), user=books, key=uuid4()).pk == first.pk
    assert TimeEntry.objects.count() == 1


def test_doing_it_again_is_timed_apart(job: Job, books: User, monkeypatch: pytest.MonkeyPatch):
    at(monkeypatch, "2027-03-01T09:00")
    timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    at(monkeypatch, "2027-03-01T09:30")
    timing.start(operation(job, "SEW1"), user=books, key=uuid4(), cause="own-slip")
    at(monkeypatch, "2027-03-01T09:45")
    timing.stop(user=books)
    assert list(TimeEntry.objects.values_list("cause", "minutes")) == [("", 30), ("own-slip", 15)]
    page = time_page(operation(job, "SEW1"), user=books)
    assert (page.operation.worked, page.operation.again) == ("30 min", "15 min")


def test_time_is_written_down_once_for_a_form_that_is_sent_twice(job: Job, books: User):
    key = uuid4()
    for _ in range(2):
        timing.write_down(operation(job, "ADMIN"), user=books, key=key, day=TODAY(), minutes=25)
    assert TimeEntry.objects.get().minutes == 25


@pytest.mark.parametrize(
    ("minutes", "days", "code"), [(0, 0, "time.minutes"), (1441, 0, "time.minutes"), (30, 1, "time.day")]
)
def test_time_that_cannot_be_is_refused(job: Job, books: User, minutes: int, days: int, code: str):
    with pytest.raises(Refused) as caught:
        timing.write_down(
            operation(job, "ADMIN"), user=books, key=uuid4(), day=TODAY() + timedelta(days=days), minutes=minutes
        )
    assert codes(caught) == [code]
    assert not TimeEntry.objects.exists()


def correct(entry: TimeEntry, user: User, minutes: int, why: str = "misread", **said: object) -> TimeEntry:
    facts = {"key": uuid4(), "day": entry.day, **said}
    return timing.correct(entry, user=user, minutes=minutes, why=why, **facts)  # type: ignore[arg-type]


def test_corrections_form_a_chain_in_which_the_last_one_counts(job: Job, books: User, helper: User):
    row = operation(job, "SEW1")
    first = timing.write_down(row, user=books, key=uuid4(), day=TODAY(), minutes=480)
    second = correct(first, books, 48, "one nought too many")
    third = correct(second, helper, 45, "the break was counted")
    with pytest.raises(Refused) as caught:
        correct(first, books, 50)
    assert codes(caught) == ["time.corrected"]
    page = time_page(row, user=books)
    assert page.operation.worked == "45 min"
    (row_of_it,) = page.entries
    assert (row_of_it.entry, row_of_it.length) == (third, "45 min")
    assert [(entry.minutes, entry.by.username, entry.why) for entry, _ in row_of_it.earlier] == [
        (48, "maker", "one nought too many"),
        (480, "maker", ""),
    ]
    assert (third.by, third.why) == (helper, "the break was counted")


def test_an_entry_is_struck_out_by_nought_and_stays_to_be_read(job: Job, books: User):
    row = operation(job, "SEW1")
    entry = timing.write_down(row, user=books, key=uuid4(), day=TODAY(), minutes=30)
    correct(entry, books, 0, "was another job")
    (struck,) = time_page(row, user=books).entries
    assert struck.length == "struck out"
    assert [entry.minutes for entry, _ in struck.earlier] == [30]


def test_a_correction_that_is_sent_twice_counts_once(job: Job, books: User):
    entry = timing.write_down(operation(job, "SEW1"), user=books, key=uuid4(), day=TODAY(), minutes=30)
    key = uuid4()
    assert correct(entry, books, 20, key=key).pk == correct(entry, books, 20, key=key).pk
    assert TimeEntry.objects.count() == 2


def test_a_correction_changes_the_cause(job: Job, books: User):
    entry = timing.write_down(operation(job, "SEW1"), user=books, key=uuid4(), day=TODAY(), minutes=30)
    assert correct(entry, books, 30, cause="fit").cause == "fit"


def test_no_correction_without_a_reason_or_of_a_timer_that_runs(job: Job, books: User):
    runs = timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    with pytest.raises(Refused) as caught:
        correct(runs, books, 20)
    assert codes(caught) == ["time.running"]
    timing.stop(user=books)
    with pytest.raises(Refused) as caught:
        correct(TimeEntry.objects.get(), books, 20, "")
    assert codes(caught) == ["time.no-reason"]
    with pytest.raises(IntegrityError), transaction.atomic():
        TimeEntry.objects.create(
            operation=runs.operation,
            by=books,
            started_at=timezone.now(),
            ended_at=timezone.now(),
            day=TODAY(),
            minutes=1,
            key=uuid4(),
            replaces=runs,
        )


def test_a_closed_month_takes_no_time_and_a_timer_that_ran_into_the_next_counts_there(
    job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    row = operation(job, "BINDH")
    at(monkeypatch, "2027-03-31T23:50")
    entry = timing.write_down(row, user=books, key=uuid4(), day=date(2027, 3, 30), minutes=30)
    timing.start(row, user=books, key=uuid4())
    at(monkeypatch, "2027-04-01T00:20")
    close_until(date(2027, 3, 31))
    with pytest.raises(Refused, match="March 2027 is closed"):
        timing.write_down(row, user=books, key=uuid4(), day=date(2027, 3, 30), minutes=30)
    with pytest.raises(Refused, match="March 2027 is closed"):
        correct(entry, books, 20)
    ran = timing.stop(user=books)
    assert ran is not None
    assert (ran.day, ran.minutes) == (date(2027, 4, 1), 30)


@pytest.mark.parametrize(("text", "minutes"), [("95", 95), (" 1:35", 95), ("2h", 120), ("1h 05", 65), ("0", 0)])
def test_time_is_read_as_people_write_it(text: str, minutes: int):
    assert minutes_of(text) == minutes


@pytest.mark.parametrize("text", ["1:75", "half", "-5", "1.5", "1:2:3"])
def test_what_is_no_time_is_said_to_be_none(text: str):
    with pytest.raises(ValueError, match="is no time"):
        minutes_of(text)
