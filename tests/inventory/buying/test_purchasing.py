"""Orders from draft to the shelf: states, landed cost to the minor unit, parts, wrong lots, closed weeks, yards.

Sources: IAS 2 paragraphs 10 and 11 (what belongs in cost); the largest-remainder method; the international yard of 1959.
States and closed weeks: common practice, no source.
"""

from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO
from uuid import uuid4

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase
from pypdf import PdfReader
from support_shelf import SupplierFactory, act, item, offered

from inventory.buying.purchase_order import order_csv, order_facts, order_pdf, order_workbook
from inventory.buying.purchasing import (
    Arrived,
    OrderWish,
    cancel,
    close_line,
    draft_order,
    keep_lines,
    place,
    take_in,
)
from inventory.ground.days import arrival
from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from inventory.models import Lot, Posting, PurchaseOrder, StockItem, Supplier
from inventory.shelf.settings import shelf
from inventory.stock.audit import audit
from inventory.suppliers.terms import actual_lead, home_amount

TODAY = date(2027, 1, 4)


def placed(supplier: Supplier, *wishes: OrderWish) -> PurchaseOrder:
    order = draft_order(supplier, wishes, user=None, on=TODAY)
    place(order, on=TODAY)
    return order


def came(order: PurchaseOrder, *quantities: int, freight: int = 0, duty: int = 0, **facts: str) -> Posting:
    rows = [
        Arrived(line=line, quantity=quantity, **facts)
        for line, quantity in zip(order.lines.all(), quantities, strict=True)
    ]
    return take_in(act(), order, rows, freight_minor=freight, duty_minor=duty)


def codes(refused: pytest.ExceptionInfo[Refused]) -> set[str]:
    return {found.code for found in refused.value.findings}


@pytest.mark.django_db
def test_carriage_is_spread_over_what_came_by_value_to_the_penny():
    """47.50 over 312.40, 88.15 and 19.95 are 35.29, 9.96 and 2.25 (largest remainder)."""
    supplier = SupplierFactory()
    wishes = [OrderWish(offer=offered(supplier, item("busk"), 1, (1, price)), packs=1) for price in (31240, 8815, 1995)]
    posting = came(placed(supplier, *wishes), 1, 1, 1, freight=4000, duty=750)
    values = [row.value_minor for row in posting.movements.order_by("id")]
    assert values == [31240 + 3529, 8815 + 996, 1995 + 225]


@pytest.mark.django_db
def test_the_states_of_an_order():
    supplier = SupplierFactory(lead_days=5, postage_minor=690, postage_free_from_minor=9000)
    cord = item()
    order = draft_order(supplier, [OrderWish(offer=offered(supplier, cord, 10), packs=3)], user=None, on=TODAY)
    with pytest.raises(Refused) as refused:
        came(order, 10_000)
    assert codes(refused) == {"order.wrong-state"}
    place(order, on=TODAY + timedelta(days=1))
    assert (order.state, order.expected_on, order.postage_minor) == ("placed", date(2027, 1, 10), 690)
    came(order, 12_000)
    order.refresh_from_db()
    assert order.state == "partly"
    with pytest.raises(Refused) as refused:
        cancel(order)
    assert codes(refused) == {"order.wrong-state"}
    came(order, 18_000)
    order.refresh_from_db()
    assert order.state == "received"
    cord.refresh_from_db()
    assert (cord.on_hand, cord.value_minor) == (30_000, 3000)
    assert audit().differences == ()


@pytest.mark.django_db
def test_what_will_not_come_is_closed_and_no_longer_expected():
    supplier = SupplierFactory()
    order = placed(supplier, *(OrderWish(offer=offered(supplier, item(), 10), packs=1) for _ in range(2)))
    came(order, 10_000, 0)
    close_line(order.lines.last(), on=TODAY)
    order.refresh_from_db()
    assert order.state == "received"
    assert order.lines.last().outstanding == 0


@pytest.mark.django_db
def test_a_delivery_that_is_sent_twice_counts_once():
    supplier = SupplierFactory()
    order = placed(supplier, OrderWish(offer=offered(supplier, item(), 10), packs=1))
    line, doing = order.lines.get(), act()
    first = take_in(doing, order, [Arrived(line=line, quantity=10_000)], freight_minor=0, duty_minor=0)
    again = take_in(doing, order, [Arrived(line=line, quantity=10_000)], freight_minor=0, duty_minor=0)
    assert first == again
    line.refresh_from_db()
    assert line.received == 10_000
    assert Lot.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("doing", "code"),
    [
        (lambda order, offer: draft_order(order.supplier, [], user=None, on=TODAY), "order.empty"),
        (
            lambda order, offer: keep_lines(order, [OrderWish(offer=offer, packs=1)], version=7),
            "order.changed-meanwhile",
        ),
        (lambda order, offer: keep_lines(order, [OrderWish(offer=offer, packs=1)], version=1), "order.below-least"),
        (lambda order, offer: place(order, on=TODAY), "order.below-minimum"),
        (lambda order, offer: came(order, 0), "order.nothing-came"),
        (
            lambda order, offer: draft_order(SupplierFactory(), [OrderWish(offer=offer, packs=2)], user=None, on=TODAY),
            "order.other-supplier",
        ),
    ],
)
def test_what_cannot_be_done_is_refused_and_leaves_nothing(doing: object, code: str):
    supplier = SupplierFactory(minimum_order_minor=5000)
    offer = offered(supplier, item(), 10, minimum_packs=2)
    order = draft_order(supplier, [OrderWish(offer=offer, packs=2)], user=None, on=TODAY)
    with pytest.raises(Refused) as refused:
        doing(order, offer)  # type: ignore[operator]
    assert codes(refused) == {code}
    order.refresh_from_db()
    assert (PurchaseOrder.objects.count(), order.state, order.lines.get().packs) == (1, "draft", 2)


@pytest.mark.django_db
def test_more_than_was_ordered_is_asked_about():
    supplier = SupplierFactory()
    order = placed(supplier, OrderWish(offer=offered(supplier, item(), 1), packs=1))
    rows = [Arrived(line=order.lines.get(), quantity=1500)]
    with pytest.raises(Refused) as refused:
        take_in(act(), order, rows, freight_minor=0, duty_minor=0)
    assert codes(refused) == {"order.more-came"}
    assert (
        take_in(act(), order, rows, freight_minor=0, duty_minor=0, takes_more=True).movements.get().value_minor == 1500
    )


@pytest.mark.django_db
def test_a_form_that_is_sent_twice_drafts_one_order_and_a_changed_one_is_refused():
    supplier = SupplierFactory()
    offer, key = offered(supplier, item(), 1), uuid4()
    first, again = (
        draft_order(supplier, [OrderWish(offer=offer, packs=1)], user=None, on=TODAY, key=key) for _ in range(2)
    )
    assert first == again
    place(first, on=TODAY)
    doing, line = act(), first.lines.get()
    take_in(doing, first, [Arrived(line=line, quantity=400)], freight_minor=0, duty_minor=0)
    with pytest.raises(Refused) as refused:
        take_in(doing, first, [Arrived(line=line, quantity=500)], freight_minor=0, duty_minor=0)
    assert codes(refused) == {"ledger.key-reused"}


@pytest.mark.django_db
def test_lines_whose_offer_is_gone_stay_in_a_draft_until_they_are_dropped():
    supplier = SupplierFactory()
    gone, stays = offered(supplier, item(), 1), offered(supplier, item(), 1)
    wishes = [OrderWish(offer=offer, packs=1) for offer in (gone, stays)]
    order = draft_order(supplier, wishes, user=None, on=TODAY)
    gone.delete()
    keep_lines(order, [OrderWish(offer=stays, packs=3)], version=1)
    assert sorted(order.lines.values_list("packs", flat=True)) == [1, 3]
    keep_lines(order, [OrderWish(offer=stays, packs=3)], version=2, dropped=[order.lines.get(packs=1).pk])
    assert list(order.lines.values_list("packs", flat=True)) == [3]


@pytest.mark.django_db
def test_ten_packs_of_a_yard_are_not_ten_times_a_yard_rounded():
    supplier = SupplierFactory()
    order = draft_order(
        supplier, [OrderWish(offer=offered(supplier, item(), 1, unit="YRD"), packs=10)], user=None, on=TODAY
    )
    assert order.lines.get().quantity == 9144


@pytest.mark.django_db
def test_a_price_break_holds_for_all_packs_of_the_line():
    supplier = SupplierFactory()
    offer = offered(supplier, item(), 1, (1, 500), (10, 480), (20, 475))
    for packs, price in ((9, 500), (10, 480), (25, 475)):
        order = draft_order(supplier, [OrderWish(offer=offer, packs=packs)], user=None, on=TODAY)
        assert order.lines.get().price_minor == price


@pytest.mark.django_db
def test_goods_in_another_currency_are_worth_what_the_day_said():
    """125 yen a pound's 100 pence: 1000 yen at 0.0061 are 6.10."""
    assert home_amount(1000, 6_100, theirs=currency_of("JPY"), home=currency_of("EUR")) == Decimal("6.10")
    supplier = SupplierFactory(currency="JPY", rate_millionths=6_100)
    order = placed(supplier, OrderWish(offer=offered(supplier, item(), 1, (1, 1000)), packs=1))
    Supplier.objects.update(rate_millionths=9_000)
    assert came(order, 1000).movements.get().value_minor == 610


def test_closed_weeks_do_not_count():
    """Friday 30 July, seven days; closed from 2 to 20 August: one day before, six after."""
    closed = [(date(2027, 8, 2), date(2027, 8, 20))]
    assert arrival(date(2027, 7, 30), 7, closed) == date(2027, 8, 25)
    assert arrival(date(2027, 8, 3), 2, closed) == date(2027, 8, 23)
    assert arrival(date(2027, 7, 30), 7, []) == date(2027, 8, 6)


@pytest.mark.django_db
def test_what_a_supplier_really_takes_is_told_by_its_orders():
    supplier = SupplierFactory(lead_days=5)
    for took in (4, 8):
        order = placed(supplier, OrderWish(offer=offered(supplier, item(), 1), packs=1))
        rows = [Arrived(line=order.lines.get(), quantity=1000)]
        doing = act(day=TODAY + timedelta(days=took))
        take_in(doing, order, rows, freight_minor=0, duty_minor=0)
    found = actual_lead(supplier)
    assert found is not None
    assert (found.orders, found.mean_days, found.spread_days, found.late) == (2, 6.0, 2.0, 1)


@pytest.mark.django_db
def test_the_papers_of_an_order_say_the_same_and_hold_no_formula():
    supplier = SupplierFactory(name="=HYPERLINK(1)", postage_minor=690)
    busk = item("busk")
    StockItem.objects.filter(pk=busk.pk).update(code="busk")
    busk.material.name = "=1+1"
    busk.material.save()
    offer = offered(supplier, busk, 1, (1, 1140))
    offer.their_code = "+BS"
    offer.save()
    order = placed(supplier, OrderWish(offer=offer, packs=2, wanted_dye_lot="S-1"))
    facts = order_facts(order, shelf())
    sheet = openpyxl.load_workbook(BytesIO(order_workbook(facts))).active
    assert [cell.value for cell in sheet[2]][:4] == ["+BS", "=1+1", 2, 1]
    assert sheet["B2"].data_type == "s"
    assert Decimal(str(sheet["H2"].value)) == Decimal("22.80")
    text = order_csv(facts).decode("utf-8-sig").splitlines()[1]
    assert text.startswith("'+BS,'=1+1,2,1,pair")
    page = PdfReader(BytesIO(order_pdf(facts))).pages[0].extract_text()
    assert "Order 1" in page
    assert "dye lot S-1 only" in page
    assert "€29.70" in page


class Parts(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(
        price=st.integers(0, 10**6),
        packs=st.integers(1, 50),
        cuts=st.lists(st.integers(1, 400), max_size=5),
        freight=st.integers(0, 9999),
    )
    def test_parts_of_a_line_add_up_to_its_price(self, price: int, packs: int, cuts: list[int], freight: int):
        supplier = SupplierFactory()
        tips = item("tip")
        order = placed(supplier, OrderWish(offer=offered(supplier, tips, 7, (1, price)), packs=packs))
        left, total = packs * 7, 0
        for part in cuts:
            if part < left:
                came(order, part, freight=freight)
                left, total = left - part, total + freight
                order.refresh_from_db()
        came(order, left)
        tips.refresh_from_db()
        assert tips.value_minor == price * packs + total
        assert tips.on_hand == packs * 7
