"""A price from memory stands until somebody says another one, or the first receipt does, by whatever road it comes.

Expected prices are worked by hand beside each test: landed value ÷ quantity. The rule itself is the product's own.
"""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from support_importing import keep_sheet
from support_shelf import SupplierFactory, act, item, offered

from inventory.buying.purchasing import Arrived, OrderWish, draft_order, place, take_in
from inventory.ground.findings import Refused
from inventory.importing.importing import likely_columns, match_columns
from inventory.importing.importing import take_in as take_in_sheet
from inventory.models import PriceRecord, StockItem, StockMaterial
from inventory.shelf.settings import set_currency
from inventory.stock.audit import audit
from inventory.stock.ledger import Arrival, receive
from inventory.stock.price_list import keep_material

pytestmark = pytest.mark.django_db

DAY = date(2026, 11, 2)


@pytest.fixture
def cord() -> StockItem:
    """A cord at 1.15 a metre, from memory."""
    return item("cord", material__code="cord", material__is_from_memory=True)


def price(of: StockItem) -> tuple[Decimal, bool]:
    material = StockMaterial.objects.get(pk=of.material_id)
    return material.unit_cost, material.is_from_memory


def test_a_receipt_gives_the_price_that_was_paid(cord: StockItem):
    receive(act(), [Arrival(item=cord, quantity=20_000, value_minor=2600)])
    assert price(cord) == (Decimal("1.30"), False)  # 26.00 ÷ 20 m
    assert [(row.unit_cost, row.source) for row in PriceRecord.objects.all()] == [
        (Decimal("1.30"), "the first receipt, landed")
    ]
    receive(act(), [Arrival(item=cord, quantity=10_000, value_minor=9900)])
    assert price(cord) == (Decimal("1.30"), False)
    assert PriceRecord.objects.count() == 1


def test_sizes_that_come_together_are_priced_together():
    flat = item("flat", material__code="flat", material__is_from_memory=True)
    longer = StockItem.objects.create(material=flat.material, size_tenths_mm=2540, code="flat-254")
    arrivals = [Arrival(item=flat, quantity=10, value_minor=1000), Arrival(item=longer, quantity=30, value_minor=4000)]
    receive(act(), arrivals)
    assert price(flat) == (Decimal("1.25"), False)  # 50.00 ÷ 40


def test_a_length_with_a_price_of_its_own_says_nothing_of_the_others():
    """The rule of forms: what has its own price is not priced by its material, nor its material by it."""
    flat = item("flat", material__code="flat", material__is_from_memory=True)
    longer = StockItem.objects.create(
        material=flat.material, size_tenths_mm=2540, code="flat-254", own_cost_millionths=9_000_000
    )
    receive(act(), [Arrival(item=longer, quantity=10, value_minor=9000)])
    assert price(flat) == (Decimal("1.15"), True)


@pytest.mark.parametrize(
    ("currency", "value_minor", "expected"),
    [("JPY", 2600, Decimal(130)), ("KWD", 2600, Decimal("0.13"))],  # 2600 yen ÷ 20 m; 2.600 dinars ÷ 20 m
)
def test_the_minor_unit_is_the_currencys_own(cord: StockItem, currency: str, value_minor: int, expected: Decimal):
    set_currency(currency)
    receive(act(), [Arrival(item=cord, quantity=20_000, value_minor=value_minor)])
    assert price(cord) == (expected, False)


def test_what_comes_without_cost_says_nothing_of_a_price(cord: StockItem):
    receive(act(), [Arrival(item=cord, quantity=20_000, value_minor=0)])
    assert price(cord) == (Decimal("1.15"), True)


def test_a_receipt_that_is_refused_leaves_the_price(cord: StockItem):
    with pytest.raises(Refused):
        receive(
            act(),
            [Arrival(item=cord, quantity=9000, value_minor=2600), Arrival(item=cord, quantity=0, value_minor=0)],
        )
    assert price(cord) == (Decimal("1.15"), True)


def test_a_receipt_without_an_order_on_its_page_does(cord: StockItem, browser: Browser):
    said = {"quantity": "20", "value": "26", "received_on": DAY.isoformat(), "key": str(uuid4())}
    assert browser.post("/shelf/items/cord/receive/", said).status_code == 302
    assert price(cord) == (Decimal("1.30"), False)


def test_an_order_that_comes_in_does_with_its_freight(cord: StockItem, maker: User):
    supplier = SupplierFactory()
    offer = offered(supplier, cord, 20, (1, 2600))
    order = draft_order(supplier, [OrderWish(offer=offer, packs=1)], user=maker, on=DAY)
    place(order, on=DAY)
    line = order.lines.get()
    take_in(act(), order, [Arrived(line=line, quantity=20_000)], freight_minor=400, duty_minor=0)
    assert price(cord) == (Decimal("1.50"), False)  # (26.00 + 4.00) ÷ 20 m


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("cord,Cord,cord,1.40,20,m,", (Decimal("1.40"), False)),
        ("cord,Cord,cord,1.15,,,", (Decimal("1.15"), False)),  # the maker says the same price
        ("cord,Cord,cord,,20,m,26.00", (Decimal("1.30"), False)),  # 26.00 ÷ 20 m
        ("cord,Cord,cord,,20,m,", (Decimal("1.15"), True)),  # a row that says no cost knows none
    ],
)
def test_opening_stock_does_where_it_says_what_it_cost(cord: StockItem, row: str, expected: tuple[Decimal, bool]):
    upload = SimpleUploadedFile("own.csv", f"Code,Name,Kind,Price,Qty,Unit,Value\n{row}\n".encode())
    sheet = keep_sheet(upload=upload, user=None)
    match_columns(sheet, likely_columns(sheet))
    take_in_sheet(sheet, key=uuid4(), user=None)
    assert price(cord) == expected
    assert not audit().differences


def test_another_price_on_the_materials_page_does(cord: StockItem, browser: Browser):
    said = browser.get("/shelf/materials/cord/").context["form"].initial
    said = {name: value for name, value in said.items() if value not in (None, False)}
    said |= {"unit_cost": "1.15", "is_from_memory": "on", "colour": "black", "photo": ""}
    assert browser.post("/shelf/materials/cord/", said).status_code == 302
    assert price(cord) == (Decimal("1.15"), True)
    assert browser.post("/shelf/materials/cord/", {**said, "unit_cost": "1.45"}).status_code == 302
    assert price(cord) == (Decimal("1.45"), False)


def test_a_price_that_is_right_is_said_to_be(cord: StockItem, browser: Browser):
    said = browser.get("/shelf/materials/cord/").context["form"].initial
    said = {name: value for name, value in said.items() if value not in (None, False)} | {"photo": ""}
    assert browser.post("/shelf/materials/cord/", {**said, "unit_cost": "1.15"}).status_code == 302
    assert price(cord) == (Decimal("1.15"), False)


def test_what_was_read_before_a_receipt_does_not_mark_it_again(cord: StockItem):
    opened = StockMaterial.objects.get(pk=cord.material_id)
    receive(act(), [Arrival(item=cord, quantity=20_000, value_minor=2300)])  # 23.00 ÷ 20 m is 1.15, as remembered
    keep_material(opened, price_source="set on the shelf")
    assert price(cord) == (Decimal("1.15"), False)


def test_the_list_says_which_prices_are_from_memory(cord: StockItem, browser: Browser):
    item("cord", material__name="Round cord")
    marked = browser.get("/shelf/?price=True")
    assert [row.record.pk for row in marked.context["table"].rows] == [cord.pk]
    assert b"price from memory" in marked.content
    assert b"price from memory" not in browser.get("/shelf/?price=False").content
    assert b"the first receipt does" in browser.get("/shelf/items/cord/").content
    assert b"memory" not in browser.get("/shelf/?export=csv").content
