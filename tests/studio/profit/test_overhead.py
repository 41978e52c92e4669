"""Overhead of a period and who bears what was spoiled.

Sources: Garrison, Noreen and Brewer, Managerial Accounting, ch. 2 solutions (applied against actual overhead); Horngren,
Datar and Rajan, Cost Accounting, 16th ed., ch. 18, p. 751 (Hull: normal and abnormal spoilage); Managerial Accounting
(Iowa State open text), ch. 12, Spoilage and Rework (the rule of who bears it).
"""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_profit import EUR, actual, d, done, jobs, quoted, used

from studio.profit.account import account
from studio.profit.causes import causes
from studio.profit.overhead import absorption, absorption_sentence
from studio.profit.piece import Account, Actual, Bearer, Quoted, Rework, Spoiled


def hull(cause: str, *, overhead_rate: str = "0") -> Account:
    """50 units at 2,000, 5 of them spoiled that still fetch 600 each; a good unit takes an hour of no wage."""
    said = actual(
        materials=(used("unit", "45", "90000"),),
        spoiled=(Spoiled(cause=cause, value=d("7000")),),
        hours=(done("MAKE", "45"),),
        overhead_rate=d(overhead_rate),
    )
    return account(quoted(), said)


def test_cst_07_over_applied_overhead():
    """500,000 for 25,000 hours is 20 an hour; with 490,000 spent, 10,000 are over-applied."""
    carried = account(quoted(), actual(hours=(done("ALL", "25000"),), overhead_rate=d("500000") / d("25000"))).overhead
    found = absorption(incurred=d("490000"), absorbed=carried, cause_costs=())
    assert found.difference == 10_000
    assert absorption_sentence(found, EUR) == (
        "Overhead was over-absorbed by €10,000.00: the hours carried €500,000.00, overhead came to €490,000.00."
    )


def test_cst_08_spoilage_of_one_job_stays_in_it():
    """(100,000 − 3,000) ÷ 45 = 2,155.56 a good unit."""
    found = hull("client")
    assert EUR.round(found.own_cost / 45) == d("2155.56")
    borne = absorption(incurred=d("0"), absorbed=found.overhead, cause_costs=found.cause_costs)
    assert (borne.usual_losses, borne.losses) == (0, 0)


def test_cst_08_normal_spoilage_is_shared_through_overhead():
    """45 × 2,000 and 50 of overhead for each: 2,050 a good unit; the 7,000 are overhead."""
    found = hull("normal", overhead_rate="50")
    assert found.own_cost == 92_250
    assert found.own_cost / 45 == 2_050
    borne = absorption(incurred=d("0"), absorbed=found.overhead, cause_costs=found.cause_costs)
    assert (borne.usual_losses, borne.losses, borne.difference) == (7_000, 0, 2_250 - 7_000)


@pytest.mark.parametrize("cause", ["own-slip", "cloth-fault"])
def test_cst_08_abnormal_spoilage_is_a_loss_of_the_period(cause: str):
    """Written off 7,000; good units stay at 2,000."""
    found = hull(cause)
    assert found.own_cost / 45 == 2_000
    borne = absorption(incurred=d("0"), absorbed=found.overhead, cause_costs=found.cause_costs)
    assert (borne.usual_losses, borne.losses, borne.difference) == (0, 7_000, 0)


def test_cst_09_the_cause_decides_who_bears_it():
    """The customer's cause: that job; normal: overhead; abnormal: a loss of the period."""
    assert {code: cause.bearer for code, cause in causes().items()} == {
        "client": Bearer.PIECE,
        "fit": Bearer.PIECE,
        "own-slip": Bearer.PERIOD,
        "cloth-fault": Bearer.PERIOD,
        "normal": Bearer.OVERHEAD,
    }


def test_the_piece_s_profit_has_every_loss_in_it_whoever_bears_it():
    """What the piece really made: the loss is gone in any case."""
    assert len({hull(cause).profit for cause in causes()}) == 1


def test_rework_is_its_hours_at_both_rates():
    """Horngren, ch. 18: rework is material, labour and overhead of doing it again. 2 of 10 hours at 20 and 8."""
    said = actual(
        hours=(done("SEW", "8"),),
        rework=(Rework(cause="own-slip", hours=d("2")),),
        labour_rate=d("20"),
        overhead_rate=d("8"),
    )
    (cost,) = account(quoted(), said).cause_costs
    assert (cost.materials, cost.labour, cost.overhead, cost.amount) == (0, 40, 16, 56)


@settings(max_examples=100, deadline=None)
@given(made=st.lists(jobs(EUR), max_size=4), incurred=st.integers(0, 10**7))
def test_what_a_period_made_is_the_same_by_either_road(made: list[tuple[Quoted, Actual]], incurred: int):
    """Nothing is lost or counted twice: pieces at their own cost, then overhead and losses; or all losses in the pieces."""
    accounts = [account(plan, said) for plan, said in made]
    carried = sum((found.overhead for found in accounts), Decimal(0))
    spent = EUR.from_minor(incurred)
    found = absorption(
        incurred=spent, absorbed=carried, cause_costs=[row for piece in accounts for row in piece.cause_costs]
    )
    own = sum((piece.net - piece.fee - piece.own_cost for piece in accounts), Decimal(0))
    all_in = sum((piece.profit for piece in accounts), Decimal(0))
    assert own + found.difference - found.losses == all_in + carried - spent


def test_under_absorbed_and_even_are_said():
    under = absorption(incurred=d("120"), absorbed=d("100"), cause_costs=())
    assert absorption_sentence(under, EUR).startswith("Overhead was under-absorbed by €20.00: ")
    even = absorption(incurred=d("100"), absorbed=d("100"), cause_costs=())
    assert absorption_sentence(even, EUR).startswith("Overhead came out even: ")
