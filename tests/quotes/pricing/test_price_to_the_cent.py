"""Prices worked by hand with everything in them at once: 100.00 of cloth, 10 hours, a courier, 5 % contingency.

400.00 before contingency, 420.00 with it; 200.00 of it are passed on. Tax 20 %, fee 3 % of the gross and 0.50, so that
1 of net bears 0.036 of fee.
"""

from dataclasses import replace
from decimal import Decimal as D

import pytest

from inventory.ground.findings import warn
from inventory.ground.money import RoundingRule, currency_of
from quotes.labour.operations import LabourEstimate, OperationMinutes
from quotes.pricing.costing import CostLine, Extra, Rates
from quotes.pricing.price import price

EUR = currency_of("EUR")
CLOTH = CostLine(group="material", code="m", what="cloth", quantity=D(1), unit="m", rate=D("100"), amount=D("100.00"))
COURIER = Extra(what="Courier", amount=D("20.00"))
RATES = Rates(
    labour_per_hour=D(20),
    overhead_per_hour=D(8),
    contingency_share=D("0.05"),
    margin_share=D("0.15"),
    fee_share=D("0.03"),
    fee_fixed=D("0.50"),
    tax_share=D("0.2"),
    tax_included=False,
    deposit_shares=(D("0.5"), D("0.5")),
)
NOTHING_ADDED = replace(
    RATES, contingency_share=D(0), margin_share=D(0), fee_share=D(0), fee_fixed=D(0), tax_share=D(0)
)
"""The price is the cost."""


def labour(*minutes: tuple[str, float], allowance: float = 0.0) -> LabourEstimate:
    rows = tuple(
        OperationMinutes(
            code=code,
            name=code.lower(),
            group="making",
            driver="jobs",
            driver_quantity=1,
            minutes=spent,
            formula="",
        )
        for code, spent in minutes
    )
    total = sum(spent for _, spent in minutes) * (1 + allowance)
    return LabourEstimate(
        operations=rows, allowance_share=allowance, total_min=total, low_min=0, high_min=total, range_rule=""
    )


TEN_HOURS = labour(("SEW", 180), ("CUT", 420))


def test_every_line_says_what_it_is_of():
    costing = price([CLOTH], TEN_HOURS, [COURIER, Extra(what="Parking", amount=D("5.00"))], RATES, EUR)
    facts = [(row.group, row.code, row.what, row.quantity, row.unit, row.rate, row.amount) for row in costing.lines]
    assert facts == [
        ("material", "m", "cloth", D(1), "m", D(100), D("100.00")),
        ("labour", "SEW", "sew", D(3), "h", D(20), D("60.00")),
        ("labour", "CUT", "cut", D(7), "h", D(20), D("140.00")),
        ("overhead", "overhead", "Overhead", D(10), "h", D(8), D("80.00")),
        ("contingency", "contingency", "Contingency", D("405.00"), "EUR", D("0.05"), D("20.25")),
        ("extra", "extra.1", "Courier", D(1), "each", D("20.00"), D("20.00")),
        ("extra", "extra.2", "Parking", D(1), "each", D("5.00"), D("5.00")),
    ]


def test_what_costs_nothing_has_no_line():
    free = replace(NOTHING_ADDED, labour_per_hour=D(0), overhead_per_hour=D(0))
    assert price([CLOTH], TEN_HOURS, [], free, EUR).lines == (CLOTH,)


def test_allowance_is_in_the_hours_of_each_line():
    """180 and 420 minutes with a tenth more: 3.3 and 7.7 hours."""
    costing = price([], labour(("SEW", 180), ("CUT", 420), allowance=0.1), [], NOTHING_ADDED, EUR)
    assert [row.quantity for row in costing.lines if row.group == "labour"] == [D("3.3"), D("7.7")]


def test_the_margin_sets_the_price_where_it_asks_for_more():
    """(420 + 0.50) / (1 − 0.15 − 0.036) = 516.5848; 20 an hour would ask for (400 + 0.50) / 0.964 = 415.46."""
    costing = price([CLOTH], TEN_HOURS, [COURIER], replace(RATES, minimum_per_hour=D(20)), EUR)
    assert (costing.binding_rule, costing.net) == ("margin", D("516.58"))
    assert costing.findings == ()


def test_the_wage_sets_the_price_where_it_asks_for_more():
    """(400 + 200 + 0.50) / 0.964 = 622.925: 40.00 an hour are left of it, which is no less than was asked."""
    costing = price([CLOTH], TEN_HOURS, [COURIER], replace(RATES, minimum_per_hour=D(40)), EUR)
    assert costing.binding_rule == "minimum-per-hour"
    assert (costing.net, costing.tax, costing.gross) == (D("622.93"), D("124.59"), D("747.52"))
    assert (costing.fee, costing.per_hour) == (D("22.93"), D("40.00"))
    assert costing.findings == ()


@pytest.mark.parametrize(
    ("rule", "net", "tax"),
    [(RoundingRule.HALF_UP, "622.92", "124.59"), (RoundingRule.HALF_EVEN, "622.93", "124.58")],
)
def test_a_price_said_with_tax_is_rounded_with_it(rule: RoundingRule, net: str, tax: str):
    """622.925 × 1.2 = 747.510; a sixth of 747.51 is 124.585, half way between two cents."""
    said = replace(RATES, minimum_per_hour=D(40), tax_included=True, rounding=rule)
    costing = price([CLOTH], TEN_HOURS, [COURIER], said, EUR)
    assert (costing.net, costing.tax, costing.gross) == (D(net), D(tax), D("747.51"))


@pytest.mark.parametrize(("rule", "net"), [(RoundingRule.HALF_UP, "125.03"), (RoundingRule.HALF_EVEN, "125.02")])
def test_a_price_is_rounded_by_the_rule_of_the_place(rule: RoundingRule, net: str):
    """100.02 / 0.8 = 125.025."""
    cloth = replace(CLOTH, rate=D("100.02"), amount=D("100.02"))
    costing = price([cloth], labour(), [], replace(NOTHING_ADDED, margin_share=D("0.2"), rounding=rule), EUR)
    assert costing.net == D(net)


def test_a_price_below_the_wage_is_warned_of_in_full():
    """622.925 less a tenth is 560.63; 672.76 with tax; fee 20.68; 339.95 are left for 10 hours."""
    below = replace(RATES, minimum_per_hour=D(40), discount_share=D("0.1"))
    assert price([CLOTH], TEN_HOURS, [COURIER], below, EUR).findings == (
        warn(
            "price.below-floor",
            "per_hour",
            "The price earns 34.00 an hour, less than the minimum of 40; 60.05 EUR are missing.",
            "Give less discount, or take work out.",
        ),
    )


def test_a_first_payment_is_warned_of_only_where_it_does_not_cover_the_materials():
    """200.00 for 100.00 of cloth: half covers it to the cent, two fifths do not."""
    half = replace(NOTHING_ADDED, margin_share=D("0.5"))
    assert price([CLOTH], labour(), [], half, EUR).findings == ()
    less = replace(half, deposit_shares=(D("0.4"), D("0.6")))
    assert price([CLOTH], labour(), [], less, EUR).findings == (
        warn(
            "price.deposit-below-materials",
            "deposit",
            "The first payment, 80.00 EUR, does not cover the materials, 100.00 EUR.",
            "Ask for a larger first part.",
        ),
    )
