"""Reordering from the books: what is asked, that the plan is feasible and no dearer, and that nothing is ordered twice.

Sources: the record of material requirements planning (net = gross − scheduled − on hand); an independent check of every
plan (support_replenish). Covers and reserves: common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_replenish import checked
from support_shelf import SupplierFactory, act, item, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order, place, write_new_day
from inventory.buying.reordering import make_orders, plan_reorder, question
from inventory.ground.codec import plain
from inventory.ground.findings import Refused
from inventory.models import KeptPlan, PurchaseOrder, Shelf, StockItem, Substitute
from inventory.replenish import plan_review, printed_plan
from inventory.reserving.availability import lacks
from inventory.reserving.reservations import Wish, reserve
from inventory.stock.ledger import issue

pytestmark = pytest.mark.django_db

TODAY = date(2027, 1, 4)
SOON = TODAY + timedelta(days=13)
"""The last day for which an order must go out today: seven days of lead, seven until the next review."""


def firm(reference: str, *wishes: tuple[StockItem, int], needed_by: date = SOON) -> None:
    reserve(
        reference=reference,
        title="Stage",
        link="",
        wishes=[Wish(item=of, quantity=quantity, operation="any") for of, quantity in wishes],
        needed_by=needed_by,
        expires_on=None,
    )


def planned(seconds: float = 5.0) -> dict:
    asked = question(on=TODAY)
    plan = plan_review(asked.problem, asked.watch, seconds=seconds)
    printed = plain(printed_plan(plan))
    checked(replace(plan.problem, ahead=()), printed)
    return printed


def test_what_accepted_work_needs_beyond_stock_and_open_orders_is_bought():
    supplier, cord = SupplierFactory(), item()
    offer = offered(supplier, cord, 5)
    stocked(cord, 4000, 400)
    place(draft_order(supplier, [OrderWish(offer=offer, packs=1)], user=None, on=TODAY), on=TODAY)
    firm("Q1", (cord, 9000))
    assert planned()["orders"] == []
    firm("Q2", (cord, 100))
    (order,) = planned()["orders"]
    assert [(line["material"], line["packs"]) for line in order["lines"]] == [(cord.code, 1)]


def test_lots_too_small_for_what_is_cut_from_one_lot_are_not_counted_on():
    """From memory: 900 mm in three lots serve no piece of 800 mm, but 200 mm that do not show."""
    cloth = item("cloth")
    offered(SupplierFactory(), cloth, 1)
    for _ in range(3):
        stocked(cloth, 300, 700)
    seen = Wish(item=cloth, quantity=800, operation="cut", needs_one_lot=True)
    loose = Wish(item=cloth, quantity=200, operation="bias")
    reserve(reference="Q1", title="x", link="", wishes=[seen, loose], needed_by=SOON, expires_on=None)
    asked = question(on=TODAY)
    (stock,) = [row for row in asked.problem.materials if row.code == cloth.code]
    assert stock.on_hand == Decimal("0.2")
    assert [found.code for found in asked.findings] == ["reorder.odd-lots"]
    assert asked.findings[0].message.startswith("0.7 m of")
    stocked(cloth, 1000, 2300)
    (stock,) = [row for row in question(on=TODAY).problem.materials if row.code == cloth.code]
    assert stock.on_hand == Decimal("1.9")


def test_quotes_that_are_only_out_buy_nothing():
    cord = item()
    offered(SupplierFactory(), cord, 5)
    reserve(
        reference="Q1",
        title="x",
        link="",
        wishes=[Wish(item=cord, quantity=900, operation="any")],
        needed_by=SOON,
        expires_on=SOON,
    )
    assert planned()["orders"] == []


def test_the_orders_of_a_plan_are_made_once_and_nothing_is_bought_twice():
    supplier, cord = SupplierFactory(), item()
    offered(supplier, cord, 5)
    firm("Q1", (cord, 9000))
    kept = plan_reorder(on=TODAY, user=None, seconds=5)
    (order,) = make_orders(kept, user=None, on=TODAY)
    assert (order.state, order.lines.get().packs) == ("draft", 2)
    with pytest.raises(Refused, match="made already"):
        make_orders(kept, user=None, on=TODAY)
    assert plan_reorder(on=TODAY, user=None, seconds=5).plan.orders == ()
    assert PurchaseOrder.objects.count() == 1


def test_a_plan_whose_books_have_moved_orders_nothing():
    cord = item()
    offered(SupplierFactory(), cord, 5)
    firm("Q1", (cord, 9000))
    kept = plan_reorder(on=TODAY, user=None, seconds=5)
    stocked(cord, 9000, 900)
    with pytest.raises(Refused, match="have changed since"):
        make_orders(kept, user=None, on=TODAY)
    assert PurchaseOrder.objects.count() == 0
    assert KeptPlan.objects.get().ordered_at is None


def test_what_nobody_offers_is_named_and_the_rest_is_planned():
    cord, tape = item(), item("waist-tape")
    offered(SupplierFactory(), cord, 5)
    stocked(tape, 300, 30)
    firm("Q1", (cord, 9000), (tape, 800))
    asked = question(on=TODAY)
    (found,) = asked.findings
    assert (found.code, found.where) == ("reorder.nobody-offers", tape.code)
    assert "0.5 m are missing for Q1" in found.message
    assert len(planned()["orders"]) == 1


def test_what_nobody_offers_is_named_where_it_is_short(browser: Browser):
    """Two of 230 mm lie there for the two that are wanted, and none of 235 mm, for which the same two would do."""
    short = item("spiral", material__form="tipped", material__name="Ready spiral", size_tenths_mm=2300)
    long = StockItem.objects.create(material=short.material, size_tenths_mm=2350, code="long")
    stocked(short, 2, 180)
    firm("Q1", (short, 2), (long, 2))
    assert {found.where for found in plan_reorder(on=TODAY, user=None, seconds=5).plan.findings} == {"long"}
    page = " ".join(browser.get(reverse("inventory:reorder")).content.decode().split())
    assert "Ready spiral, 235 mm</span> Nobody offers it: 2 are missing for Q1." in page


def test_a_bone_five_millimetres_shorter_stands_in_and_a_longer_one_never():
    long = item("flat", size_tenths_mm=2540)
    short = StockItem.objects.create(material=long.material, size_tenths_mm=2500, code="short")
    longer = StockItem.objects.create(material=long.material, size_tenths_mm=2580, code="longer")
    for row in (short, longer):
        stocked(row, 10, 100)
    firm("Q1", (long, 4))
    rows = {row.code: row.substitutes for row in question(on=TODAY).problem.materials}
    assert rows[long.code] == ("short",)
    assert planned()["orders"] == []


def test_what_is_used_and_sold_only_in_its_stand_in_is_bought_as_that():
    old, fresh = item(policy="service"), item(policy="service")
    offered(SupplierFactory(), fresh, 5)
    lot = stocked(old, 120_000, 1200)
    for weeks in range(12):
        issue(act(day=TODAY - timedelta(days=1, weeks=weeks)), lot=lot, quantity=10_000, purpose="sale")
    assert planned()["orders"] == []  # nothing says what stands in
    Substitute.objects.create(item=old, stand_in=fresh, ask=False)
    printed = planned()
    assert [line["material"] for order in printed["orders"] for line in order["lines"]] == [fresh.code]
    (expected,) = printed["expected"]
    assert expected["material"] == old.code
    assert Decimal(expected["reserve"]) > 10


@pytest.mark.parametrize("form", ["cut", "tipped"])
def test_a_bone_of_the_same_form_stands_in_for_one_five_millimetres_longer_whatever_its_kind(form: str):
    """The trade's rule: 5 mm shorter without a question, of what is the same but for its length."""
    coil = item("spiral")
    long = StockItem.objects.create(material=coil.material, form=form, size_tenths_mm=2540, code="long")
    for code, other, size in (
        ("short", form, 2490),
        ("too-short", form, 2480),
        ("otherwise", {"cut": "tipped", "tipped": "cut"}[form], 2500),
    ):
        row = StockItem.objects.create(material=coil.material, form=other, size_tenths_mm=size, code=code)
        stocked(row, 10, 100)
    firm("Q1", (long, 4))
    rows = {row.code: row.substitutes for row in question(on=TODAY).problem.materials}
    assert rows["long"] == ("short",)


def test_a_stand_in_that_must_be_asked_for_is_not_taken_unasked():
    black, silver = item("busk"), item("busk")
    stocked(silver, 3, 3000)
    offered(SupplierFactory(), black, 1)
    row = Substitute.objects.create(item=black, stand_in=silver, ask=True)
    firm("Q1", (black, 1))
    assert len(planned()["orders"]) == 1
    row.ask = False
    row.save()
    assert planned()["orders"] == []


def test_the_books_tell_what_was_used_and_what_of_it_is_to_be_met():
    cord, tape, own = (
        item(policy="service", service_percent=90),
        item(policy="as-needed"),
        item(policy="safety", safety=1000, cover_weeks=4),
    )
    for row in (cord, tape, own):
        lot = stocked(row, 10_000, 100)
        for week in range(1, 11):
            issue(act(day=TODAY - timedelta(days=7 * week)), lot=lot, quantity=500, job=f"P{week}")
    asked = question(on=TODAY)
    assert asked.watch.service == {cord.code: 0.9}
    assert asked.watch.cover_weeks == {own.code: 4.0}
    assert {use.material for use in asked.watch.history} == {cord.code, own.code}
    assert sum(use.quantity for use in asked.watch.history) == 10
    assert {row.code: row.safety for row in asked.problem.materials if row.safety} == {own.code: Decimal(1)}


def test_work_that_a_later_order_serves_in_time_waits_and_says_until_when():
    cord = item()
    offered(SupplierFactory(lead_days=7), cord, 5)
    firm("Q1", (cord, 900), needed_by=TODAY + timedelta(days=30))
    plan = plan_reorder(on=TODAY, user=None, seconds=5).plan
    assert plan.orders == ()
    assert plan.next_review == TODAY + timedelta(days=7)
    (waiting,) = plan.waiting
    assert (waiting.job, waiting.quantity) == ("Q1", Decimal("0.9"))
    assert waiting.until == waiting.day - timedelta(days=7)


@pytest.mark.parametrize(("placed_ago", "days"), [((), 7), ((3, 17, 31, 45, 59), 14), ((1, 2, 300), 7)])
def test_how_often_the_maker_looks_is_learnt_from_when_orders_went_out(placed_ago: tuple[int, ...], days: int):
    offer = offered(SupplierFactory(), item(), 5)
    for ago in placed_ago:
        day = TODAY - timedelta(days=ago)
        place(draft_order(offer.supplier, [OrderWish(offer=offer, packs=1)], user=None, on=day), on=day)
    assert question(on=TODAY).watch.review_days == days
    Shelf.objects.update(review_days=28)
    assert question(on=TODAY).watch.review_days == 28


def test_a_plan_that_is_kept_changes_not_how_often_the_maker_looks_before_it_is_ordered():
    """Four days, four weeks apart, are too few to learn from; the day of the plan would make them enough."""
    today = timezone.localdate()
    offer = offered(SupplierFactory(), item(), 5)
    for ago in (3, 31, 59, 87):
        day = today - timedelta(days=ago)
        place(draft_order(offer.supplier, [OrderWish(offer=offer, packs=1)], user=None, on=day), on=day)
    tips = item("tip")
    offered(offer.supplier, tips, 10)
    firm("Q1", (tips, 15), needed_by=today)
    kept = plan_reorder(on=today, user=None, seconds=5)
    assert len(make_orders(kept, user=None, on=today)) == 1


def test_the_plan_says_which_work_waits_without_a_line_and_what_topping_up_brings():
    supplier = SupplierFactory(postage_minor=1000, postage_free_from_minor=2000)
    cord, tips = item(), item("tip")
    offered(supplier, cord, 5, (1, 1900))
    offered(supplier, tips, 10, (1, 150))
    firm("Q1", (cord, 900))
    (order,) = plan_reorder(on=TODAY, user=None, seconds=5).plan.orders
    assert {line.material: line.waiting for line in order.lines} == {cord.code: ("Q1",), tips.code: ()}
    topped = order.topping_up
    assert topped is not None
    assert topped.postage_saved == 10
    assert topped.saving == topped.postage_saved - topped.goods_more > 0


def test_a_closed_supplier_comes_later():
    supplier = SupplierFactory(lead_days=7, closed=[["2027-01-05", "2027-01-20"]])
    cord = item()
    offered(supplier, cord, 5)
    firm("Q1", (cord, 900), needed_by=TODAY + timedelta(days=10))
    (shortage,) = planned()["shortages"]
    assert shortage["late_days"] == 13


def test_what_is_too_late_to_be_counted_on_is_named_since_it_may_be_ordered_a_second_time():
    supplier, cord = SupplierFactory(lead_days=7), item()
    offer, day = offered(supplier, cord, 5), TODAY - timedelta(days=90)
    order = draft_order(supplier, [OrderWish(offer=offer, packs=1)], user=None, on=day)
    place(order, on=day)
    firm("Q1", (cord, 900))
    assert len(planned()["orders"]) == 1
    (found,) = question(on=TODAY).findings
    assert (found.code, found.where) == ("reorder.overdue", cord.code)
    assert f"in order {order.number}, 83 days late, no new day," in found.message
    write_new_day(order, TODAY + timedelta(days=2), by=None, on=TODAY)
    assert (planned()["orders"], question(on=TODAY).findings) == ([], ())


def test_of_two_offers_of_a_pack_the_one_that_was_planned_is_ordered():
    supplier, tips = SupplierFactory(), item("tip")
    offered(supplier, tips, 10, (1, 1000))
    offered(supplier, tips, 10, (1, 500))
    firm("Q1", (tips, 15))
    (order,) = make_orders(plan_reorder(on=TODAY, user=None, seconds=5), user=None, on=TODAY)
    assert [(line.packs, line.price_minor) for line in order.lines.all()] == [(2, 500)]


def test_a_pair_of_what_is_counted_by_the_piece_is_two():
    tips = item("tip")
    offered(SupplierFactory(), tips, 1, unit="PR")
    firm("Q1", (tips, 20))
    (order,) = make_orders(plan_reorder(on=TODAY, user=None, seconds=5), user=None, on=TODAY)
    assert [(line.packs, line.quantity) for line in order.lines.all()] == [(10, 20)]


def test_raw_cloth_counts_as_what_the_wash_leaves_of_it():
    coutil = item("cloth", material__shrinkage_permille=100)
    stocked(coutil, 3000, 300, state="raw")
    offered(SupplierFactory(), coutil, 1)
    firm("Q1", (coutil, 2700))
    assert planned()["orders"] == []
    firm("Q2", (coutil, 1000))
    (order,) = planned()["orders"]
    assert order["lines"][0]["packs"] == 2  # 0.9 m ready a pack


def test_work_that_needs_what_is_no_longer_used_is_named():
    cord = item(material__is_retired=True)
    firm("Q1", (cord, 900))
    assert [found.code for found in question(on=TODAY).findings] == ["reorder.retired"]


def test_a_draft_counts_as_placed_today_and_brings_nothing_to_count_on():
    supplier, cord = SupplierFactory(lead_days=5), item()
    offer = offered(supplier, cord, 5)
    draft_order(supplier, [OrderWish(offer=offer, packs=1)], user=None, on=TODAY - timedelta(days=60))
    firm("Q1", (cord, 900))
    assert planned()["orders"] == []
    wish = Wish(item=cord, quantity=900, operation="any")
    assert [lack.quantity for lack in lacks([wish], start=SOON, reference="Q1", on=TODAY)] == [900]
