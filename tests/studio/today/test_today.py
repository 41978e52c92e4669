"""Today shows the bench: fittings of the week and those that nobody noted, jobs whose day is near, quotes that could begin."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import operation

from quotes.desk.quoting import accept
from quotes.models import QuoteRevision
from studio.bench import timing
from studio.bench.job_making import cancel_job, set_dates
from studio.client.fittings import plan_fitting
from studio.models import Fitting, Job
from studio.today.page import bench_today

DAY = timedelta(days=1)


def seen(user: User) -> tuple[list[bool], list[tuple[str, bool]]]:
    """Of the fittings whether their day has passed, of the jobs their day with whether it is late."""
    page = bench_today(user=user, on=timezone.localdate())
    return [passed for _, _, passed in page.fittings], [(words.split()[0], late) for _, words, late in page.due]


def test_fittings_of_the_week_and_those_without_a_word_are_shown(job: Job, books: User, browser: Browser):
    now = timezone.now()
    for days, kind in ((-2, "toile"), (3, "boned"), (9, "final")):
        plan_fitting(job, kind=kind, at=now + days * DAY, minutes=60)
    assert seen(books)[0] == [True, False]
    page = browser.get("/").content.decode()
    assert all(words in page for words in ("Toile fitting: ", "and nothing is noted", "Boned fitting: "))
    assert "Final fitting" not in page
    Fitting.objects.filter(kind="toile").update(held_on=timezone.localdate())
    assert seen(books)[0] == [False]


@pytest.mark.parametrize(
    ("due", "promised", "shown"),
    [
        (None, None, []),
        (8, None, []),
        (7, None, [("wanted", False)]),
        (-1, None, [("wanted", True)]),
        (3, 20, []),  # what was promised counts before what was wished for
        (20, 0, [("promised", False)]),
        (20, -1, [("promised", True)]),
    ],
)
def test_a_job_is_shown_in_the_week_before_its_day_and_after_it(
    job: Job, books: User, due: int | None, promised: int | None, shown: list
):
    today = timezone.localdate()
    due_on, promised_on = (None if days is None else today + days * DAY for days in (due, promised))
    set_dates(job, due=due_on, promised=promised_on, user=books)
    assert seen(books)[1] == shown


def test_what_is_over_is_not_shown_and_a_running_timer_is(job: Job, books: User, maker: User, browser: Browser):
    plan_fitting(job, kind="toile", at=timezone.now() + DAY, minutes=60)
    set_dates(job, due=timezone.localdate(), promised=None, user=books)
    timing.start(operation(job, "PIN"), user=maker, key=uuid4())
    assert "Roll-pin" in browser.get("/").content.decode()
    cancel_job(job, why="moved abroad", user=books)
    assert seen(books) == ([], [])
    assert "Roll-pin" not in browser.get("/").content.decode()


def test_an_accepted_quote_waits_for_its_job(sent: QuoteRevision, books: User, browser: Browser):
    accept(revision=sent, option="Two layers", user=books)
    assert "Accepted, not begun" in browser.get("/").content.decode()
    browser.post(reverse("job-start", args=[sent.pk]))
    assert "Accepted, not begun" not in browser.get("/").content.decode()
