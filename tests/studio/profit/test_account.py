"""The account of a piece: its bridge adds up for whatever happened, and textbook variances come out of it.

Sources: Horngren, Datar and Rajan, Cost Accounting, 14th ed., ch. 7, Exhibits 7-2 and 7-3 (Webb Company); Garrison,
Noreen and Brewer, Managerial Accounting, job-order costing (Job 205; a simple job with one overhead rate); the
definitions of markup and margin. The random jobs are reckoned anew in whole minor units with fractions.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from support_profit import EUR, actual, bridge_of, d, done, jobs, op, planned, quoted, used

from inventory.ground.money import Currency
from studio.profit.account import account
from studio.profit.piece import (
    Actual,
    Amount,
    Quoted,
    Rework,
    Spoiled,
)

WEBB_BUDGET = quoted(
    net=d("1200000"),
    materials=(planned("cloth", "20000", "30"),),
    operations=(op("SEW", "8000", "160000"),),
    labour_rate=d("20"),
    overhead=d("120000"),
    overhead_rate=d("15"),
    extras=(Amount(what="Fixed costs", amount=d("276000")),),
)
"""10,000 jackets at 120; 2 square yards at 30, 0.8 hours at 20 and 12 of variable overhead each; 276,000 fixed."""
WEBB_RESULT = actual(
    net=d("1250000"),
    change_orders=(Amount(what="5 more for each jacket", amount=d("50000")),),
    materials=(used("cloth", "22200", "621600"),),
    hours=(done("SEW", "9000"),),
    labour_rate=d("22"),
    overhead_rate=d("14.50"),
    extras=(Amount(what="Fixed costs", amount=d("285000")),),
)
"""22,200 square yards at 28, 9,000 hours at 22, 130,500 of variable overhead, 285,000 fixed, sold at 125."""


def half_up(exact: Fraction) -> int:
    """A half goes away from zero (all that is rounded here is >= 0)."""
    return (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)


def minor(amount: Decimal, currency: Currency) -> Fraction:
    return Fraction(amount) * 10**currency.digits


def test_cst_01_material_price_and_efficiency_variance():
    """Price 44,400 favourable, efficiency 66,000 unfavourable, together 21,600 unfavourable."""
    found = bridge_of(account(WEBB_BUDGET, WEBB_RESULT))
    assert found["material.cloth.price"] == 44_400
    assert found["material.cloth.quantity"] == -66_000


def test_cst_02_labour_rate_and_efficiency_variance():
    """Rate 18,000 and efficiency 20,000 unfavourable; all variable costs together are 70,100 above the budget."""
    found = bridge_of(account(WEBB_BUDGET, WEBB_RESULT))
    assert found["labour.rate"] == -18_000
    assert found["labour.SEW.hours"] == -20_000
    variable = [amount for code, amount in found.items() if code.split(".")[0] in ("material", "labour", "overhead")]
    assert sum(variable) == -70_100


def test_cst_03_flexible_budget():
    """Selling price 50,000 favourable, fixed costs 9,000 unfavourable, income 44,000 as budgeted and 14,900 as it came."""
    found = account(WEBB_BUDGET, WEBB_RESULT)
    assert (found.quoted_profit, found.profit) == (44_000, 14_900)
    assert (bridge_of(found)["change.1"], bridge_of(found)["extra.1"]) == (50_000, -9_000)
    assert sum(bridge_of(found).values()) == -29_100


def test_cst_05_job_cost_sheet():
    """Job 205: materials 942 + 1,180, labour 750 + 960, overhead 1,728 + 1,859: 7,419, for each of 22 units 337.23."""
    said = actual(
        materials=(used("moulding", "1", "942"), used("painting", "1", "1180")),
        hours=(done("BOTH", "1"),),
        labour_rate=d("1710"),
        overhead_rate=d("3587"),
    )
    found = account(quoted(), said)
    assert found.cost == 7_419
    assert EUR.round(found.cost / 22) == d("337.23")


def test_cst_07_simple_job():
    """Materials 800, labour 1,200 for 100 hours, overhead 20 an hour: 4,000."""
    said = actual(
        materials=(used("m", "1", "800"),), hours=(done("X", "100"),), labour_rate=d("12"), overhead_rate=d("20")
    )
    found = account(quoted(), said)
    assert (found.overhead, found.cost) == (2_000, 4_000)


@pytest.mark.parametrize(
    ("markup", "margin"), [("0.25", "1/5"), ("0.5", "1/3"), ("1", "1/2"), ("1.5", "3/5"), ("2", "2/3")]
)
def test_cst_14_margin_of_a_marked_up_price(markup: str, margin: str):
    """margin = m ÷ (1 + m); 1 is never reached while anything costs."""
    said = actual(net=100 * (1 + d(markup)), materials=(used("m", "1", "100"),))
    share = account(quoted(), said).margin_share
    assert share is not None
    assert share == Decimal(Fraction(margin).numerator) / Fraction(margin).denominator
    assert share < 1


def test_earned_per_hour_of_a_worked_example():
    """Common practice: 1031.22 with 3 % fee, materials 126, 30 hours that carry 8 each: 21.14 an hour."""
    said = actual(
        net=d("1031.22"),
        fee=d("30.94"),
        materials=(used("m", "1", "126"),),
        hours=(done("SEW", "28"),),
        rework=(Rework(cause="own-slip", hours=d("2")),),
        labour_rate=d("20"),
        overhead_rate=d("8"),
    )
    assert account(quoted(), said).per_hour == d("21.14")


def test_nothing_logged_and_nothing_invoiced_has_no_ratio():
    found = account(quoted(), actual())
    assert (found.per_hour, found.margin_share, found.bridge) == (None, None, ())


@settings(max_examples=300, deadline=None)
@given(jobs())
def test_the_bridge_leads_from_quoted_to_actual_profit_to_the_minor_unit(job: tuple[Quoted, Actual]):
    plan, said = job
    found = account(plan, said)
    money = plan.currency

    def total(rows: list[Decimal]) -> Fraction:
        return sum((minor(amount, money) for amount in rows), Fraction(0))

    quoted_profit = total([plan.net]) - total(
        [plan.fee, plan.overhead, plan.contingency]
        + [row.amount for row in plan.materials]
        + [row.amount for row in plan.operations]
        + [row.amount for row in plan.extras]
    )
    hours = sum((Fraction(spent) for spent in said.hours_of_rows), Fraction(0))
    profit = (
        total([said.net])
        - total(
            [said.fee]
            + [row.value for row in said.materials]
            + [row.value for row in said.spoiled]
            + [row.amount for row in said.extras]
        )
        - half_up(hours * minor(said.labour_rate, money))
        - half_up(hours * minor(said.overhead_rate, money))
    )
    assert minor(found.quoted_profit, money) == quoted_profit
    assert minor(found.profit, money) == profit
    assert quoted_profit + total([line.amount for line in found.bridge]) == profit
    assert all(line.amount and money.is_exact(line.amount) for line in found.bridge)


@pytest.mark.parametrize(
    ("said", "match"),
    [
        (actual(net=d("1.005")), "minor unit of EUR"),
        (actual(spoiled=(Spoiled(cause="cat", value=d("1")),)), "'cat' is not known"),
        (actual(hours=(done("SEW", "-1"),)), "below zero"),
    ],
)
def test_what_cannot_be_is_refused(said: Actual, match: str):
    with pytest.raises(ValueError, match=match):
        account(quoted(), said)


def test_a_dearer_hour_lowers_profit_by_its_hours():
    """One more an hour on 10 hours is 10 less."""
    said = actual(hours=(done("SEW", "10"),), labour_rate=d("20"))
    dearer = replace(said, labour_rate=d("21"))
    assert account(quoted(), said).profit - account(quoted(), dearer).profit == 10
