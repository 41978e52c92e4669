"""What jobs wait for, and the days that follow: on order, to be ordered today, offered by nobody.

Common practice, no source: the cheapest offer is the one whose whole packs cost least for what is short, postage apart.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from support_bench import cloth_line, fill_shelf, line_of
from support_open_jobs import open_jobs
from support_shelf import SupplierFactory, offered, stocked

from inventory.buying.ordered_today import ordered_today
from inventory.buying.purchasing import OrderWish, draft_order, place
from inventory.ground.wording import day_text
from inventory.models import Lot, PurchaseOrder, Reservation, ReservationLine, StockItem, StockMaterial
from inventory.reserving.availability import lacks_of_work
from studio.calendar.arrivals import Materials, materials_for, materials_of
from studio.calendar.work_ahead import works_ahead
from studio.models import Job

TODAY = timezone.localdate


def waits(job: Job) -> Materials:
    return materials_of([job], TODAY())[job.reference]


def fill_but(job: Job, code: str) -> StockItem:
    """All is there but one item, which is returned."""
    fill_shelf(job)
    item = StockItem.objects.get(code=code)
    Lot.objects.filter(item=item).update(on_hand=0)
    StockItem.objects.filter(pk=item.pk).update(on_hand=0)
    return item


def test_a_job_whose_shelf_is_full_waits_for_nothing(job: Job):
    fill_shelf(job)
    assert waits(job) == Materials()
    assert waits(job).there_on is None


def test_what_is_not_ordered_comes_from_the_cheapest_offer_as_if_ordered_today(job: Job, browser: Browser):
    item = fill_but(job, "coutil-white")
    StockMaterial.objects.filter(pk=item.material_id).update(shrinkage_permille=0)
    # 2 m are short. By hand: two packs of 1 m at 10.00 are 20.00; 100 m at once are cheaper by the metre, and 300.00.
    ReservationLine.objects.filter(pk=line_of(job, item.code).pk).update(quantity=2000)
    near, far = SupplierFactory(name="Reed and Daughters", lead_days=40), SupplierFactory(lead_days=3)
    offered(near, item, 1, (1, 1000))
    offered(far, item, 100, (1, 30_000))
    assert ordered_today({item.pk: 2000}, on=TODAY())[item.pk].cost == Decimal("20.00")
    assert ordered_today({item.pk: 31_000}, on=TODAY())[item.pk].cost == Decimal("300.00")
    day = TODAY() + timedelta(days=40)
    found = waits(job)
    assert [(row.supplier, row.there_on, row.names) for row in found.to_order] == [(near.name, day, (str(item),))]
    assert (found.ordered_by, found.offered_by_nobody, found.there_on) == (None, (), day)
    (ahead,) = works_ahead(TODAY())
    assert [stage.earliest for stage in ahead.work.stages] == [None, day, None]
    page = browser.get(reverse("calendar")).content.decode()
    said = f"Short and not ordered: {item} (once ordered today, from Reed and Daughters, by {day_text(day)})."
    assert said in page
    assert f"The cloth is not touched before {day_text(day)}." in page


def test_of_offers_at_one_price_the_one_that_comes_first_counts(job: Job):
    item = fill_but(job, "coutil-white")
    slow, quick = SupplierFactory(lead_days=9), SupplierFactory(lead_days=2)
    for supplier in (slow, quick):
        offered(supplier, item, 1, (1, 1000))
    assert [row.supplier for row in waits(job).to_order] == [quick.name]


def test_cloth_that_shrinks_is_bought_longer_than_it_is_needed(job: Job):
    item = fill_but(job, "coutil-white")
    StockMaterial.objects.filter(pk=item.material_id).update(shrinkage_permille=100)
    offered(SupplierFactory(), item, 1, (1, 1000))
    # By hand: a metre leaves 0.9 m, so 1.8 m take two packs and 1.801 m take three.
    for short, cost in ((1800, "20.00"), (1801, "30.00")):
        assert ordered_today({item.pk: short}, on=TODAY())[item.pk].cost == Decimal(cost)


def test_a_closed_supplier_sends_after_its_closed_days_and_a_retired_one_not_at_all(job: Job):
    item = fill_but(job, "coutil-white")
    until = TODAY() + timedelta(days=10)
    closed = SupplierFactory(lead_days=5, closed=[[TODAY().isoformat(), until.isoformat()]])
    offered(closed, item, 1, (1, 1000))
    offered(SupplierFactory(lead_days=1, is_retired=True), item, 1, (1, 1))
    (found,) = waits(job).to_order
    # By hand: sent on the first open day, the 11th from now, and five days on the way.
    assert (found.supplier, found.there_on) == (closed.name, until + timedelta(days=6))


def test_what_nobody_offers_is_named_and_delays_no_day(job: Job, browser: Browser):
    item = fill_but(job, "coutil-white")
    found = waits(job)
    assert (found.to_order, found.offered_by_nobody, found.there_on) == ((), (str(item),), None)
    (ahead,) = works_ahead(TODAY())
    assert {stage.earliest for stage in ahead.work.stages} == {None}
    page = browser.get(reverse("calendar")).content.decode()
    assert f"Waits for material that nobody offers: {item}. The days count as if it were there." in page


def test_what_is_ordered_waits_for_its_order_and_a_draft_brings_nothing(job: Job, books: User):
    item = fill_but(job, "coutil-white")
    offer = offered(SupplierFactory(lead_days=60), item, 100, (1, 1000))
    order = draft_order(offer.supplier, [OrderWish(offer=offer, packs=1)], user=books, on=TODAY())
    assert [row.names for row in waits(job).to_order] == [(str(item),)]
    place(order, on=TODAY())
    order.refresh_from_db()
    assert waits(job) == Materials(ordered_by=order.expected_on)


def test_an_order_that_is_too_late_is_named_and_the_days_are_those_of_an_order_of_today(
    job: Job, books: User, browser: Browser
):
    item = fill_but(job, "coutil-white")
    supplier = SupplierFactory(lead_days=60, lead_spread_days=3)  # nine in ten within 1.28 × 3, so 4 days
    order = draft_order(supplier, [OrderWish(offer=offered(supplier, item, 100), packs=1)], user=books, on=TODAY())
    place(order, on=TODAY() - timedelta(days=64))
    assert waits(job) == Materials()  # it still counts, for today
    PurchaseOrder.objects.filter(pk=order.pk).update(expected_on=TODAY() - timedelta(days=5))
    found = waits(job)
    assert [(late.order, late.days, late.is_counted_on) for late in found.late] == [(order.number, 5, False)]
    assert (found.ordered_by, found.there_on) == (None, TODAY() + timedelta(days=60))
    said = f"Order {order.number}: 5 days late, no new day ({item}). It is not counted on."
    for name in ("calendar", "bench"):
        assert "5 days late, no new day" in browser.get(reverse(name)).content.decode()
    assert said in browser.get(reverse("calendar")).content.decode()
    assert "5 days late, no new day" in browser.get(reverse("job-materials", args=[job.pk])).content.decode()


def test_cloth_that_shows_and_is_in_no_one_lot_is_waited_for_as_the_shelf_says(job: Job):
    line = cloth_line(job)
    item = fill_but(job, line.item.code)
    for _ in range(2):
        stocked(item, line.remaining - 1, 1000)
    (lack,) = lacks_of_work([job.reference], on=TODAY())[job.reference]
    assert lack.is_of_one_lot
    assert waits(job).offered_by_nobody == (str(item),)
    # The quote itself, before anything is kept for it, waits for the same.
    Reservation.objects.filter(reference=job.reference).delete()
    assert materials_for(job.revision, job.option, TODAY()).offered_by_nobody == (str(item),)


def test_jobs_are_looked_at_together_as_they_are_one_by_one(job: Job, books: User):
    jobs = [job, *open_jobs(3, like=job.revision, user=books, on=TODAY())]
    fill_shelf(job)  # enough for two, and the other two come after them
    together = materials_of(jobs, TODAY())
    assert together == {row.reference: waits(row) for row in jobs}
    short = lacks_of_work([row.reference for row in jobs], on=TODAY())
    assert short == {row.reference: lacks_of_work([row.reference], on=TODAY())[row.reference] for row in jobs}
    assert [bool(short[row.reference]) for row in jobs].count(True) == 2


@pytest.mark.parametrize("page", ["bench", "calendar"])
def test_twelve_jobs_ask_no_more_queries_than_three(page: str, job: Job, books: User, browser: Browser):
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(reverse(page)).status_code == 200
        return len(captured)

    item = fill_but(job, "coutil-white")
    offered(SupplierFactory(), item, 1, (1, 1000))
    open_jobs(2, like=job.revision, user=books, on=TODAY())
    browser.get(reverse(page))  # the first visit keeps the working hours
    with_three = queries()
    open_jobs(9, like=job.revision, user=books, on=TODAY())
    assert Job.objects.open().count() == 12
    assert queries() == with_three <= 23
