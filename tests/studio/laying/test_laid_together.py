"""Cloth of several jobs, from accepted jobs to their accounts: one lay, its cost shared, booked in one act.

That a joint lay takes no more than all apart, and that its cost is shared without rest, is by definition; amounts are
reckoned in the tests from what the shelf is worth.
"""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.db.models import Sum
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from support_bench import BenchPage, cloth_line, fill_shelf
from support_forms import PageForms
from support_laying import drawn_at_once
from support_open_jobs import open_jobs
from support_searching import worker_by_hand
from support_shelf import act, stocked

from inventory.ground.measures import quantity_text
from inventory.models import Lot, Movement, Posting, ReservationLine, Shelf, StockItem
from inventory.reserving.reservations import keep_from_lot
from inventory.stock.audit import audit
from inventory.stock.ledger import Remnant, give_back, issue, split_off
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.laying import laid
from studio.accounts.accounting import settle
from studio.laying.asking import LayWishes
from studio.laying.booking import all_cut
from studio.laying.drawing_up import move_all_on
from studio.laying.kept import KEPT_LAY
from studio.laying.wanting import JobWants, cloths_wanted
from studio.learning.material_use import materials_seen
from studio.models import Job, JointLay

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch, worker_is_there: None) -> None:
    """A worker is there that steps by hand, and lays are searched for a moment."""

    def quickly(problem: LayProblem, effort: Effort, **said: Any) -> LayPlan:
        return replace(laid(problem, Effort.NONE, **said), effort=effort)

    monkeypatch.setattr("quotes.searching.worker.laid", quickly)


def draw_all() -> None:
    """What a worker does until nothing is left to do."""
    worker = replace(worker_by_hand(works_in_idle_time=False), beside=move_all_on)
    while worker.step():
        pass


@pytest.fixture
def jobs(job: Job, books: User) -> list[Job]:
    """Three open jobs of one pattern; nothing is cut, and the first one's shelf is full."""
    return [job, *open_jobs(2, like=job.revision, user=books, on=timezone.localdate())]


@pytest.fixture
def inner(jobs: list[Job]) -> StockItem:
    """The cloth of their strength layers, which does not show, 10 m of it at 10.00 a metre."""
    item = StockItem.objects.select_related("material").get(code="coutil-white")
    stocked(item, 10_000, 10_000)
    return item


def wanting(item: StockItem) -> list[JobWants]:
    (cloth,) = cloths_wanted(item.pk)
    return list(cloth.jobs)


def drawn(item: StockItem, count: int, **said: Any) -> JointLay:
    """A lay of the first jobs that want a cloth, in rows pushed together: the same whatever the machine has to do."""
    lot = Lot.objects.filter(item=item, remnant_width_mm=None).first()
    return drawn_at_once(item, wanting(item)[:count], LayWishes(lot=lot, **said))


def taken(job: Job, item: StockItem) -> tuple[int, int]:
    """What a job took of an item less what came back, in mm and minor units."""
    rows = list(Movement.objects.filter(posting__job=job.reference, item=item).values_list("quantity", "value_minor"))
    return -sum(quantity for quantity, _ in rows), -sum(value for _, value in rows)


def line_for(job: Job, item: StockItem) -> ReservationLine:
    return ReservationLine.objects.get(reservation__reference=job.reference, item=item)


def test_from_accepted_jobs_to_their_accounts(jobs: list[Job], inner: StockItem, browser: Browser):
    """Two of three jobs are laid together on the page, cut, and what their accounts say of the cloth is their share."""
    page = browser.get(reverse("lay-together")).content.decode()
    assert reverse("lay-together") in browser.get(reverse("bench")).content.decode()
    address = reverse("lay-cloth", args=[inner.pk])
    assert address in page
    form = PageForms(browser.get(address).content.decode(), address).that_has("jobs")
    assert form.values["jobs"] == [job.reference for job in jobs]
    asked = browser.post(address, form.with_values({"jobs": [job.reference for job in jobs[:2]]}))
    assert not JointLay.objects.exists()
    draw_all()
    answer = browser.get(asked["Location"])
    lay = JointLay.objects.get()
    assert answer["Location"] == reverse("joint-lay", args=[lay.pk])
    shares = list(lay.shares.all())
    assert [share.job for share in shares] == jobs[:2]
    assert 0 < sum(share.takes_mm for share in shares) <= sum(share.alone_mm for share in shares)
    html = browser.get(answer["Location"]).content.decode()
    assert f"{jobs[0].reference}: The deposit of" in html
    assert "the shares add up to the cost of this lay to the cent" in html
    assert html.count('class="lay-cut-line"') == sum(
        piece.cloth == "inner" for job in jobs[:2] for piece in job.option.takeoff.pieces
    )
    booking = PageForms(html, answer["Location"]).that_has("roll")
    assert browser.post(answer["Location"], booking.with_values({})).status_code == 302
    assert browser.post(answer["Location"], booking.with_values({})).status_code == 302
    assert Posting.objects.filter(kind="issue").count() == 2
    for share in lay.shares.all():
        assert taken(share.job, inner) == (share.takes_mm, share.takes_mm) == (share.takes_mm, share.paid_minor)
        assert line_for(share.job, inner).remaining == 0
        assert "in one lay with" in share.job.notes.first().words
    assert taken(jobs[2], inner) == (0, 0)
    assert [wants.job for wants in wanting(inner)] == jobs[2:]
    assert audit().differences == ()
    Job.objects.filter(pk=jobs[0].pk).update(
        stage="delivered", delivered_on=timezone.localdate(), net_minor=40_000, tax_minor=0, fee_minor=0
    )
    kept = settle(jobs[0]).kept
    (used,) = [row for row in kept.actual.materials if row.code == "coutil-white"]
    assert (used.quantity * 1000, used.value * 100) == (shares[0].takes_mm, shares[0].takes_mm)


def test_the_papers_of_a_joint_lay_name_each_piece_with_its_job(jobs: list[Job], inner: StockItem, browser: Browser):
    lay = drawn(inner, 2)
    svg = browser.get(reverse("joint-lay-svg", args=[lay.pk, 0])).content.decode()
    labels = [piece.label for piece in jobs[0].option.takeoff.pieces if piece.cloth == "inner"]
    for job in jobs[:2]:
        assert all(f">{job.reference} {label}<" in svg for label in labels)
    assert svg.count('class="stitching-line"') == 2 * len(labels)
    assert browser.get(reverse("joint-lay-pdf", args=[lay.pk, 0])).content.startswith(b"%PDF")
    assert b"SECTION" in browser.get(reverse("joint-lay-dxf", args=[lay.pk, 0])).content
    assert browser.get(reverse("joint-lay-pdf", args=[lay.pk, 7])).status_code == 404


def test_the_same_question_leads_to_the_lay_that_was_drawn_for_it(jobs: list[Job], inner: StockItem):
    assert drawn(inner, 2) == drawn(inner, 2)
    assert drawn(inner, 3) != drawn(inner, 2)
    for lay in JointLay.objects.all():
        for part in KEPT_LAY.read(lay.document).joint.parts:
            assert given_cloth_faults(part.problem, part.plan) == ()


def test_a_remnant_that_costs_less_is_used_shared_and_its_rest_goes_back(
    jobs: list[Job], inner: StockItem, browser: Browser, books: User
):
    """A remnant as broad as the roll and 1 m long holds all and costs the same, as the rest of 300 or more goes back."""
    roll = Lot.objects.get(item=inner)
    width = inner.material.usable_width_mm
    split_off_of(roll, width, 1000)
    plain, lay = drawn(inner, 2), drawn(inner, 2, uses_remnants=True)
    kept = KEPT_LAY.read(lay.document)
    assert kept.joint.takes_mm <= KEPT_LAY.read(plain.document).joint.takes_mm
    (use,) = kept.taken[0].remnants
    address = reverse("joint-lay", args=[lay.pk])
    html = browser.get(address).content.decode()
    assert f"{width} × 1000 mm" in html
    assert f"{width} × {use.rest_mm} mm go back" in html
    assert "all lies on remnants" in html
    assert browser.get(reverse("joint-lay-pdf", args=[lay.pk, 0])).content.startswith(b"%PDF")
    remnant = Lot.objects.get(from_lot=roll)
    assert f"{remnant}, {width} mm wide" in browser.get(reverse("joint-lay-svg", args=[lay.pk, 0])).content.decode()
    booking = PageForms(html, address).that_has("roll").with_values({})
    assert browser.post(address, booking).status_code == 302
    shares = list(lay.shares.all())
    assert [taken(share.job, inner)[0] for share in shares] == [share.takes_mm for share in shares]
    assert sum(share.takes_mm for share in shares) == kept.roll_mm + use.takes_mm
    assert all(share.takes_mm <= share.alone_mm for share in shares)
    rests = Lot.objects.filter(item=inner, remnant_width_mm=width, on_hand__gt=0)
    assert [(lot.remnant_length_mm, lot.on_hand) for lot in rests] == [(use.rest_mm, 1000 - use.takes_mm)]
    assert use.rest_mm == 1000 - use.takes_mm >= 300
    roll.refresh_from_db()
    assert roll.on_hand == 9000 - kept.roll_mm
    assert audit().differences == ()


def split_off_of(roll: Lot, width: int, length: int) -> Lot:
    split_off(act(), lot=roll, remnant=Remnant(width_mm=width, length_mm=length))
    return Lot.objects.get(from_lot=roll)


def test_what_shows_is_cut_from_its_lot_and_from_remnants_of_its_dye_only(jobs: list[Job], browser: Browser):
    line = cloth_line(jobs[0])
    item = line.item
    lot, other = (stocked(item, 9_000, 9_000, dye_lot=dye) for dye in ("K7", "K8"))
    own, another = (split_off_of(of, item.material.usable_width_mm, 600) for of in (lot, other))
    keep_from_lot(line, lot)
    lay = drawn_at_once(item, wanting(item)[:2], LayWishes(lot=lot, uses_remnants=True), effort=Effort.QUICK)
    assert KEPT_LAY.read(lay.document).remnants == (own.pk,)
    address = reverse("lay-cloth", args=[item.pk])
    html = browser.get(address).content.decode()
    assert f'value="{lot.pk}" selected' in html
    form = PageForms(html, address).that_has("jobs")
    refused = browser.post(address, form.with_values({"lot": str(other.pk)}))
    assert refused.status_code == 422
    assert "are kept for it from Lot" in refused.content.decode()
    booked = reverse("joint-lay", args=[lay.pk])
    assert (
        browser.post(
            booked, PageForms(browser.get(booked).content.decode(), booked).that_has("roll").with_values({})
        ).status_code
        == 302
    )
    for wants in (jobs[0], jobs[1]):
        assert line_for(wants, item).lot == lot
    assert another.on_hand == Lot.objects.get(pk=another.pk).on_hand
    assert audit().differences == ()


def test_flaws_are_left_out_and_said_in_the_makers_unit(jobs: list[Job], inner: StockItem, browser: Browser):
    address = reverse("lay-cloth", args=[inner.pk])
    form = PageForms(browser.get(address).content.decode(), address).that_has("jobs")
    where = {"flaw-0-from": "10 cm", "flaw-0-to": "15 cm", "flaw-0-low": "40 cm", "flaw-0-high": "44 cm"}
    assert browser.post(address, form.with_values(where)).status_code == 302
    draw_all()
    kept = KEPT_LAY.read(JointLay.objects.get().document)
    assert kept.joint.parts[0].problem.flaws == ((100.0, 400.0, 150.0, 440.0),)
    assert all(given_cloth_faults(part.problem, part.plan) == () for part in kept.joint.parts)
    half = browser.post(address, form.with_values({"flaw-0-from": "10 cm"}))
    turned = browser.post(address, form.with_values({**where, "flaw-0-to": "5 cm"}))
    assert (half.status_code, turned.status_code) == (422, 422)
    assert "Say all four" in half.content.decode()
    assert "lies before where it begins" in turned.content.decode()
    assert browser.post(address, form.with_values({"jobs": []})).status_code == 422
    assert JointLay.objects.count() == 1


def test_a_lay_that_is_out_of_date_is_refused_and_leaves_nothing(
    jobs: list[Job], inner: StockItem, browser: Browser, books: User
):
    lay = drawn(inner, 2)
    address = reverse("joint-lay", args=[lay.pk])
    booking = PageForms(browser.get(address).content.decode(), address).that_has("roll").with_values({})
    asked = browser.post(address, {**booking, "roll": "11"})
    assert "11 m are far more than what is usual" in asked.content.decode()
    yes = re.search(r'value="(\w+)"', re.search(r'<input[^>]*name="sure_of"[^>]*>', asked.content.decode())[0])[1]
    too_much = browser.post(address, {**booking, "roll": "11", "sure_of": yes})
    assert too_much.status_code == 422
    nothing = browser.post(address, {**booking, "roll": "0"})
    assert "Nothing would be cut off the roll" in nothing.content.decode()
    free = quantity_text(10_000 - line_for(jobs[2], inner).remaining, inner.unit)
    assert f"Only {free} are free, not 11 m" in too_much.content.decode()
    issue(act(), lot=Lot.objects.get(item=inner), quantity=100, job=jobs[1].reference)
    refused = browser.post(address, booking)
    assert refused.status_code == 422
    assert f"Cloth went out to {jobs[1].reference} since this lay was drawn" in refused.content.decode()
    assert Posting.objects.filter(kind="issue").count() == 1
    lay.refresh_from_db()
    assert lay.booked_at is None


def test_each_has_its_part_of_every_lot_whatever_it_cost(jobs: list[Job], books: User):
    """By the lot's own cost, 10.00 a metre of the roll and 30.00 of a remnant: three like jobs pay alike, whoever comes first.

    Their shares of the cloth differ by a millimetre at most, and each part of a lot by another: 2 × 3 minor units a lot.
    """
    Shelf.objects.update(method="lot")
    item = StockItem.objects.select_related("material").get(code="coutil-white")
    roll, dear = stocked(item, 10_000, 10_000), stocked(item, 1_000, 3_000)
    remnant = split_off_of(dear, item.material.usable_width_mm, 300)
    lay = drawn_at_once(item, wanting(item), LayWishes(lot=roll, uses_remnants=True))
    kept = KEPT_LAY.read(lay.document)
    assert kept.roll_mm
    assert [use.takes_mm for use in kept.taken[0].remnants] == [300]
    worth = item_worth(item)
    all_cut(lay, roll_mm=kept.roll_mm, key=uuid4(), user=books)
    paid = [share.paid_minor for share in lay.shares.all()]
    assert sum(paid) == worth - item_worth(item)
    assert max(paid) - min(paid) <= 12
    remnant.refresh_from_db()
    assert remnant.on_hand == 0
    assert audit().differences == ()


def test_the_rest_of_a_remnant_keeps_what_it_cost(jobs: list[Job], books: User):
    """The rest of a remnant of 30.00 a metre is worth as much, though the jobs have cloth of the roll at 10.00 as well."""
    Shelf.objects.update(method="lot", remnant_length_mm=5)
    item = StockItem.objects.select_related("material").get(code="coutil-white")
    roll, dear = stocked(item, 10_000, 10_000), stocked(item, 1_500, 4_500)
    split_off_of(dear, item.material.usable_width_mm, 320)
    lay = drawn_at_once(item, wanting(item), LayWishes(lot=roll, uses_remnants=True))
    kept = KEPT_LAY.read(lay.document)
    (use,) = kept.taken[0].remnants
    assert kept.roll_mm
    assert use.rest_mm
    all_cut(lay, roll_mm=kept.roll_mm, key=uuid4(), user=books)
    rest = Lot.objects.get(item=item, remnant_length_mm=use.rest_mm)
    value = Movement.objects.filter(lot=rest).aggregate(value=Sum("value_minor"))["value"]
    assert value == 3 * rest.on_hand
    assert audit().differences == ()


def item_worth(item: StockItem) -> int:
    return StockItem.objects.get(pk=item.pk).value_minor


def test_a_lay_of_which_all_came_back_is_drawn_anew(jobs: list[Job], inner: StockItem, books: User):
    """Else its jobs would be led to the one that is booked, and could not be cut together any more."""
    lay = drawn(inner, 2)
    all_cut(lay, roll_mm=KEPT_LAY.read(lay.document).roll_mm, key=uuid4(), user=books)
    for share in lay.shares.all():
        line = line_for(share.job, inner)
        give_back(act(), lot=lay.lot, quantity=share.takes_mm, job=share.job.reference, line=line)
    again = drawn(inner, 2)
    assert again.booked_at is None
    assert again == drawn(inner, 2)
    all_cut(again, roll_mm=KEPT_LAY.read(again.document).roll_mm, key=uuid4(), user=books)


def test_what_was_really_cut_is_shared_the_same_way(jobs: list[Job], inner: StockItem, browser: Browser):
    lay = drawn(inner, 2)
    address = reverse("joint-lay", args=[lay.pk])
    booking = PageForms(browser.get(address).content.decode(), address).that_has("roll").with_values({})
    assert browser.post(address, {**booking, "roll": "0.801"}).status_code == 302
    assert sorted(taken(job, inner)[0] for job in jobs[:2]) == [400, 401]
    lay.refresh_from_db()
    assert lay.roll_mm == 801
    # More was cut than each would take alone, so the promise of the drawn lay is not repeated.
    assert all(share.takes_mm > share.alone_mm for share in lay.shares.all())
    html = browser.get(address).content.decode()
    assert "none is more than it would be alone" not in html
    assert "Each was issued its part of all that was cut" in html
    later = browser.post(address, {**booking, "roll": "0.9"})
    assert "This lay was booked already" in later.content.decode()


def test_the_pages_hold_to_the_rules_of_html(jobs: list[Job], inner: StockItem, browser: Browser):
    fill_shelf(jobs[0])
    lay = drawn(inner, 3)
    for address in (
        reverse("lay-together"),
        reverse("lay-cloth", args=[inner.pk]),
        reverse("joint-lay", args=[lay.pk]),
    ):
        page = BenchPage(browser.get(address).content.decode())
        assert (page.inline, page.unlabelled, page.nameless_buttons) == ([], [], 0), address
        assert all(tokens == 1 for tokens in page.posts), address


def test_cloth_of_a_joint_lay_tells_nothing_of_what_a_lay_alone_takes(
    jobs: list[Job], inner: StockItem, browser: Browser
):
    """What is learnt of cloth is how much is used of a job's own lay; the saving of a joint one is no part of that."""

    def seen() -> list[str]:
        return [use.job for use in materials_seen().uses if use.kind == "cloth_use_factor"]

    for job, count in ((jobs[0], 2), (jobs[2], 1)):
        lay = drawn_at_once(inner, wanting(inner)[:count], LayWishes(lot=Lot.objects.get(item=inner)))
        address = reverse("joint-lay", args=[lay.pk])
        booking = PageForms(browser.get(address).content.decode(), address).that_has("roll").with_values({})
        assert browser.post(address, booking).status_code == 302
        Job.objects.filter(pk=job.pk).update(
            stage="delivered", delivered_on=timezone.localdate(), net_minor=40_000, tax_minor=0, fee_minor=0
        )
    assert seen() == [jobs[2].reference]


def test_a_drawn_lay_keeps_to_its_queries(jobs: list[Job], inner: StockItem, browser: Browser):
    """However many jobs share it."""
    budgets = json.loads((Path(__file__).parents[2] / "query_budgets.json").read_text())
    asked = []
    for count in (2, 3):
        lay = drawn_at_once(inner, wanting(inner)[:count], LayWishes(lot=Lot.objects.get(item=inner)))
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(reverse("joint-lay", args=[lay.pk])).status_code == 200
            asked.append(len(captured))
    assert asked[0] == asked[1] <= budgets["joint-lay"]
