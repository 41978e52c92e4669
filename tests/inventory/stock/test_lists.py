"""The shelf's lists as they open: what was done last stands first, what keeps nothing is not shown."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from support_shelf import SupplierFactory, item, offered

from inventory.buying.purchasing import OrderWish, draft_order
from inventory.reserving.reservations import Wish, reserve

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(books: User) -> Client:
    client = Client()
    client.force_login(books)
    return client


def column(browser: Client, path: str, name: str) -> list[str]:
    return [str(row.get_cell_value(name)) for row in browser.get(path).context["table"].rows]


def test_the_last_order_stands_first_whoever_it_goes_to(browser: Client):
    cord, today = item(), timezone.localdate()
    for supplier in (SupplierFactory(name="Zeal"), SupplierFactory(name="Amble"), SupplierFactory(name="Mire")):
        draft_order(supplier, [OrderWish(offer=offered(supplier, cord, 5), packs=1)], user=None, on=today)
    assert column(browser, "/shelf/orders/", "number") == ["3", "2", "1"]


def test_what_a_quote_kept_that_ran_out_is_shown_as_expired_only(browser: Client):
    cord, today = item(), timezone.localdate()
    for reference, until in (("Q1", today - timedelta(days=1)), ("Q2", today), ("Q3", None)):
        reserve(
            reference=reference,
            title="x",
            link="",
            wishes=[Wish(item=cord, quantity=5, operation="any")],
            needed_by=today,
            expires_on=until,
        )
    assert column(browser, "/shelf/kept/", "reference") == ["Q2", "Q3"]
    assert column(browser, "/shelf/kept/?state=expired", "reference") == ["Q1"]
    page = browser.get("/shelf/kept/?state=").content.decode()
    assert "Expired on" in page
    assert "Quoted, until" in page
