"""Days and times that cannot be meant are asked for again, and a page that was asked for them is still a page.

Common practice, no source: the standard library's calendar ends with the years 1 and 9999, and one step beyond an end
is an error.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.utils import timezone
from support_bench import operation

from studio.calendar.links import calendar_feed
from studio.models import ChangeOrder, DayOff, Fitting, Job

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "asked",
    [
        "/books/by/price/?since=0001-01-01",
        "/books/by/price/?until=9999-12-31",
        "/books/by/price/?since=2030-01-01&until=2020-01-01",
        "/books/by/month/?since=0001-01-01&until=9999-12-31",
        "/books/?since=0001-01-01&until=9999-12-31",
        f"/books/months/?year={'9' * 5000}",
        "/books/months/?year=1969",
    ],
)
def test_books_of_days_that_cannot_be_are_a_page(browser: Browser, job: Job, asked: str):
    assert browser.get(asked).status_code == 200


@pytest.mark.parametrize("at", ["0001-01-01T00:00", "9999-12-31T23:59"])
def test_a_fitting_has_a_year_that_can_be_meant(browser: Browser, job: Job, at: str):
    answer = browser.post(f"/bench/{job.pk}/fittings/plan/", {"kind": "final", "at": at, "minutes": "60"})
    assert answer.status_code == 422
    assert b"Days are from 1970 to 2999; look at the year." in answer.content
    assert not Fitting.objects.exists()


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_so_has_the_day_on_which_a_piece_is_wanted(browser: Browser, job: Job, day: str):
    answer = browser.post(f"/bench/{job.pk}/days/", {"due": day, "promised": ""})
    assert answer.status_code == 422
    assert b"look at the year" in answer.content
    calendar_feed()


def test_the_latest_day_is_a_day_of_the_feed(browser: Browser, job: Job):
    assert browser.post(f"/bench/{job.pk}/days/", {"due": "2999-12-31", "promised": ""}).status_code == 302
    assert b"DTEND;VALUE=DATE:30000101" in calendar_feed()


def test_so_have_days_off(browser: Browser, job: Job):
    said = {"act": "day-off", "first": "9999-12-01", "last": "9999-12-31", "words": ""}
    assert browser.post("/bench/calendar/", said).status_code == 422
    assert not DayOff.objects.exists()


def test_a_change_adds_hours_that_can_be_worked(browser: Browser, job: Job):
    said = {"what": "Lining", "sense": "more", "net": "10", "minutes": "9999999999", "agreed_on": "2026-01-02"}
    answer = browser.post(f"/bench/{job.pk}/changes/add/", said)
    assert answer.status_code == 422
    assert b"9999999999 are more than 1000 hours." in answer.content
    assert not ChangeOrder.objects.exists()


def test_a_delivered_job_keeps_its_days(browser: Browser, job: Job, books: User):
    Job.objects.filter(pk=job.pk).update(stage=Job.Stage.CANCELLED)
    answer = browser.post(f"/bench/{job.pk}/days/", {"due": f"{timezone.localdate()}", "promised": ""})
    assert answer.status_code == 422
    assert b"This job is over already." in answer.content


def test_time_of_tomorrow_is_refused_on_its_page(browser: Browser, job: Job):
    row = operation(job, "CUT")
    said = {"day": f"{timezone.localdate() + timedelta(days=1)}", "minutes": "60", "key": f"{uuid4()}"}
    assert browser.post(f"/bench/{job.pk}/operations/{row.pk}/", said).status_code == 422
