"""A delivered piece that lacks time is asked about until somebody says how long it took, or its month is closed.

Hours are those of the quote, reckoned with by hand; the rules are the product's own.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_books import agreed, finished, operation, today
from support_learning import deliver_again, logged

from inventory.ground.findings import Refused
from inventory.ground.wording import day_text
from inventory.shelf.settings import close_until
from quotes.models import PatternRevision
from studio.accounts.accounting import settle
from studio.bench import timing
from studio.bench.day_close import leave_undone, put_into, unanswered, write_together
from studio.learning.learning import propose
from studio.models import Job, LogHabit, PieceAccount, TimeEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def unsure(pattern: PatternRevision, books: User) -> Job:
    """A delivered piece of which nobody logged the binding by hand, more than an hour."""
    job = finished(agreed(pattern, books), books, on=today(), speed=0)
    for row in job.operations.exclude(code="BINDH"):
        timing.keep_written(row, user=books, key=uuid4(), day=today(), minutes=max(1, round(row.planned_min)))
    job.operations.exclude(code="BINDH").update(unlogged="")
    assert settle(job).is_unsure
    return job


def account_of(job: Job) -> PieceAccount:
    return PieceAccount.objects.get(job=job)


def test_it_is_asked_and_the_answer_makes_it_sure(unsure: Job, books: User):
    (group,) = unanswered(books)
    assert (group.job, group.day, [row.code for row in group.operations]) == (unsure, unsure.delivered_on, ["BINDH"])
    before = account_of(unsure)
    write_together(group.operations, user=books, key=uuid4(), day=group.day, minutes=100)
    after = account_of(unsure)
    assert not after.is_unsure
    assert after.minutes - before.minutes == pytest.approx(100 - operation(unsure, "BINDH").planned_min, abs=1)
    assert unanswered(books) == []


def test_time_in_which_it_was_done_again_is_no_answer(unsure: Job, books: User):
    """The account counts as planned what it took at first, so that is asked, whatever it took once more."""
    bound = operation(unsure, "BINDH")
    timing.keep_written(bound, user=books, key=uuid4(), day=today(), minutes=30, cause="own-slip")
    assert settle(unsure).is_unsure
    (group,) = unanswered(books)
    assert group.operations == (bound,)
    with pytest.raises(Refused, match="done again"):
        put_into(TimeEntry.objects.get(cause="own-slip"), [bound])
    write_together([bound], user=books, key=uuid4(), day=group.day, minutes=100)
    assert not account_of(unsure).is_unsure
    assert unanswered(books) == []


def test_its_time_may_stand_in_another_entry_or_it_was_left_out(unsure: Job, books: User):
    bound = operation(unsure, "BINDH")
    whole = account_of(unsure).minutes
    other = TimeEntry.objects.filter(operation=operation(unsure, "BINDM")).get()
    put_into(other, [bound])
    assert account_of(unsure).minutes == pytest.approx(whole - bound.planned_min, abs=1)
    assert not account_of(unsure).is_unsure
    with pytest.raises(Refused, match="Time is logged by now"):
        leave_undone([bound])


def test_no_time_of_a_piece_lies_after_its_delivery(unsure: Job, books: User):
    Job.objects.filter(pk=unsure.pk).update(delivered_on=today() - timedelta(days=1))
    with pytest.raises(Refused, match="handed over"):
        write_together([operation(unsure, "BINDH")], user=books, key=uuid4(), day=today(), minutes=100)


def test_its_time_may_stand_in_an_entry_of_any_day(unsure: Job, books: User, browser: Browser):
    before = today() - timedelta(days=4)
    early = logged(operation(unsure, "BINDM"), books, 47, before)
    shown = browser.get(reverse("day-close")).content.decode()
    assert f'name="entry" value="{early.pk}"' in shown
    assert f"47 min at {operation(unsure, 'BINDM').name}, {day_text(before)}" in shown


def test_what_was_left_out_takes_nothing(unsure: Job, books: User, browser: Browser):
    bound, whole = operation(unsure, "BINDH"), account_of(unsure).minutes
    page = browser.get(reverse("day-close")).content.decode()
    assert "No time was logged for this, so it counts as planned." in page
    answer = reverse("day-answer", args=[unsure.pk])
    said = {"key": str(uuid4()), "day": today().isoformat(), "operations": [bound.pk], "is_undone": "yes"}
    assert browser.post(answer, said).status_code == 302
    bound.refresh_from_db()
    assert bound.unlogged == "undone"
    assert account_of(unsure).minutes == pytest.approx(whole - bound.planned_min, abs=1)


def test_an_open_job_has_its_ticks_for_that(job: Job):
    with pytest.raises(Refused, match="still on the bench"):
        leave_undone([operation(job, "BINDH")])


def test_a_closed_month_stands(unsure: Job, books: User):
    close_until(unsure.delivered_on)
    for act in (
        lambda: leave_undone([operation(unsure, "BINDH")]),
        lambda: write_together(
            [operation(unsure, "BINDH")], user=books, key=uuid4(), day=unsure.delivered_on, minutes=9
        ),
    ):
        with pytest.raises(Refused, match="is closed"):
            act()


def test_the_account_marks_it_and_the_list_has_no_hourly_figure(unsure: Job, browser: Browser):
    page = browser.get(reverse("account", args=[unsure.reference])).content.decode()
    assert "Time is missing" in page
    assert "of it were not logged and count as planned." in page
    assert "time missing" in browser.get(reverse("books")).content.decode()


def test_how_the_workroom_logs_is_kept_with_what_is_learnt(open_job: Job, books: User):
    for turn in range(3, 0, -1):
        deliver_again(open_job, books, days_ago=5 * turn, slow=1.0)
    assert not LogHabit.objects.exists()
    propose(timezone.localdate())
    assert LogHabit.objects.get().elsewhere_below_min == 0  # all of it was written
