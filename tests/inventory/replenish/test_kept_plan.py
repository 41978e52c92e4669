"""A joint order of an earlier version reads as it was meant: the golden plan was kept by the version that wrote it."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from inventory.replenish.explained_plan import EXPLAINED_PLAN, ExplainedPlan

DOCUMENT = Path(__file__).parents[3] / "fixtures" / "documents" / "plan-1.json"


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return json.loads(DOCUMENT.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def plan(document: dict[str, Any]) -> ExplainedPlan:
    return EXPLAINED_PLAN.read(document)


def test_nothing_that_was_kept_is_lost(document: dict[str, Any], plan: ExplainedPlan):
    rules = {code: told["rule"] for code, told in document["expectations"].items()}
    now = {
        "version": 2,
        "next_review": document["as_of"],
        "expected": [],
        "next_orders": [],
        "waiting": [],
        "rules": rules,
    }
    kept = {key: value for key, value in document.items() if key != "expectations"}
    assert EXPLAINED_PLAN.written(plan) == {**kept, **now}


def test_its_sums_are_those_of_its_lines(plan: ExplainedPlan):
    for order in plan.orders:
        assert order.goods == sum(line.amount for line in order.lines)
        assert order.total == order.goods + order.postage
        assert all(line.amount == line.packs * line.unit_price for line in order.lines)
    assert plan.total == sum(order.total for order in plan.orders) + plan.holding == Decimal("413.18")
    assert plan.line_by_line_total is not None
    assert plan.saving == plan.line_by_line_total - plan.total


def test_topping_up_saves_more_postage_than_it_costs(plan: ExplainedPlan):
    topped = {order.supplier: order.topping_up for order in plan.orders if order.topping_up is not None}
    assert topped
    for supplier, told in topped.items():
        (order,) = [order for order in plan.orders if order.supplier == supplier]
        assert order.postage == 0
        assert told.saving == told.postage_saved - told.goods_more > 0
