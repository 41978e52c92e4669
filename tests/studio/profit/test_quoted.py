"""A quotation's document read back: its own identities are the check (cost + profit + fee = net)."""

from dataclasses import replace

import pytest
from support_commissions import commission
from support_profit import EUR, actual, bridge_of, d

from inventory.ground.money import currency_of
from quotes.commission.quote import quote_commission
from quotes.pricing.costing import Rates
from quotes.seal.sealing import sealed_quotation
from studio.profit.account import account
from studio.profit.piece import (
    Actual,
    Quoted,
    UsedMaterial,
    WorkedOperation,
)
from studio.profit.quoted import quoted_from


@pytest.mark.parametrize("option", [0, 1, 2])
def test_a_real_quote_is_read_back_to_its_own_profit(option: int):
    """The quotation's own identities: cost + profit + fee = net; groups are the sums of their lines."""
    asked = commission()
    offered = sealed_quotation(quote_commission(asked)).options[option]
    plan = quoted_from(offered, currency_of("EUR"), asked.rates)
    assert plan.profit == offered.profit
    assert sum(row.amount for row in plan.materials) == offered.materials
    assert sum(row.amount for row in plan.operations) == offered.labour
    by_code = {row.code: row for row in plan.materials}
    assert len(by_code) == len(plan.materials)
    # Cloth and bias square of one satin are one material on the shelf.
    lines = [line for line in offered.takeoff.lines if line.material == "satin-bottle"]
    assert by_code["satin-bottle"].quantity == sum(line.quantity for line in lines)


def test_a_quote_that_does_not_add_up_is_refused():
    asked = commission()
    offered = sealed_quotation(quote_commission(asked)).options[0]
    with pytest.raises(ValueError, match="its lines leave"):
        quoted_from(replace(offered, profit=d("0.00")), EUR, asked.rates)


def test_a_real_quote_made_exactly_as_planned_costs_what_was_quoted():
    asked = commission()
    plan = quoted_from(sealed_quotation(quote_commission(asked)).options[0], EUR, asked.rates)
    lines = bridge_of(account(plan, as_planned(plan, asked.rates)))
    assert not [code for code in lines if code.startswith(("material", "fee", "invoice", "extra"))]
    # Hours stand in the quote to a ten-thousandth: in 40 operations at 20 an hour that is four cents at most.
    assert abs(sum(amount for code, amount in lines.items() if code != "contingency")) <= d("0.08")


def as_planned(plan: Quoted, rates: Rates) -> Actual:
    return actual(
        net=plan.net,
        fee=plan.fee,
        materials=tuple(
            UsedMaterial(code=row.code, what=row.what, quantity=row.quantity, unit=row.unit, value=row.amount)
            for row in plan.materials
        ),
        hours=tuple(WorkedOperation(code=row.code, name=row.name, hours=row.hours) for row in plan.operations),
        labour_rate=rates.labour_per_hour,
        overhead_rate=rates.overhead_per_hour,
        extras=plan.extras,
    )
