"""What an order cost in the end: invoiced prices, freight and duty over all its parts, invoices and credits that come later.

Sources: IAS 2 paragraphs 10 and 11 (transport and duties belong to the cost of what is bought); the largest-remainder method.
Figures are worked by hand.
"""

from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase
from support_shelf import SupplierFactory, act, item, offered

from inventory.buying.charges import OrderCosts, correct_order, goods_minor, last_cost, received_lots
from inventory.buying.purchase_order import order_csv, order_facts
from inventory.buying.purchasing import Arrived, OrderWish, close_line, draft_order, place, take_in
from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Posting, PurchaseOrder, StockItem
from inventory.reckoning.landed_cost import OrderedLine, borne
from inventory.shelf.settings import shelf
from inventory.stock.audit import audit
from inventory.stock.correcting import paid_minor
from inventory.stock.ledger import issue


def ordered(
    *lines: tuple[StockItem, int, int], rate_millionths: int = 1_000_000, currency: str = "EUR"
) -> PurchaseOrder:
    """An order of lines of (item, packs of one metre or piece, price of a pack)."""
    supplier = SupplierFactory(currency=currency, rate_millionths=rate_millionths)
    wishes = [OrderWish(offer=offered(supplier, of, 1, (1, price)), packs=packs) for of, packs, price in lines]
    order = draft_order(supplier, wishes, user=None, on=timezone.localdate())
    place(order, on=timezone.localdate())
    return order


def came(
    order: PurchaseOrder, *quantities: int, price: int | None = None, freight: int = 0, duty: int = 0
) -> list[Lot]:
    rows = [
        Arrived(line=line, quantity=quantity, price_minor=price)
        for line, quantity in zip(order.lines.all(), quantities, strict=True)
    ]
    posting = take_in(act(), order, rows, freight_minor=freight, duty_minor=duty, takes_more=True)
    return [row.lot for row in posting.movements.order_by("pk")]


def paid(*lots: Lot) -> list[int]:
    costs = paid_minor(lot.pk for lot in lots)
    return [costs[lot.pk] for lot in lots]


@pytest.mark.django_db
def test_the_invoices_price_is_the_lots_cost():
    """10 packs ordered at 1.15, invoiced at 1.25; 4 m came, then 6 m."""
    order = ordered((item(), 10, 115))
    assert paid(*came(order, 4_000, price=125)) == [500]
    assert paid(*came(order, 6_000, price=125)) == [750]


@pytest.mark.django_db
def test_an_invoice_in_another_currency_is_worth_what_the_order_says():
    """2 packs at 1000 yen, invoiced at 1100, 0.0061 each: 13.42."""
    order = ordered((item(), 2, 1000), currency="JPY", rate_millionths=6_100)
    assert paid(*came(order, 2_000, price=1100)) == [1342]


@pytest.mark.django_db
def test_the_first_part_carries_its_share_of_the_freight_and_no_more():
    """Cord for 11.50 and busks for 57.50 bear 6.90 as 1.15 and 5.75; of the cord a quarter came, so 0.29 (half up)."""
    cord, busk = item(), item("busk")
    order = ordered((cord, 10, 115), (busk, 5, 1150))
    first = came(order, 2_500, 0, freight=690)
    assert paid(*first) == [288 + 29]
    rest = came(order, 7_500, 5)
    assert paid(*first, *rest) == [317, 862 + 86, 5750 + 575]
    cord.refresh_from_db()
    busk.refresh_from_db()
    assert cord.value_minor + busk.value_minor == 1150 + 5750 + 690
    assert audit().differences == ()


@pytest.mark.django_db
def test_freight_told_with_a_later_part_is_borne_by_what_came_before_and_by_who_used_it():
    """10 m for 10.00; 4 m came, of which 1 m went to a job; freight of 2.00 is told with the rest: 0.80 and 1.20."""
    cord = item()
    order = ordered((cord, 10, 100))
    (first,) = came(order, 4_000)
    issue(act(), lot=first, quantity=1_000, job="Q1")
    (second,) = came(order, 6_000, freight=150, duty=50)
    assert paid(first, second) == [480, 720]
    cord.refresh_from_db()
    assert cord.value_minor == 480 + 720 - 120
    assert Movement.objects.get(posting__kind="issue", quantity=0).value_minor == -20
    assert audit().differences == ()


@pytest.mark.django_db
def test_what_never_comes_leaves_its_freight_to_what_came():
    order = ordered((item(), 10, 100), (item(), 10, 300))
    (lot,) = came(order, 10_000, 0, freight=400)
    assert paid(lot) == [1100]
    close_line(order.lines.last(), on=timezone.localdate())
    assert paid(lot) == [1400]
    assert audit().differences == ()


@pytest.mark.django_db
def test_an_invoice_that_comes_after_the_goods_and_a_credit_after_that():
    """10 m for 10.00, half of it used; the invoice says 11.00 and 3.00 freight, the credit takes 4.00 of the goods back."""
    cord = item()
    order = ordered((cord, 10, 100))
    (lot,) = came(order, 10_000)
    issue(act(), lot=lot, quantity=5_000, job="Q1")
    for goods, charged, together in ((1100, 300, 1400), (700, 300, 1000)):
        cost = OrderCosts(goods={lot.pk: goods}, charged_minor=charged, seen=last_cost(order))
        correct_order(act("Invoice 17"), order, cost)
        assert (paid(lot), goods_minor(received_lots(order))) == ([together], {lot.pk: goods})
        cord.refresh_from_db()
        assert cord.value_minor == together // 2
    assert audit().differences == ()


@pytest.mark.django_db
def test_an_older_form_of_what_an_order_cost_is_refused():
    order = ordered((item(), 10, 100))
    (lot,) = came(order, 10_000)
    cost = OrderCosts(goods={lot.pk: 1100}, charged_minor=0, seen=last_cost(order))
    doing = act("Invoice 17")
    assert correct_order(doing, order, cost) == correct_order(doing, order, cost)
    with pytest.raises(Refused, match="corrected since"):
        correct_order(act("Invoice 17"), order, cost)


@pytest.mark.django_db
def test_the_pages_take_the_invoices_price_and_the_later_invoice(browser: Browser):
    order = ordered((item(), 10, 115))
    line = order.lines.get()
    page = f"/shelf/orders/{order.number}/"
    assert "1.15" in browser.get(f"{page}receive/").content.decode()
    said = {"key": uuid4(), "received_on": timezone.localdate(), "freight": "0", "duty": "0"}
    said |= {f"quantity_{line.pk}": "10", f"price_{line.pk}": "1.25"}
    assert browser.post(f"{page}receive/", said).status_code == 302
    lot = Lot.objects.get()
    assert paid(lot) == [1250]
    form = browser.get(f"{page}cost/").context["form"]
    assert form[f"goods_{lot.pk}"].value() == "12.5"
    said = {"key": uuid4(), "seen": last_cost(order), f"goods_{lot.pk}": "12.00", "charged": "6.90", "why": "Credit 4"}
    assert browser.post(f"{page}cost/", said).status_code == 302
    assert paid(lot) == [1890]
    assert "Freight and duty so far: €6.90" in browser.get(page).content.decode()
    stale = browser.post(f"{page}cost/", {**said, "key": uuid4()})
    assert stale.status_code == 422
    assert Posting.objects.filter(kind="correction").count() == 1


@pytest.mark.django_db
def test_the_tables_of_an_order_end_in_goods_postage_and_both():
    supplier = SupplierFactory(postage_minor=690)
    order = draft_order(
        supplier,
        [OrderWish(offer=offered(supplier, item(), 1, (1, 1140)), packs=2)],
        user=None,
        on=timezone.localdate(),
    )
    rows = order_csv(order_facts(order, shelf())).decode("utf-8-sig").splitlines()
    assert rows[-3:] == [",Goods,,,,,,22.80,", ",Postage,,,,,,6.90,", ",Together,,,,,,29.70,"]


LINES = st.builds(
    OrderedLine,
    value=st.integers(0, 10**7),
    ordered=st.integers(1, 5000),
    came=st.lists(st.integers(1, 4000), max_size=4).map(tuple),
    is_closed=st.booleans(),
)


@given(st.integers(0, 10**6), st.lists(LINES, min_size=1, max_size=5))
def test_charges_are_borne_once_and_never_by_more_than_they_are(charges: int, lines: list[OrderedLine]):
    together = sum(map(sum, borne(charges, lines)))
    assert 0 <= together <= charges
    if all(sum(line.came) >= line.ordered or line.is_closed for line in lines):
        assert together == (charges if any(line.came for line in lines) else 0)


class AnyOrder(TestCase):
    @settings(max_examples=30, deadline=None)
    @given(
        prices=st.lists(st.integers(0, 3000), min_size=1, max_size=3),
        parts=st.lists(
            st.tuples(st.integers(1, 4000), st.integers(0, 900), st.integers(0, 3000)), min_size=1, max_size=4
        ),
        used=st.integers(0, 1000),
        later=st.integers(0, 2000),
    )
    def test_what_was_paid_is_on_the_shelf_or_with_who_used_it(
        self, prices: list[int], parts: list[tuple[int, int, int]], used: int, later: int
    ):
        """Whatever comes in whatever parts at whatever price and freight: all that was paid is somewhere, to the minor unit."""
        order = ordered(*((item(), 4, price) for price in prices))
        freight = 0
        for place_of, (quantity, charged, _) in enumerate(parts):
            row = place_of % len(prices)
            order.refresh_from_db()
            if not order.is_open:
                break
            (lot, *_) = came(
                order, *(quantity if number == row else 0 for number in range(len(prices))), freight=charged
            )
            freight += charged
            if used and used <= lot.on_hand:
                issue(act(), lot=lot, quantity=min(used, quantity), job="Q1")
        for line in order.lines.all():
            order.refresh_from_db()
            if order.is_open and line.outstanding:
                close_line(line, on=timezone.localdate())
        lots = received_lots(order)
        goods = goods_minor(lots)
        assert sum(paid(*lots)) == sum(goods.values()) + freight
        if later != freight:
            correct_order(act("Later"), order, OrderCosts(goods=goods, charged_minor=later, seen=last_cost(order)))
        assert sum(paid(*lots)) == sum(goods.values()) + later
        spent = -sum(Movement.objects.filter(posting__job="Q1").values_list("value_minor", flat=True))
        assert sum(StockItem.objects.values_list("value_minor", flat=True)) + spent == sum(goods.values()) + later
        assert audit().differences == ()
