"""A bone that comes on the coil and cut, walked once from its price to a count: each form is ordered and kept in its own unit.

The figures are worked by hand; rules are the product's own.
"""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_shelf import SupplierFactory, act, item, stocked

from inventory.buying.purchase_order import order_csv, order_facts
from inventory.buying.reordering import make_orders, plan_reorder, question
from inventory.ground.bone_forms import BoneForm
from inventory.models import Offer, PurchaseLine, PurchaseOrder, StockItem
from inventory.reserving.reservations import Wish, reserve
from inventory.shelf.settings import shelf
from inventory.stock.audit import audit
from inventory.stock.ledger import count, issue
from inventory.stock.price_list import item_of

pytestmark = pytest.mark.django_db


def stands(of: StockItem) -> tuple[int, int]:
    return StockItem.objects.values_list("on_hand", "value_minor").get(pk=of.pk)


def test_a_tipped_bone_of_a_coil_is_offered_ordered_received_issued_and_counted(browser: Browser):
    coil = item("spiral", material__code="spiral-5", code="spiral-5", material__name="Spiral 5 mm")
    stocked(coil, 10_000, 1000)
    said = {"form": "tipped", "lengths": "250", "unit_cost": "1.20"}
    assert browser.post(reverse("inventory:material-forms-add", args=["spiral-5"]), said).status_code == 302
    tipped = item_of(coil.material, 2500, BoneForm.TIPPED)

    supplier = SupplierFactory(code="steel-and-lace")
    new_offer = reverse("inventory:offer-new", args=[supplier.code])
    choices = browser.get(new_offer).content.decode()
    assert "Spiral 5 mm, on the coil</option>" in choices
    assert "Spiral 5 mm, 250 mm, cut and tipped</option>" in choices
    offer = {"item": tipped.pk, "their_code": "T-250", "minimum_packs": 1, "pack": "10", "price_0": "9.00"}
    refused = browser.post(new_offer, {**offer, "pack_unit": "MTR"})
    assert refused.status_code == 422
    assert "is counted by each; it is not sold by metre" in refused.content.decode()
    assert browser.post(new_offer, {**offer, "pack_unit": ""}).status_code == 302
    assert Offer.objects.get().pack_unit == "EA"
    assert (
        "Spiral 5 mm, 250 mm, cut and tipped"
        in browser.get(reverse("inventory:supplier", args=[supplier.code])).content.decode()
    )

    # 24 are needed and sold by ten: three packs at 9.00.
    today = timezone.localdate()
    wish = Wish(item=tipped, quantity=24, operation="boning")
    reserve(
        reference="Q1", title="Stage", link="", wishes=[wish], needed_by=today + timedelta(days=10), expires_on=None
    )
    units = {row.code: row.unit for row in question(on=today).problem.materials}
    assert units[tipped.code] == "each"
    (order,) = make_orders(plan_reorder(on=today, user=None, seconds=2), user=None, on=today)
    line = PurchaseLine.objects.select_related("item__material").get()
    assert (line.item, line.packs, line.quantity) == (tipped, 3, 30)
    assert browser.post(reverse("inventory:order-place", args=[order.number])).status_code == 302
    page = browser.get(reverse("inventory:order", args=[order.number])).content.decode()
    assert "Spiral 5 mm, 250 mm, cut and tipped" in page
    facts = order_facts(PurchaseOrder.objects.get(), shelf())
    assert b"Spiral 5 mm, 250 mm, cut and tipped" in order_csv(facts)

    receive = reverse("inventory:order-receive", args=[order.number])
    form = browser.get(receive).context["form"]
    came = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False, "")}
    assert browser.post(receive, {**came, "key": str(uuid4())}).status_code == 302
    assert (stands(tipped), stands(coil)) == ((30, 2700), (10_000, 1000))
    tipped.refresh_from_db()
    assert tipped.unit_cost == Decimal("1.2")

    lot = tipped.lots.get()
    issue(act(), lot=lot, quantity=24, job="Q1")
    count(act("one more was found"), [(lot, 1)])
    assert stands(tipped) == (7, 630)
    assert audit().differences == ()
