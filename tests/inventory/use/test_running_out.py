"""When an item runs out: one day on every page, by the forecast of the planned orders; figures by hand."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_shelf import SupplierFactory, act, item, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order, place
from inventory.buying.reordering import planned
from inventory.ground.bone_forms import BoneForm
from inventory.ground.wording import day_text
from inventory.models import PurchaseOrder, StockItem
from inventory.reserving.reservations import Wish, reserve
from inventory.shelf.settings import shelf
from inventory.stock.cutting import cut_to_length, put_back_offcuts
from inventory.stock.item_page import item_page
from inventory.stock.ledger import issue
from inventory.stock.price_list import item_of
from inventory.use.expected_use import used_by_day
from inventory.use.figures import shelf_figures
from inventory.use.running_out import expected_use

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def used_weekly(per_week: int, *, left: int) -> StockItem:
    """A cord of which as much was used in each of twelve weeks, and so much is left."""
    today = timezone.localdate()
    cord = item("cord", policy="service")
    lot = stocked(cord, 12 * per_week + left, 12_000)
    for weeks in range(12):
        issue(act(day=today - timedelta(weeks=weeks)), lot=lot, quantity=per_week, purpose="sale")
    cord.refresh_from_db()
    return cord


def runs_out(of: StockItem, on: date) -> tuple[str, list[tuple[str, int]]]:
    """As the item's page says it, and as the figures of the shelf do."""
    figures = {what: told for what, told, _ in item_page(of, on=on, currency=shelf().currency).figures}
    return figures["Runs out"], [(row.item.code, row.days) for row in shelf_figures(on=on).runs_out]


def test_use_alone_kept_work_and_orders_move_one_day():
    today = timezone.localdate()
    cord = used_weekly(7_000, left=28_000)  # a metre a day
    assert runs_out(cord, today) == (day_text(today + 28 * DAY), [(cord.code, 28)])
    known = Wish(item=cord, quantity=10_000, operation="lacing")  # of the 28 m that are expected anyway
    reserve(reference="Q1", title="Stage", link="", wishes=[known], needed_by=today + 12 * DAY, expires_on=None)
    assert runs_out(cord, today) == (day_text(today + 28 * DAY), [(cord.code, 28)])
    more = Wish(item=cord, quantity=20_000, operation="lacing")  # 30 m by the eighteenth day
    reserve(reference="Q2", title="Stage", link="", wishes=[more], needed_by=today + 18 * DAY, expires_on=None)
    assert runs_out(cord, today) == (day_text(today + 18 * DAY), [(cord.code, 18)])
    supplier = SupplierFactory(lead_days=9)
    order = draft_order(supplier, [OrderWish(offer=offered(supplier, cord, 20), packs=1)], user=None, on=today)
    assert runs_out(cord, today) == (day_text(today + 18 * DAY), [(cord.code, 18)])  # a draft brings nothing
    place(order, on=today)
    assert runs_out(cord, today) == (day_text(today + 48 * DAY), [(cord.code, 48)])
    PurchaseOrder.objects.filter(pk=order.pk).update(expected_on=today - 3 * DAY)  # too late to be counted on
    assert runs_out(cord, today) == (day_text(today + 18 * DAY), [(cord.code, 18)])
    stocked(cord, 400, 4)  # a crumb
    assert runs_out(cord, today) == (day_text(today + 18 * DAY), [(cord.code, 18)])


def test_what_is_bought_for_the_job_runs_out_only_where_work_is_short():
    today = timezone.localdate()
    cord = item()
    stocked(cord, 5_000, 500)
    told = [what for what, _, _ in item_page(cord, on=today, currency=shelf().currency).figures]
    assert "Runs out" not in told
    wish = Wish(item=cord, quantity=6_000, operation="lacing")
    reserve(reference="Q1", title="Stage", link="", wishes=[wish], needed_by=today + 5 * DAY, expires_on=None)
    assert runs_out(cord, today) == (day_text(today + 5 * DAY), [])


def test_the_forecast_is_that_of_the_planned_orders():
    today = timezone.localdate()
    cord, tape = used_weekly(7_000, left=28_000), item("casing", policy="service")
    lot = stocked(tape, 90_000, 900)
    for weeks, quantity in ((1, 800), (4, 3_000), (9, 1_200), (30, 500)):
        issue(act(day=today - timedelta(weeks=weeks)), lot=lot, quantity=quantity, purpose="sale")
    for of in (cord, tape):
        offered(SupplierFactory(), of, 100)
    _, plan = planned(on=today, seconds=5)
    assert plan.watched is not None
    expected = {row.material: float(row.per_week) for row in plan.watched.expected}
    per_week = expected_use([cord.pk, tape.pk], on=today)
    assert {of.code: round(per_week[of.pk] / 1000, 3) for of in (cord, tape)} == pytest.approx(expected, abs=0.001)


def test_what_is_cut_off_a_coil_is_use_of_the_coil():
    """Two bones of 250 mm and a rest of 312 mm are 0.812 m; what was cut of bones is use of those that it was cut of."""
    today = timezone.localdate()
    coil = item("spiral", policy="service")
    lot = stocked(coil, 10_000, 1000)
    cut_to_length(act(), lot=lot, lengths=[2500], form=BoneForm.TIPPED, count=2)
    put_back_offcuts(act(), lot=lot, lengths=[3120])
    issue(act(), lot=lot, quantity=1_000, purpose="sale")
    bones = item_of(coil.material, 2500, BoneForm.TIPPED)
    StockItem.objects.filter(pk=bones.pk).update(policy="service")
    cut_to_length(act(), lot=bones.lots.get(), lengths=[2000], form=BoneForm.TIPPED)
    used = {of: quantity for of, _, quantity in used_by_day(until=today)}
    assert used == {coil.pk: 1_812, bones.pk: 1}


def test_both_pages_say_the_day(browser: Browser):
    today = timezone.localdate()
    cord = used_weekly(7_000, left=28_000)
    page = browser.get(reverse("inventory:item", args=[cord.code])).content.decode()
    assert re.search(rf"Runs out</span>\s*<span[^>]*>{day_text(today + 28 * DAY)}", page)
    assert "in 28 days" in browser.get(reverse("inventory:figures")).content.decode()
