"""No dead end at the bench: what holds a job up leads to where it is settled, and what ended is not asked for any more."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import cloth_line, fill_shelf, new_job, operation, pay, sign_toile

from inventory.models import Lot, ReservationLine
from quotes.models import PatternRevision
from studio.bench import timing
from studio.bench.job_making import cancel_job
from studio.bench.stages import advance
from studio.client.fittings import plan_fitting
from studio.jobs.wording import moment_text
from studio.models import Fitting, Job, TimeEntry


@pytest.fixture
def job(books: User, pattern: PatternRevision, two_layers: dict) -> Job:
    """A job at its toile, of which nothing that cutting asks for is settled."""
    made = new_job(books, pattern, two_layers)
    fill_shelf(made)
    for stage in ("drafting", "toile"):
        advance(made, to=stage, user=books, on=timezone.localdate())
    made.refresh_from_db()
    return made


@pytest.mark.parametrize("page", ["job", "job-stage"])
def test_each_thing_that_holds_the_cutting_up_leads_to_where_it_is_settled(job: Job, browser: Browser, page: str):
    shown = browser.get(reverse(page, args=[job.pk])).content.decode()
    for name, of, words in (
        ("payment-new", job.pk, "Note the payment."),
        ("quotes:client-measure", job.client_id, "Measure again."),
        ("job-client", job.pk, "Hold the toile fitting and note it."),
        ("job-materials", job.pk, "Choose the lot under the job&#x27;s materials."),
    ):
        way = reverse(name, args=[of])
        assert f'<a href="{way}">{words}</a>' in shown
        assert browser.get(way).status_code == 200


def test_a_lot_is_chosen_by_what_it_holds_and_the_job_comes_back(job: Job, browser: Browser):
    line, there = cloth_line(job), reverse("job-materials", args=[job.pk])
    address = f"{reverse('inventory:reservation-line', args=[job.reference, line.pk])}?back={there}"
    assert address in browser.get(there).content.decode()
    lot = Lot.objects.filter(item=line.item).get()
    assert f"{lot}: {lot.on_hand / 1000:g} m</option>" in browser.get(address).content.decode()
    assert browser.post(address, {"lot": lot.pk})["Location"] == there
    assert ReservationLine.objects.get(pk=line.pk).lot == lot


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example/", ""])
def test_keeping_a_lot_never_leads_to_another_site(job: Job, browser: Browser, back: str):
    address = reverse("inventory:reservation-line", args=[job.reference, cloth_line(job).pk])
    answer = browser.post(address, {"lot": ""}, query_params={"back": back})
    assert answer["Location"] == reverse("inventory:reservation", args=[job.reference])


def test_a_cancelled_job_is_owed_nothing_and_offers_to_pay_back(job: Job, browser: Browser, books: User):
    client = reverse("job-client", args=[job.pk])
    pay(job, 5000, books)
    plan_fitting(job, kind=Fitting.Kind.BONED, at=timezone.now() + timedelta(days=1), minutes=60, notes="")
    Fitting.objects.update(at=timezone.now() - timedelta(days=2))
    said = browser.get(client).content.decode()
    assert all(words in said for words in ("Deposit due", "Balance due", "Its day has passed"))
    cancel_job(job, why="moved abroad", user=books)
    said = browser.get(client).content.decode()
    assert not any(words in said for words in ("Deposit due", "Balance due", "Its day has passed"))
    assert "goes back" in said
    form = browser.get(reverse("payment-new", args=[job.pk])).context["form"]
    assert (form["what"].value(), form["amount"].value()) == ("refund", None)


def test_starting_at_another_operation_says_that_the_first_was_stopped(job: Job, browser: Browser, maker: User):
    since = timezone.now() - timedelta(minutes=12)
    pinning, day = operation(job, "PIN"), timezone.localdate(since)
    TimeEntry.objects.create(operation=pinning, by=maker, started_at=since, day=day, key=uuid4())
    start = reverse("timer-start", args=[job.pk, operation(job, "CLIP").pk])
    told = "The timer at Roll-pin was stopped: 12 min."
    assert told in browser.post(start, {"key": str(uuid4())}, follow=True).content.decode()
    assert "was stopped" not in browser.post(start, {"key": str(uuid4())}, follow=True).content.decode()


def test_time_that_is_corrected_is_said_as_everywhere_else(job: Job, browser: Browser, maker: User):
    today, row = timezone.localdate(), operation(job, "PIN")
    entry = timing.write_down(row, user=maker, key=uuid4(), day=today, minutes=61)
    assert "1 h 01 on" in browser.get(reverse("time-correct", args=[entry.pk])).content.decode()


def test_a_photograph_is_taken_away_after_a_second_press(job: Job, browser: Browser, books: User, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    sign_toile(job, books)
    job.client.may_photograph = True
    job.client.save()
    job.photos.create(photo="jobs/a.png", words="Toile")
    said = browser.get(reverse("job-client", args=[job.pk])).content.decode()
    assert said.index("<summary") < said.index("It cannot be brought back.") < said.index("Take it away</button>")


def test_a_moment_of_another_year_says_which():
    at = timezone.localtime().replace(month=1, day=4, hour=9, minute=5)
    assert moment_text(at) == "4 January, 09:05"
    assert moment_text(at.replace(year=at.year - 1)) == f"4 January {at.year - 1}, 09:05"
