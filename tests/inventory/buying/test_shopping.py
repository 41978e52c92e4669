"""A shopping list: what is short, up to which price, and what was bought received in one act.

The rule of the top price stands on the page; its figures are worked by hand.
"""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from support_shelf import SupplierFactory, act, item, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order, order_cost
from inventory.buying.reordering import plan_reorder
from inventory.buying.shopping import Bought, receive_bought, to_buy
from inventory.buying.shopping_page import shopping_row
from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from inventory.models import Lot, Posting, StockItem, Supplier
from inventory.reckoning.top_price import Quoted, top_prices
from inventory.reserving.reservations import Wish, reserve
from inventory.stock.audit import audit

EURO = currency_of("EUR")
QUOTED = st.builds(
    Quoted,
    supplier=st.integers(1, 3),
    packs=st.integers(1, 20),
    quantity=st.integers(1, 9000),
    amount=st.integers(0, 90_000),
    goods=st.integers(0, 90_000),
)


@given(st.dictionaries(st.integers(1, 9), st.lists(QUOTED, max_size=3)), st.integers(0, 2000))
def test_all_top_prices_are_what_the_cheapest_orders_would_cost(offers: dict[int, list[Quoted]], postage: int):
    found = top_prices(offers, lambda supplier, goods: postage)
    assert found.keys() == {item for item, asked in offers.items() if asked}
    suppliers = {price.quoted.supplier for price in found.values()}
    goods = sum(price.quoted.amount for price in found.values())
    assert sum(price.together for price in found.values()) == goods + postage * len(suppliers)
    for number, price in found.items():
        for other in offers[number]:
            assert price.quoted.amount * other.quantity <= other.amount * price.quoted.quantity + 1e-6


def needed(of: StockItem, quantity: int) -> None:
    wish = Wish(item=of, quantity=quantity, operation="cutting", needs_one_lot=False)
    day = timezone.localdate() + timedelta(days=9)
    reserve(reference=f"Q{of.pk}", title="Underbust", link="", wishes=[wish], needed_by=day, expires_on=None)


@pytest.mark.django_db
def test_what_the_last_plan_orders_is_on_the_list_until_it_has_come():
    """7 m are needed and come in packs of 5 m: 10 m at 2 × 6.00 with 4.00 postage are 16.00, so 1.60 a metre."""
    cord = item()
    offered(SupplierFactory(postage_minor=400), cord, 5, (1, 600))
    needed(cord, 7_000)
    plan_reorder(on=timezone.localdate(), user=None, seconds=2)
    (row,) = to_buy(home=EURO)
    assert row.top is not None
    assert (row.item, row.quantity, row.top.quoted.packs, row.top.together) == (cord, 10_000, 2, 1600)
    stocked(cord, 4_000, 500)
    assert [row.quantity for row in to_buy(home=EURO)] == [6_000]
    stocked(cord, 6_000, 500)
    assert to_buy(home=EURO) == []


@pytest.mark.django_db
def test_chosen_items_share_the_postage_of_who_sells_them_cheapest():
    """Cord for 3.00 and a busk for 9.00 of one shop bear its 4.00 as 1.00 and 3.00; free from 12.00, nothing."""
    cord, busk, unoffered = item(), item("busk"), item()
    shop = SupplierFactory(postage_minor=400)
    offered(shop, cord, 10, (1, 300))
    offered(SupplierFactory(), cord, 10, (1, 310))
    offered(shop, busk, 1, (1, 900))
    chosen = [cord.code, busk.code, unoffered.code]
    found = {row.item: row for row in to_buy(chosen, home=EURO)}
    assert [row.top and row.top.together for row in map(found.get, (cord, busk, unoffered)) if row] == [400, 1200, None]
    assert (found[cord].quantity, found[unoffered].quantity) == (10_000, 1_000)
    Supplier.objects.filter(pk=shop.pk).update(postage_free_from_minor=1200)
    assert {row.top.together for row in to_buy(chosen, home=EURO) if row.top} == {300, 900}


@pytest.mark.django_db
def test_postage_is_free_on_the_list_as_it_is_in_the_order():
    """Free from 10.06 dollars at 0.50 euros: 10.05 are 5.03 euros, half up, as 10.06 are, and are sent for 3.00 dollars."""
    shop = SupplierFactory(currency="USD", rate_millionths=500_000, postage_minor=300, postage_free_from_minor=1006)
    for price, postage in ((1005, 300), (1006, 0)):
        of = item()
        packs = [OrderWish(offer=offered(shop, of, 1, (1, price)), packs=1)]
        order = draft_order(shop, packs, user=None, on=timezone.localdate())
        assert order_cost(order, order.lines.all()).postage_minor == postage
        (row,) = to_buy([of.code], home=EURO)
        assert row.top is not None
        assert row.top.postage == postage / 2


@pytest.mark.django_db
def test_cloth_that_shrinks_is_bought_by_the_metre_that_is_sold_and_counted_as_it_is_once_washed():
    """Of 10 m a tenth goes in the wash. 10 m of ready cloth take 12 m in packs of 4 m, of which 3.6 m are left."""
    cloth = item("cloth", material__shrinkage_permille=100)
    offered(SupplierFactory(), cloth, 4, (1, 1000))
    needed(cloth, 10_000)
    kept = plan_reorder(on=timezone.localdate(), user=None, seconds=2)
    ((line,),) = (order.lines for order in kept.plan.orders)
    assert (line.packs, line.quantity) == (3, Decimal("10.8"))
    (row,) = to_buy(home=EURO)
    assert row.top is not None
    assert (row.top.quoted.packs, row.top.quoted.quantity, row.quantity) == (3, 12_000, 12_000)
    assert shopping_row(row, "EUR").quantity == "12 m raw"
    bought = Bought(item=cloth, quantity=8_000, paid_minor=2000, is_raw=True)
    receive_bought(act(), [bought], supplier=None, new_place="Fair")
    (row,) = to_buy(home=EURO)
    assert row.top is not None
    assert (row.top.quoted.packs, row.quantity) == (1, 4_000)
    stocked(cloth, 3_600, 900)  # ready as it came
    assert to_buy(home=EURO) == []


@pytest.mark.django_db
def test_what_was_bought_is_received_in_one_act_of_a_new_place():
    cord, busk = item(place="Drawer 3"), item("busk")
    bought = [Bought(item=cord, quantity=5_000, paid_minor=640), Bought(item=busk, quantity=2, paid_minor=1900)]
    doing = act("Shopping list")
    posting = receive_bought(doing, bought, supplier=None, new_place="  Corset  fair ")
    assert receive_bought(doing, bought, supplier=None, new_place="corset fair") == posting
    place = Supplier.objects.get()
    assert (place.code, place.name) == ("corset-fair", "Corset fair")
    lots = Lot.objects.order_by("pk").values_list("item", "on_hand", "supplier", "purchase_line", "place")
    assert list(lots) == [(cord.pk, 5_000, place.pk, None, "Drawer 3"), (busk.pk, 2, place.pk, None, "")]
    assert Posting.objects.count() == 1
    assert audit().differences == ()


@pytest.mark.django_db
def test_names_that_make_one_code_are_two_places():
    bought = [Bought(item=item(), quantity=1_000, paid_minor=100)]
    for name in ("Fair!", "Fair?"):
        receive_bought(act(), bought, supplier=None, new_place=name)
    assert sorted(Supplier.objects.values_list("code", flat=True)) == ["fair", "fair-2"]


@pytest.mark.django_db
@pytest.mark.parametrize(("bought", "place"), [([], "Fair"), (["cord"], ""), (["cord"], "both")])
def test_what_is_not_told_is_refused_and_leaves_nothing(bought: list[str], place: str):
    supplier = SupplierFactory() if place == "both" else None
    rows = [Bought(item=item(), quantity=1_000, paid_minor=100) for _ in bought]
    with pytest.raises(Refused):
        receive_bought(act(), rows, supplier=supplier, new_place=place)
    assert Posting.objects.count() == 0
    assert Supplier.objects.count() == (place == "both")


@pytest.mark.django_db
def test_the_page_says_the_price_and_takes_what_was_bought(browser: Browser):
    cloth, busk = item("cloth", material__shrinkage_permille=30), item("busk")
    offered(SupplierFactory(name="Fennimore", postage_minor=300), busk, 1, (1, 900))
    asked = f"/shelf/shopping/?item={cloth.code}&item={busk.code}"
    page = browser.get(asked).content.decode()
    assert "up to <b>€12.00</b>" in page
    assert "share by value of the postage" in page
    said = {"key": uuid4(), "bought_on": timezone.localdate(), "new_place": "Fair", f"bought_{cloth.pk}": "on"}
    said |= {f"quantity_{cloth.pk}": "3", f"raw_{cloth.pk}": "on", f"dye_{cloth.pk}": "S-1", f"quantity_{busk.pk}": "1"}
    faulty = browser.post(asked, said)
    assert faulty.status_code == 422
    assert "Say what it cost in all." in faulty.content.decode()
    faulty = browser.post(asked, {**said, f"paid_{cloth.pk}": "24", f"paid_{busk.pk}": "9"})
    assert "It has a price: tick it off" in faulty.content.decode()
    assert browser.post(asked, {**said, f"paid_{cloth.pk}": "24"}).status_code == 302
    lot = Lot.objects.get()
    assert (lot.item, lot.on_hand, lot.state, lot.dye_lot, str(lot.supplier)) == (cloth, 3_000, "raw", "S-1", "Fair")


@pytest.mark.django_db
def test_a_longer_list_asks_the_database_no_more(browser: Browser):
    asked = []
    for count in (1, 4):
        items = [item() for _ in range(count)]
        for of in items:
            offered(SupplierFactory(postage_minor=300), of, 1, (1, 900))
        with CaptureQueriesContext(connection) as queries:
            browser.get("/shelf/shopping/?" + "&".join(f"item={of.code}" for of in items))
        asked.append(len(queries))
    assert asked[0] == asked[1]


@pytest.mark.django_db
@pytest.mark.parametrize(("paper", "width_mm"), [("a5", 148), ("a4", 210)])
def test_the_list_on_paper(browser: Browser, paper: str, width_mm: int):
    """ISO 216: A5 is 148 mm wide, A4 210 mm."""
    busk = item("busk", material__name="#strong[Busk]")
    page = PdfReader(BytesIO(browser.get(f"/shelf/shopping/list-{paper}.pdf?item={busk.code}").content)).pages[0]
    assert round(float(page.mediabox.width) / 72 * 25.4) == width_mm
    assert "#strong[Busk]" in page.extract_text()


@pytest.mark.django_db
def test_a_form_of_a_bone_without_a_price_has_no_top_price():
    coil = item("spiral")
    tipped = StockItem.objects.create(material=coil.material, form="tipped", size_tenths_mm=2500, code="tipped-250")
    (row,) = to_buy([tipped.code], home=EURO)
    told = shopping_row(row, "EUR")
    assert (told.top, told.top_each, told.whose) == ("", "", "no price is kept")
