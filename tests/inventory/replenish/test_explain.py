"""What topping up is told of, and plans that run out of time; the rules are the product's own."""

import pytest
from support_replenish import document

from inventory.ground.findings import Refused
from inventory.replenish import make_plan, read_plan_file
from inventory.replenish.explain import topping_up, toppings_up


def test_an_order_that_pays_its_postage_is_not_topped_up():
    plan = make_plan(read_plan_file(document()).problem)
    assert plan.orders
    for order in plan.orders:
        assert order.postage
        assert topping_up(plan, order, seconds=2) is None
    assert toppings_up(plan, seconds=2) == {}


def test_what_is_not_proven_in_time_is_not_told():
    """Ten metres at 3.60 reach 36.00, so that postage of 4.50 is saved."""
    suppliers = [{"code": "B", "lead_days": 10, "postage": "4.50", "postage_free_from": "10.00"}]
    offers = [row for row in document()["offers"] if row["supplier"] == "B"]
    plan = make_plan(read_plan_file(document(suppliers=suppliers, offers=offers)).problem)
    (order,) = plan.orders
    assert not order.postage
    assert topping_up(plan, order, seconds=2) is not None
    assert topping_up(plan, order, seconds=0) is None
    assert toppings_up(plan, seconds=0) == {}


def test_a_plan_that_is_not_found_in_time_is_refused():
    with pytest.raises(Refused) as refusal:
        make_plan(read_plan_file(document()).problem, seconds=0)
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [
        ("plan.no-answer", "file", "No plan was found in time.")
    ]
