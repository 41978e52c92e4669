"""The calendar in the browser and what stands behind it.

Sources: RFC 5545 (the feed, read back by a general-purpose library), numpy's business days (a promise of one piece on an
empty bench), RFC 9111 (`no-store`); six hours a day from Monday to Friday are common practice, no source.
"""

import math
from dataclasses import replace
from datetime import date, timedelta
from uuid import uuid4

import icalendar
import numpy as np
import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import BenchPage, job_of, line_of, operation
from support_shelf import SupplierFactory, offered

from inventory.buying.purchasing import OrderWish, draft_order, place
from inventory.ground.wording import day_text
from inventory.models import PurchaseOrder, ReservationLine
from quotes.desk.quoting import start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from studio.bench import timing
from studio.bench.job_making import set_dates
from studio.calendar.days import Days, days_known
from studio.calendar.endings import endings
from studio.calendar.work_ahead import promise_for, works_ahead
from studio.client.fittings import hold_fitting, plan_fitting
from studio.models import CalendarLink, DayOff, Job, WorkingHours
from studio.schedule.worked import ALL_WORKED

TODAY = timezone.localdate
ONE_DAY = timedelta(days=1)


@pytest.fixture
def job(sent: QuoteRevision, books: User) -> Job:
    return job_of(sent, books)


@pytest.fixture
def asked(job: Job, pattern: PatternRevision, two_layers: dict, books: User) -> QuoteRevision:
    """A quote that is asked for while a job is open."""
    client = Client(name="Maud Ellery")
    return start_quote(client=client, title="Stays", due=None, pattern=pattern, options=[two_layers], user=books)


def known() -> Days:
    return days_known(endings(), TODAY())


def needed(job: Job) -> int:
    (ahead,) = works_ahead(TODAY())
    return sum(stage.minutes for stage in ahead.work.stages)


def feed_address(browser: Browser) -> str:
    browser.post(reverse("calendar"), {"act": "link"})
    return reverse("feed", args=[CalendarLink.objects.latest("pk").token])


def test_a_piece_on_an_empty_bench_is_promised_by_its_business_days(sent: QuoteRevision, browser: Browser):
    full_days = replace(known(), worked=ALL_WORKED)
    found = promise_for(sent, 0, TODAY(), ahead=[], days=full_days)
    labour = sent.figures["quotation"]["options"][0]["takeoff"]["labour"]
    for day, minutes in ((found.promise.day_50, labour["total_min"]), (found.promise.day_90, labour["high_min"])):
        by_hand = np.busday_offset(TODAY(), math.ceil(minutes / 360) - 1, roll="forward").astype(date)
        assert abs(np.busday_count(by_hand, day)) <= 1
    found = promise_for(sent, 0, TODAY(), ahead=[], days=known())
    page = browser.get(reverse("promise", args=[sent.pk])).content.decode()
    assert f"likely to be finished by {day_text(found.promise.day_50)}" in page
    assert f"nine times in ten by {day_text(found.promise.day_90)}" in page
    assert "Waits for material that nobody offers: " in page


def test_a_new_piece_comes_after_the_open_jobs_or_makes_a_promised_one_late(
    asked: QuoteRevision, job: Job, books: User, browser: Browser
):
    alone = promise_for(asked, 0, TODAY(), ahead=[], days=known()).promise
    ahead = works_ahead(TODAY())
    behind = promise_for(asked, 0, TODAY(), ahead=ahead, days=known()).promise
    assert behind.day_50 > alone.day_90
    assert behind.warnings == ()
    set_dates(job, due=None, promised=alone.day_90, user=books)
    address = reverse("promise", args=[asked.pk])
    pushed = f"{job.reference} is promised for {day_text(alone.day_90)}"
    assert pushed not in browser.get(address).content.decode()
    assert pushed in browser.get(address, {"before": job.reference}).content.decode()
    assert browser.get(address, {"before": "Q999"}).status_code == 422


def test_the_calendar_says_what_a_job_s_minutes_and_days_rest_on(job: Job, books: User, browser: Browser):
    at = timezone.now() + 9 * ONE_DAY
    plan_fitting(job, kind="final", at=at, minutes=45, notes="")
    job.changes.create(what="Garter loops", net_minor=10_000, minutes=30, agreed_on=TODAY(), by=books)
    (ahead,) = works_ahead(TODAY())
    # By hand: what the operations plan, the change, the fitting; stages are whole minutes each.
    planned = sum(row.planned_min for row in job.operations.all())
    assert (ahead.bench_min, ahead.change_min) == (pytest.approx(planned), 30)
    assert needed(job) == pytest.approx(planned + 30 + 45, abs=4)
    page = browser.get(reverse("calendar"))
    (row,) = page.context["page"].rows
    reasons = dict(row.reasons)
    assert reasons["Still needs"].endswith("30 min for agreed changes, 45 min for fittings.")
    assert reasons["Its turn"] == "First of all."
    assert reasons["Fitting"].startswith(f"Final fitting: {timezone.localtime(at).day} ")
    assert all(words in page.content.decode() for words in ("Why these days", "nine times in ten", "Final fitting: "))


def test_what_is_done_on_the_calendar_is_said(job: Job, browser: Browser):
    feed_address(browser)
    week = {str(place): "6" for place in range(7)}
    names = list(browser.get(reverse("calendar")).context["hours"].fields)
    kept = browser.post(
        reverse("calendar"), {"act": "hours", **dict(zip(names, week.values(), strict=True))}, follow=True
    )
    assert "The hours are kept" in kept.content.decode()
    revoke = reverse("calendar-link-take-away", args=[CalendarLink.objects.get().pk])
    assert "The link is revoked" in browser.post(revoke, follow=True).content.decode()


def test_a_quote_whose_job_is_made_leads_to_it(job: Job, browser: Browser):
    page = browser.get(reverse("promise", args=[job.revision_id])).content.decode()
    assert reverse("job", args=[job.pk]) in page
    assert "likely to be finished" not in page


def test_a_late_job_is_warned_of(job: Job, books: User, browser: Browser):
    address = reverse("calendar")
    assert "Likely to be late" not in browser.get(address).content.decode()
    set_dates(job, due=None, promised=TODAY() + ONE_DAY, user=books)
    page = browser.get(address).content.decode()
    assert f"Likely to be late: promised for {day_text(TODAY() + ONE_DAY)}" in page
    assert '<tr class="off">' in page


def test_what_is_done_and_worked_is_needed_no_more(job: Job, books: User):
    whole = needed(job)
    row = operation(job, "CUT")
    timing.write_down(row, user=books, key=uuid4(), day=TODAY(), minutes=5)
    assert whole - needed(job) == 5
    timing.write_down(row, user=books, key=uuid4(), day=TODAY(), minutes=30, cause="own-slip")
    assert whole - needed(job) == 5
    job.operations.filter(pk=row.pk).update(done_at=timezone.now())
    assert abs(whole - needed(job) - row.planned_min) <= 1
    job.operations.update(done_at=timezone.now())
    assert needed(job) == 0


def test_a_fitting_that_is_ahead_is_a_fixed_day_before_what_it_decides(job: Job, books: User):
    at = timezone.now() + 10 * ONE_DAY
    fitting = plan_fitting(job, kind="boned", at=at, minutes=45)
    (ahead,) = works_ahead(TODAY())
    _, held, bench_after = ahead.work.stages
    assert (held.fixed_day, held.minutes) == (timezone.localdate(at), 45)
    after = job.operations.filter(place__gte=operation(job, "GROM").place)
    assert abs(bench_after.minutes - sum(row.planned_min for row in after)) <= 1
    hold_fitting(fitting, held_on=TODAY(), notes="", alterations="", signs_toile=False, user=books)
    (ahead,) = works_ahead(TODAY())
    assert [stage.fixed_day for stage in ahead.work.stages] == [None]


def test_cloth_is_not_touched_before_what_is_ordered_comes(job: Job, books: User, browser: Browser):
    line: ReservationLine = line_of(job, "coutil-white")
    supplier = SupplierFactory(lead_days=60)
    order: PurchaseOrder = draft_order(
        supplier, [OrderWish(offer=offered(supplier, line.item, 100), packs=1)], user=books, on=TODAY()
    )
    place(order, on=TODAY())
    order.refresh_from_db()
    (ahead,) = works_ahead(TODAY())
    assert [stage.earliest for stage in ahead.work.stages] == [None, order.expected_on, None]
    assert str(line.item) not in ahead.materials.offered_by_nobody
    assert f"come by {day_text(order.expected_on)}" in browser.get(reverse("calendar")).content.decode()


def test_hours_are_kept_and_bad_ones_refused(job: Job, browser: Browser):
    address = reverse("calendar")
    week = dict.fromkeys(("monday", "tuesday", "wednesday", "thursday", "friday"), "6:30") | {"saturday": "1.5"}
    assert browser.post(address, {"act": "hours", **week, "sunday": "0"}).status_code == 302
    kept = [390] * 5 + [90, 0]
    assert WorkingHours.objects.get().minutes_by_weekday == kept
    zeros = dict.fromkeys((*week, "sunday"), "0")
    for bad in ({**week, "sunday": "25"}, {**week, "sunday": "late"}, {**week, "sunday": "1.001"}, week, zeros):
        answer = browser.post(address, {"act": "hours", **bad})
        assert answer.status_code == 422, bad
        assert "Hours at the table" in answer.content.decode()
    assert WorkingHours.objects.get().minutes_by_weekday == kept


def test_days_off_are_kept_taken_out_and_bad_ones_refused(job: Job, browser: Browser):
    address, today = reverse("calendar"), TODAY()
    before = promise_for(job.revision, 0, today, ahead=[], days=known()).promise.day_50
    said = {"act": "day-off", "first": today.isoformat(), "last": (today + 13 * ONE_DAY).isoformat(), "words": "Sea"}
    assert browser.post(address, said).status_code == 302
    assert promise_for(job.revision, 0, today, ahead=[], days=known()).promise.day_50 == before + 14 * ONE_DAY
    assert "Sea" in browser.get(address).content.decode()
    # The last before the first, more than a year, and a year that leaves no day to work on.
    for days in (-1, 9000, 365):
        bad = {"act": "day-off", "first": today.isoformat(), "last": (today + days * ONE_DAY).isoformat()}
        assert browser.post(address, bad).status_code == 422, days
    assert browser.post(address, {"act": "day-off", "first": "soon"}).status_code == 422
    browser.post(reverse("day-off-take-away", args=[DayOff.objects.get().pk]))
    assert promise_for(job.revision, 0, today, ahead=[], days=known()).promise.day_50 == before


def test_the_feed_holds_due_days_and_fittings_and_no_client(job: Job, books: User, browser: Browser):
    due = TODAY() + 40 * ONE_DAY
    set_dates(job, due=due, promised=None, user=books)
    at = (timezone.now() + 9 * ONE_DAY).replace(microsecond=0)
    plan_fitting(job, kind="final", at=at, minutes=30)
    answer = Browser().get(feed_address(browser))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Cache-Control"] == "no-store"
    events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    assert [event["DTSTART"].dt for event in events] == [due, at]
    assert events[1]["DTEND"].dt == at + timedelta(minutes=30)
    assert job.client.name not in answer.content.decode()


def test_the_feed_opens_by_a_link_that_stands_and_by_no_other(job: Job, browser: Browser):
    first, second = feed_address(browser), feed_address(browser)
    anyone = Browser()
    assert anyone.get(reverse("feed", args=["guessed"])).status_code == 404
    assert anyone.get(reverse("feed", args=["gué"])).status_code == 404
    assert first in browser.get(reverse("calendar")).content.decode()
    browser.post(reverse("calendar-link-take-away", args=[CalendarLink.objects.earliest("pk").pk]))
    assert first not in browser.get(reverse("calendar")).content.decode()
    assert [anyone.get(address).status_code for address in (first, second)] == [404, 200]
    assert browser.get(first).status_code == 404
    assert anyone.post(second).status_code == 405


def test_all_else_is_behind_the_login_and_holds_to_the_rules_of_html(job: Job, asked: QuoteRevision, browser: Browser):
    feed_address(browser)
    off = DayOff.objects.create(first=TODAY(), last=TODAY())
    for address in (reverse("calendar"), reverse("promise", args=[asked.pk])):
        assert reverse("login") in Browser().get(address)["Location"]
        page = BenchPage(browser.get(address).content.decode())
        assert (page.inline, page.unlabelled, page.nameless_buttons) == ([], [], 0)
        assert all(tokens == 1 for tokens in page.posts)
    assert reverse("login") in Browser().post(reverse("day-off-take-away", args=[off.pk]))["Location"]
    assert DayOff.objects.exists()
