"""The cut list at the bench: what is on it, what booking it issues, what several jobs cut together.

That rests from 150 mm on go back, that accepted work keeps what is kept for it, and that a lacing cord is of one piece:
common practice, no source. Amounts are sums of lengths, reckoned in the tests.
"""

import re
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import BenchPage, fill_shelf, line_of
from support_forms import PageForms
from support_open_jobs import open_jobs
from support_shelf import stocked

from inventory.models import Lot, Movement, Posting, Reservation, ReservationLine, StockItem
from inventory.reserving.free_lots import free_lots
from inventory.reserving.reservations import Wish, reserve
from inventory.stock.audit import audit
from inventory.stock.cutting import put_back_offcuts
from studio.bench.cut_listing import cut_list_of
from studio.models import Job

pytestmark = pytest.mark.django_db
KINDS = ("spiral", "flat", "synthetic", "cane", "casing", "waist-tape", "cord", "binding")


def spirals(job: Job) -> list[tuple[int, int]]:
    """Length in tenths of a millimetre, and count, of the bones that are cut from the coil."""
    return [(round(run.length_mm * 10), run.count) for run in job.option.takeoff.bones if run.kind == "spiral"]


def cuttable(job: Job) -> list[ReservationLine]:
    lines = ReservationLine.objects.filter(reservation__reference=job.reference, item__material__kind__in=KINDS)
    return list(lines.select_related("item__material"))


def taken(job: Job, kind: str) -> int:
    """What a job took of a kind, in base units."""
    moved = Movement.objects.filter(posting__job=job.reference, posting__kind="issue", item__material__kind=kind)
    return -sum(moved.values_list("quantity", flat=True))


def coil_of(job: Job) -> StockItem:
    return next(line.item for line in cuttable(job) if line.item.material.kind == "spiral")


def opened(browser: Browser, address: str) -> tuple[str, dict[str, Any]]:
    page = browser.get(address).content.decode()
    return page, PageForms(page, address).that_has("list").with_values({})


def test_the_list_names_lots_places_and_lengths_and_obeys_the_rules_of_a_page(job: Job, browser: Browser):
    fill_shelf(job)
    Lot.objects.update(place="Drawer 4")
    answer = browser.get(reverse("job-cut", args=[job.pk]))
    html = answer.content.decode()
    length, count = spirals(job)[0]
    assert f"{length / 10:g} mm" in html
    assert count
    assert "Drawer 4" in html
    assert "rated eye protection" in html
    page = BenchPage(html)
    assert (page.inline, page.unlabelled, page.nameless_buttons) == ([], [], 0)
    assert set(page.posts) == {1}
    assert reverse("job-cut", args=[job.pk]) in browser.get(reverse("job-materials", args=[job.pk])).content.decode()
    assert reverse("cut-together") in browser.get(reverse("bench")).content.decode()


def test_all_is_cut_issues_what_was_cut_and_keeps_no_more_for_the_job(job: Job, browser: Browser):
    """Of the coil goes what its quote reckons, a twentieth more than the bones; flats, tape and cord lose nothing."""
    fill_shelf(job)
    address = reverse("job-cut", args=[job.pk])
    _, said = opened(browser, address)
    assert browser.post(address, said).status_code == 302
    tenths = sum(length * count for length, count in spirals(job))
    assert taken(job, "spiral") == pytest.approx(tenths / 10 * 1.05, abs=1)
    flats = sum(run.count for run in job.option.takeoff.bones if run.kind == "flat")
    assert taken(job, "flat") == flats
    cord = next(line for line in job.option.takeoff.lines if line.code == "cord")
    assert taken(job, "cord") == cord.quantity * 1000
    assert taken(job, "waist-tape") == pytest.approx(job.option.takeoff.tape_mm, abs=1)
    assert [line for line in cuttable(job) if line.remaining] == []
    assert audit().differences == ()
    assert "Nothing is left to cut here" in browser.get(address).content.decode()
    assert address not in browser.get(reverse("job-materials", args=[job.pk])).content.decode()


def test_the_list_that_was_booked_counts_once_and_an_old_one_is_refused(job: Job, browser: Browser):
    fill_shelf(job)
    address = reverse("job-cut", args=[job.pk])
    _, said = opened(browser, address)
    _, later = opened(browser, address)
    first, again = browser.post(address, said), browser.post(address, said)
    assert first["Location"] == again["Location"] == reverse("job-materials", args=[job.pk])
    issued = Posting.objects.filter(kind="issue").count()
    refused = browser.post(address, later)
    assert refused.status_code == 422
    assert "since this list was made" in refused.content.decode()
    assert Posting.objects.filter(kind="issue").count() == issued


def test_what_differed_is_what_the_ledger_says(job: Job, browser: Browser):
    fill_shelf(job)
    address = reverse("job-cut", args=[job.pk])
    html, said = opened(browser, address)
    (field,) = re.findall(r'for="id_(taken-\d+)">Spiral', html)
    browser.post(address, {**said, field: "2.41"})
    assert taken(job, "spiral") == 2410
    assert line_of(job, coil_of(job).code).remaining == 0
    wrong = browser.post(address, {**said, field: "many"})
    assert wrong.status_code == 422


def test_a_rest_in_the_drawer_is_used_and_what_is_left_of_it_goes_back(job: Job, browser: Browser):
    """A rest that is 160 mm longer than the longest bone: 159 mm go back after a cut of 1 mm."""
    fill_shelf(job)
    coil = coil_of(job)
    longest = max(length for length, _ in spirals(job))
    put_back_offcuts_of(coil, longest + 1600)
    before = Lot.objects.get(item=coil).on_hand
    address = reverse("job-cut", args=[job.pk])
    html, said = opened(browser, address)
    assert "Put back: " in html
    assert browser.post(address, said).status_code == 302
    left = StockItem.objects.get(material=coil.material, form="cut", size_tenths_mm=longest + 1600 - longest - 10)
    assert left.on_hand == 1
    assert StockItem.objects.get(material=coil.material, form="cut", size_tenths_mm=longest + 1600).on_hand == 0
    # One bone less comes off the coil.
    tenths = sum(length * count for length, count in spirals(job)) - longest
    assert before - Lot.objects.get(item=coil).on_hand == pytest.approx(tenths / 10 * 1.05, abs=1)
    assert [line for line in cuttable(job) if line.remaining] == []
    assert audit().differences == ()


def put_back_offcuts_of(coil: StockItem, length: int) -> None:
    from support_shelf import act

    put_back_offcuts(act(), lot=Lot.objects.filter(item=coil).earliest("pk"), lengths=[length])


def test_a_rest_that_was_broken_is_waste_and_one_too_short_is_refused(job: Job, browser: Browser):
    fill_shelf(job)
    coil = coil_of(job)
    longest = max(length for length, _ in spirals(job))
    put_back_offcuts_of(coil, longest + 1600)
    address = reverse("job-cut", args=[job.pk])
    _, said = opened(browser, address)
    short = browser.post(address, {**said, "rest-0": "120"})
    assert short.status_code == 422
    assert "shorter than the 150 mm that are kept" in short.content.decode()
    two = browser.post(address, {**said, "rest-0": "155 160"})
    assert "more than one length" in two.content.decode()
    none = browser.post(address, {**said, "rest-0": ";"})
    assert none.status_code == 422
    assert "; is no length" in none.content.decode()
    assert browser.post(address, {**said, "rest-0": ""}).status_code == 302
    assert not StockItem.objects.filter(material=coil.material, form="cut", on_hand__gt=0).exists()
    assert audit().differences == ()


def test_what_is_missing_stands_there_in_words(job: Job, browser: Browser):
    html = browser.get(reverse("job-cut", args=[job.pk])).content.decode()
    assert "nothing of it is there" in html
    assert 'name="list"' not in html


def test_what_is_kept_for_other_work_is_not_cut(job: Job, browser: Browser):
    """Of 10 m other work keeps 9.8 m; 200 mm are free, and no bone of the job is so short."""
    coil = coil_of(job)
    stocked(coil, 10_000, 1000)
    wish = Wish(item=coil, quantity=9800, operation="Bones")
    today = timezone.localdate()
    reserve(reference="Q77", title="Other", link="", wishes=[wish], needed_by=today, expires_on=None)
    (free,) = free_lots([coil.pk], beside=[job.reference])
    assert free.free == 200
    (spiral,) = [cuts for cuts in cut_list_of([job]).lists if cuts.material == coil.material.code]
    assert spiral.lots == ()
    page = browser.get(reverse("job-cut", args=[job.pk])).content.decode()
    assert "More of it lies there, kept for other accepted work." in page
    assert sum(row.count for row in spiral.missing) == sum(count for _, count in spirals(job))


def test_what_is_kept_without_a_lot_stays_in_the_one_that_is_taken_last(job: Job):
    coil = coil_of(job)
    first, second = stocked(coil, 3000, 300), stocked(coil, 3000, 300)
    wish = Wish(item=coil, quantity=4000, operation="Bones")
    reserve(reference="Q77", title="", link="", wishes=[wish], needed_by=timezone.localdate(), expires_on=None)
    assert [(row.lot, row.free) for row in free_lots([coil.pk], beside=[job.reference])] == [(first, 2000), (second, 0)]
    assert [row.lot for row in free_lots([coil.pk], beside=["Q77", job.reference])] == [first, second]


def test_jobs_that_are_cut_together_each_get_their_own_and_what_it_saves_is_said(
    job: Job, books: User, browser: Browser
):
    """Of one coil with all that is kept for both it makes no difference which goes first."""
    (other,) = open_jobs(1, like=job.revision, user=books, on=timezone.localdate())
    coil = coil_of(job)
    stocked(coil, 2 * line_of(job, coil.code).quantity, 2000)
    address = reverse("cut-together")
    html, said = opened(browser, address)
    saves = (
        "Against one job after another this saves 0 mm of waste, 0 mm off coils and rolls, and 0 bones from the drawer."
    )
    assert saves in html
    assert f"{job.reference}: " in html
    assert browser.post(address, said)["Location"] == reverse("bench")
    own = [taken(of, "spiral") for of in (job, other)]
    assert sum(own) == pytest.approx(2 * line_of(job, coil.code).quantity, abs=1)
    assert abs(own[0] - own[1]) <= 1
    assert audit().differences == ()
    # The coil is done with; flats and tapes were missing and are still kept.
    assert line_of(job, coil.code).remaining == 0
    assert Reservation.objects.filter(reference=job.reference, state="open").exists()


def test_a_job_that_was_not_cut_after_all_keeps_what_is_kept_for_it(job: Job, books: User, browser: Browser):
    (other,) = open_jobs(1, like=job.revision, user=books, on=timezone.localdate())
    coil = coil_of(job)
    stocked(coil, 3 * line_of(job, coil.code).quantity, 2000)
    html, said = opened(browser, reverse("cut-together"))
    (field,) = re.findall(rf'for="id_(taken-\d+)">Spiral[^<]*for {other.reference}', html)
    assert browser.post(reverse("cut-together"), {**said, field: "0"}).status_code == 302
    lines = [line_of(of, coil.code) for of in (job, other)]
    assert [(line.issued > 0, line.remaining > 0) for line in lines] == [(True, False), (False, True)]
    assert audit().differences == ()


def test_a_coil_that_just_reaches_serves_both_only_together(job: Job, books: User, browser: Browser):
    """All bones of both with a cut of 1 mm each: the twentieth that the first alone would lose is what the last lacks."""
    open_jobs(1, like=job.revision, user=books, on=timezone.localdate())
    stocked(coil_of(job), -(-2 * sum((length + 10) * count for length, count in spirals(job)) // 10), 2000)
    html, said = opened(browser, reverse("cut-together"))
    assert "Cut one job after another, 1 piece more would be missing." in html
    # What the shelf keeps for each, a twentieth more than is cut, it has not; both are cut all the same.
    assert browser.post(reverse("cut-together"), said).status_code == 302
    assert audit().differences == ()


def test_asking_for_the_list_of_more_jobs_asks_the_books_as_often(
    job: Job, books: User, django_assert_max_num_queries: Any
):
    jobs = [job, *open_jobs(3, like=job.revision, user=books, on=timezone.localdate())]
    fill_shelf(job)
    with django_assert_max_num_queries(5):
        cut_list_of(jobs)
