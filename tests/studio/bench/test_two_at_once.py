"""Two acts at once: what was seen is what stood before the other act, and the second finds what the first has done.

Common practice, no source. Objects that were loaded before the first act stand for a page or a request that was begun
before it.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from support_bench import codes, operation, pay, sign_toile

from inventory.ground.findings import Refused
from studio.bench import timing
from studio.bench.job_making import cancel_job, set_dates
from studio.client.delivery import deliver, expected_invoice
from studio.client.fittings import call_off_fitting, hold_fitting, move_fitting, plan_fitting
from studio.models import Fitting, Job, TimeEntry

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


def delivered(job: Job, user: User) -> None:
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=user)


@pytest.mark.parametrize("is_cancelled", [False, True])
def test_no_timer_starts_at_a_job_that_ended_meanwhile(job: Job, books: User, is_cancelled: bool):
    seen = operation(job, "SEW1")
    assert seen.job.is_open
    if is_cancelled:
        cancel_job(job, why="the wedding is off", user=books)
    else:
        delivered(job, books)
    with pytest.raises(Refused) as caught:
        timing.start(seen, user=books, key=uuid4())
    assert codes(caught) == ["job.over"]
    assert timing.running(books) is None


def test_no_time_is_written_down_at_a_piece_that_was_delivered_meanwhile(job: Job, books: User):
    """It would be in no account: the piece's own was worked out before."""
    seen = operation(job, "SEW1")
    assert seen.job.is_open
    delivered(job, books)
    with pytest.raises(Refused) as caught:
        timing.write_down(seen, user=books, key=uuid4(), day=TODAY(), minutes=30)
    assert codes(caught) == ["job.over"]
    assert not TimeEntry.objects.exists()


def test_a_timer_that_two_devices_stop_in_the_same_moment_is_stopped_once(
    job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    timing.start(operation(job, "SEW1"), user=books, key=uuid4())
    seen = timing.running(books)
    assert seen is not None
    first = timing.stop(user=books)
    assert first is not None
    monkeypatch.setattr(timing, "running", lambda user: seen)
    assert timing.stop(user=books, only=seen.pk) is None
    assert timing.start(operation(job, "PRESS"), user=books, key=uuid4()).minutes is None
    assert list(TimeEntry.objects.order_by("pk").values_list("minutes", flat=True)) == [first.minutes, None]


def held(fitting: Fitting, user: User) -> None:
    hold_fitting(fitting, held_on=TODAY(), notes="sits", alterations="", signs_toile=False, user=user)


def planned(job: Job) -> Fitting:
    return plan_fitting(job, kind="final", at=timezone.now() + timedelta(days=3), minutes=60)


def test_a_fitting_that_was_held_meanwhile_is_neither_moved_nor_called_off(job: Job, books: User):
    fitting = planned(job)
    held(Fitting.objects.get(), books)
    with pytest.raises(Refused, match="It was held"):
        move_fitting(fitting, at=fitting.at, minutes=30, notes="", user=books)
    with pytest.raises(Refused, match="It was held"):
        call_off_fitting(fitting, user=books)
    assert Fitting.objects.get().notes == "sits"


def test_a_fitting_that_was_called_off_meanwhile_is_not_held(job: Job, books: User):
    fitting = planned(job)
    call_off_fitting(Fitting.objects.get(), user=books)
    for act in (
        lambda: held(fitting, books),
        lambda: move_fitting(fitting, at=fitting.at, minutes=30, notes="", user=books),
        lambda: call_off_fitting(fitting, user=books),
    ):
        with pytest.raises(Refused, match="was called off"):
            act()
    assert not Fitting.objects.exists()
    assert [note.words.endswith("called off.") for note in job.notes.exclude(words__startswith="Begun")] == [True]


def test_a_sign_off_that_was_noted_meanwhile_can_be_taken_back(job: Job, books: User):
    """The page was open before the toile was signed off on another device; what is noted last counts."""
    fitting = plan_fitting(job, kind="toile", at=timezone.now(), minutes=60)
    hold_fitting(Fitting.objects.get(), held_on=TODAY(), notes="", alterations="", signs_toile=True, user=books)
    held(fitting, books)
    job.refresh_from_db()
    assert job.toile_signed_on is None


def test_days_set_on_two_devices_are_both_in_the_diary(job: Job, books: User):
    seen = Job.objects.get(pk=job.pk)
    set_dates(job, due=TODAY() + timedelta(days=10), promised=None, user=books)
    set_dates(seen, due=TODAY() + timedelta(days=20), promised=None, user=books)
    assert f"due {TODAY() + timedelta(days=10):%-d %B %Y}" in job.notes.first().words  # type: ignore[union-attr]


def test_a_delivered_piece_is_promised_for_no_other_day(job: Job, books: User):
    delivered(job, books)
    with pytest.raises(Refused) as caught:
        set_dates(job, due=TODAY(), promised=None, user=books)
    assert codes(caught) == ["job.over"]


def test_a_toile_that_was_signed_off_and_paid_keeps_its_sign_off_when_the_fitting_is_noted_again(job: Job, books: User):
    fitting = sign_toile(job, books)
    pay(job, 100, books)
    hold_fitting(fitting, held_on=TODAY(), notes="more", alterations="", signs_toile=True, user=books)
    job.refresh_from_db()
    assert job.toile_signed_on == TODAY()
