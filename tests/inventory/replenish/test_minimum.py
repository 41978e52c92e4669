"""Minimum orders: reached by what lies there anyway, or named with what can be bought at most.

Sources: brute force over all packs (`support_replenish`); sums by hand. That prices for all packs of a line may end in
nothing: all-units quantity discounts, Heizer and Render, Operations Management, ch. 12.
"""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_replenish import brute_force, checked, document

from inventory.ground.codec import plain
from inventory.ground.findings import Refused
from inventory.replenish import make_plan, plan_review, printed_plan, read_plan_file
from inventory.replenish.minimum import most_goods
from inventory.replenish.possible import without_the_impossible
from inventory.replenish.problem import Offer, Tier
from inventory.replenish.watch import Watch

FREE = {"code": "FREE", "lead_days": 2, "postage": "0", "minimum_order": "20.00"}
PAID = {"code": "PAID", "lead_days": 10, "postage": "4.50"}


def offer(supplier: str, material: str, *breaks: tuple[int, str], pack: str = "1") -> dict[str, Any]:
    prices = [{"from_packs": start, "price": price} for start, price in breaks]
    return {"supplier": supplier, "material": material, "pack": pack, "breaks": prices}


def tape(offers: list[dict[str, Any]], *suppliers: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """Two metres of tape are needed in two weeks; cord lies there in plenty."""
    rows = [
        {"code": "TAPE", "unit": "m", "on_hand": "0", "safety": "0", "unit_value": "0.90"},
        {"code": "CORD", "unit": "m", "on_hand": "50", "safety": "0", "unit_value": "1"},
    ]
    needs = [{"material": "TAPE", "quantity": "2", "date": "2027-01-18", "job": "K1"}]
    plain_file = {"materials": rows, "needs": needs, "open_orders": [], "offers": offers, "suppliers": list(suppliers)}
    return document(**{**plain_file, **changes})


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 9), st.integers(1, 30), st.sampled_from(["1", "3", "5", "7"]), st.sampled_from(["0.07", "0.18"]))
def test_what_lies_there_anyway_fills_an_order_up_to_the_minimum(price: int, minimum: int, pack: str, share: str):
    """The last pack that reaches it is not lost in rounding, whatever the holding of a pack comes to."""
    supplier = {"code": "A", "lead_days": 2, "postage": "0", "minimum_order": f"{minimum}"}
    offers = [offer("A", "CORD", (1, f"{price}"), pack=pack), offer("A", "TAPE", (1, "0.50"), pack="5")]
    problem = read_plan_file(tape(offers, supplier, holding_share_per_year=share)).problem
    printed: dict[str, Any] = plain(printed_plan(make_plan(problem)))
    checked(problem, printed)
    assert (0.0, Decimal(printed["total"])) == brute_force(problem)


@pytest.mark.parametrize(
    ("breaks", "most"),
    [
        ([(1, "0.00")], "0.00"),
        ([(1, "1.00"), (10, "0.00")], "9.00"),  # nine packs at 1.00, ten for nothing
        ([(1, "0.00"), (5, "2.00"), (8, "0.00")], "14.00"),  # seven at 2.00
    ],
)
def test_a_minimum_that_cannot_be_reached_is_named_with_what_can_be_bought(breaks: list[tuple[int, str]], most: str):
    file = tape([offer("FREE", "TAPE", *breaks)], FREE)
    with pytest.raises(Refused) as refused:
        make_plan(read_plan_file(file).problem)
    (found,) = refused.value.findings
    assert (found.code, found.where) == ("plan.minimum-out-of-reach", "need of TAPE for K1")
    assert found.message == (
        "2 m of TAPE, needed on 2027-01-18, cannot be bought: FREE takes orders from 20.00 EUR, and all that can be "
        f"bought there comes to {most} EUR at most."
    )
    assert found.hint


def test_a_reserve_that_only_such_a_supplier_sells_is_named_too():
    rows = [{"code": "TAPE", "unit": "m", "on_hand": "0", "safety": "3", "unit_value": "0.90"}]
    file = tape([offer("FREE", "TAPE", (1, "0.00"))], FREE, materials=rows, needs=[])
    with pytest.raises(Refused, match=r"3 m of the safety of TAPE cannot be bought: FREE takes orders from 20\.00 EUR"):
        make_plan(read_plan_file(file).problem)


def test_what_another_supplier_sells_comes_from_there():
    """Two metres at 0.70 and postage: 1.40 + 4.50; line by line would break the minimum."""
    file = tape([offer("FREE", "TAPE", (1, "0.00")), offer("PAID", "TAPE", (1, "0.70"))], FREE, PAID)
    problem = read_plan_file(file).problem
    printed: dict[str, Any] = plain(printed_plan(make_plan(problem)))
    checked(problem, printed)
    assert [order["supplier"] for order in printed["orders"]] == ["PAID"]
    assert (printed["total"], printed["optimal"], printed["line_by_line_total"]) == ("5.90", True, None)
    assert [(row["code"], row["severity"], row["where"]) for row in printed["findings"]] == [
        ("plan.minimum-out-of-reach", "warn", "supplier FREE")
    ]


def test_a_dearer_line_of_the_same_supplier_reaches_the_minimum():
    """What is given away comes with 20.00 of cord, of which holding is 0.18 · 180 ÷ 365 · 20 = 1.78."""
    file = tape([offer("FREE", "TAPE", (1, "0.00")), offer("FREE", "CORD", (1, "1.00"))], FREE)
    plan = make_plan(read_plan_file(file).problem)
    assert (plan.total, plan.findings) == (Decimal("21.78"), [])


def test_a_review_says_it_whether_anything_is_ordered_or_not():
    offers = [offer("FREE", "TAPE", (1, "0.00")), offer("PAID", "TAPE", (1, "0.70"))]
    watch = Watch(review_days=7, history=(), service={})
    for on, orders in (("2027-01-18", 1), ("2027-06-18", 0)):
        needs = [{"material": "TAPE", "quantity": "2", "date": on, "job": "K1"}]
        plan = plan_review(read_plan_file(tape(offers, FREE, PAID, needs=needs)).problem, watch, seconds=5)
        assert len(plan.orders) == orders
        assert [found.where for found in plan.findings] == ["supplier FREE"]


def test_books_that_ask_for_it_plan_the_rest():
    needs = [{"material": code, "quantity": "60", "date": "2027-01-18", "job": "K1"} for code in ("TAPE", "CORD")]
    file = tape([offer("FREE", "TAPE", (1, "0.00")), offer("PAID", "CORD", (1, "0.70"))], FREE, PAID, needs=needs)
    problem, findings = without_the_impossible(read_plan_file(file).problem)
    (found,) = findings
    assert (found.code, found.where) == ("plan.minimum-out-of-reach", "TAPE")
    assert "60 m are missing for K1. FREE takes orders from 20.00 EUR" in found.message
    assert make_plan(problem).total == Decimal("11.50")


def test_prices_without_end_have_no_limit():
    tiers = (Tier(from_packs=1, price=Decimal(0)), Tier(from_packs=5, price=Decimal("0.01")))
    assert most_goods([Offer(supplier="A", material="X", pack=Decimal(1), tiers=tiers)]) is None
