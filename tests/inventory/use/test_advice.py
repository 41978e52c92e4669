"""When to order again and how much at once, for an item of the books.

Sources: Heizer and Render, Operations Management, ch. 12, Example 3 (1000 a year, 10 an order, 0.50 a year to hold one:
200 at once) turned into packs, postage and a holding share; the reorder point as lead-time use plus reserve.
"""

from datetime import date, timedelta

import pytest
from support_shelf import SupplierFactory, act, item, offered, stocked

from inventory.models import Shelf, StockItem
from inventory.stock.ledger import issue
from inventory.use.order_advice import advice

pytestmark = pytest.mark.django_db

TODAY = date(2027, 1, 4)


def used(of: StockItem, per_week: int, weeks: int = 52) -> None:
    lot = stocked(of, per_week * weeks, 100)
    for week in range(weeks):
        issue(act(day=TODAY - timedelta(days=1 + 7 * week)), lot=lot, quantity=per_week, job="P1")


def test_the_textbooks_quantity_and_reorder_point():
    """52 weeks of 19.17 a week are the example's 1000 a year within half a per cent: 199 to 200 at once."""
    Shelf.objects.update(holding_percent_per_year=50)
    tips = item("tip", policy="safety", safety=30)
    offered(SupplierFactory(lead_days=14, postage_minor=1000), tips, 1, (1, 100))
    used(tips, 19)
    found = advice(tips, on=TODAY)
    assert found is not None
    assert found.reorder_at == 2 * 19 + 30
    assert found.packs == pytest.approx(200, abs=2)


def test_nothing_is_advised_for_what_is_bought_for_the_job_or_never_used():
    assert advice(item("tip"), on=TODAY) is None
    assert advice(item("tip", policy="safety"), on=TODAY) is None


def test_without_postage_no_quantity_is_the_cheapest():
    tips = item("tip", policy="safety")
    offered(SupplierFactory(lead_days=14), tips, 1, (1, 100))
    used(tips, 19)
    found = advice(tips, on=TODAY)
    assert found is not None
    assert found.economic is None
