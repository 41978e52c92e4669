"""The page of the drawer: how many lie there, and what open work leaves of them. An inch is 25.4 mm by definition."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from support_shelf import SupplierFactory, item, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order
from inventory.ground.bone_forms import BoneForm
from inventory.models import StockItem
from inventory.reserving.reservations import Wish, reserve
from inventory.stock.price_list import item_of

pytestmark = pytest.mark.django_db


def text(browser: Browser, **asked: str) -> str:
    return " ".join(browser.get(reverse("inventory:drawer"), asked).content.decode().split())


def kept(reference: str, of: StockItem, quantity: int, *, firm: bool = True, days: int = 9) -> None:
    today = timezone.localdate()
    reserve(
        reference=reference,
        title="Stage",
        link="",
        wishes=[Wish(item=of, quantity=quantity, operation="boning")],
        needed_by=today + timedelta(days=days),
        expires_on=None if firm else today + timedelta(days=5),
    )


@pytest.fixture
def coil() -> StockItem:
    """8.2 m of spiral in two coils; 12 tipped ones of 250 mm, 3 of 245 mm."""
    made = item("spiral", material__name="Spiral 5 mm", material__width_tenths_mm=50)
    for length in (5_000, 3_200):
        stocked(made, length, length // 10)
    stocked(item_of(made.material, 2500, BoneForm.TIPPED), 12, 1440)
    stocked(item_of(made.material, 2450, BoneForm.TIPPED), 3, 300)
    return made


def test_one_look_says_how_many_lie_there_and_what_open_work_leaves(browser: Browser, coil: StockItem):
    tipped = item_of(coil.material, 2500, BoneForm.TIPPED)
    supplier = SupplierFactory()
    draft_order(supplier, [OrderWish(offer=offered(supplier, tipped, 10), packs=1)], user=None, on=timezone.localdate())
    kept("Q12", tipped, 4)
    page = text(browser)
    assert '>12</a> <span class="unit below">4 kept, 8 free, 10 on order</span>' in page
    assert '250 mm <span class="unit below">9 7/8 in</span>' in page
    assert 'On the coil</a>: 8.2 m <span class="unit">largest piece 5 m</span>' in page


def test_what_is_short_says_for_whom_and_what_would_do(browser: Browser, coil: StockItem):
    tipped = item_of(coil.material, 2500, BoneForm.TIPPED)
    kept("Q10", tipped, 10, firm=False, days=2)
    kept("Q12", tipped, 8, days=20)
    page = text(browser)
    # Accepted work is served first: Q12 has its 8 of 12, and Q10 misses 6 of 10.
    assert "6 short for Q10" in page
    assert "3 of 245 mm stand in; 6 from the coil could be cut" in page


def test_a_length_is_sought_in_every_kind_as_people_write_it(browser: Browser, coil: StockItem):
    flat = item("flat", material__name="Flat 7 mm", size_tenths_mm=2413)
    stocked(flat, 5, 500)
    far = item("flat", material__name="Flat 7 mm", size_tenths_mm=4000, material=flat.material, code="far")
    stocked(far, 5, 500)
    page = text(browser, length="9 1/2 in")
    assert "Nearest to 241.3 mm, 9 1/2 in." in page
    assert "245 mm" in page
    assert "250 mm" not in page
    assert "400 mm" not in page
    assert "250 mm" in text(browser, length="25 cm")
    assert "Flat 7 mm" not in text(browser, kind="spiral")


@pytest.mark.parametrize(
    ("length", "words"),
    [
        ("25", "A length of 25 mm is outside 30 to 1000 mm."),
        ("long", "is not a number"),
        ("20cm 25cm", "Write one length"),
    ],
)
def test_a_length_that_cannot_be_is_told(browser: Browser, length: str, words: str):
    answer = browser.get(reverse("inventory:drawer"), {"length": length})
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_the_drawer_asks_as_often_with_forty_lengths_as_with_four(browser: Browser, coil: StockItem):
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            text(browser)
        return len(captured)

    kept("Q1", coil, 1000)
    before = asked()
    for length in range(1500, 5500, 100):
        stocked(item_of(coil.material, length, BoneForm.CUT), 2, 50)
    assert asked() == before <= 10


def test_the_shelf_and_a_bone_lead_to_the_drawer(browser: Browser, coil: StockItem):
    address = reverse("inventory:drawer")
    assert f'href="{address}"' in browser.get(reverse("inventory:stock")).content.decode()
    bone, cord = coil, item("cord")
    assert f"{address}?kind=spiral" in browser.get(reverse("inventory:item", args=[bone.code])).content.decode()
    assert address not in browser.get(reverse("inventory:item", args=[cord.code])).content.decode()


def test_kinds_stand_in_the_order_in_which_they_are_chosen(browser: Browser, coil: StockItem):
    stocked(item("flat", size_tenths_mm=2500), 1, 100)
    page = text(browser)
    assert re.findall(r"<h2>(.*?)</h2>", page) == ["Spiral steel", "Flat steel"]
    assert page.index(">Spiral steel</option>") < page.index(">Flat steel</option>")
