"""Order quantities against textbooks and stockpyl, a general-purpose library.

Sources: Heizer and Render, Operations Management, ch. 12, Examples 3 to 6 and 9 (Sharp; Wohl's Discount Store);
Russell and Taylor, Operations Management ("carpet store"); Snyder and Shen, Fundamentals of Supply Chain Theory, ch. 3,
as coded in stockpyl. Where a book gives holding in money, the price is 1 and the share is that money; the goods then cost the
yearly use itself.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stockpyl.eoq import economic_order_quantity, economic_order_quantity_with_all_units_discounts

from inventory.replenish.economic import EconomicQuantity, economic_quantity

Tiers = list[tuple[int, Decimal]]

WOHL: Tiers = [(1, Decimal("5.00")), (1000, Decimal("4.80")), (2000, Decimal("4.75"))]


def d(text: str) -> Decimal:
    return Decimal(text)


def without_tiers(per_year: int, order_cost: str, holding: str) -> tuple[Decimal, Decimal]:
    """The quantity, and what ordering and holding cost a year."""
    found = economic_quantity(
        per_year=per_year, order_cost=d(order_cost), holding_share=d(holding), tiers=[(1, Decimal(1))]
    )
    return found.quantity, found.yearly_cost - per_year


def test_order_quantity():
    """Heizer and Render, ch. 12, Sharp: 1000 a year, 10 an order, 0.50 to hold: 200 at a time cost 50 + 50."""
    assert without_tiers(1000, "10", "0.50") == (200, 100)


def test_order_quantity_where_demand_rises():
    """Heizer and Render, the same with 1200: 219.0890 (printed 219), cost 109.5445."""
    quantity, cost = without_tiers(1200, "10", "0.50")
    assert (float(quantity), float(cost)) == pytest.approx((219.0890, 109.5445), abs=5e-5)
    assert (float(quantity), float(cost)) == pytest.approx(economic_order_quantity(10, 0.5, 1200), rel=1e-9)


def test_order_quantity_of_cloth():
    """Russell and Taylor, carpet store: 10,000 yd a year, 150 an order, 0.75 a yard: 2000 yd, cost 1500."""
    assert without_tiers(10_000, "150", "0.75") == (2000, 1500)


def test_a_discount_is_worth_a_larger_order():
    """Heizer and Render, ch. 12, Example 9: 1000 at 4.80, goods 24,000 + ordering 245 + holding 480."""
    found = economic_quantity(per_year=5000, order_cost=d("49"), holding_share=d("0.20"), tiers=WOHL)
    assert found == EconomicQuantity(quantity=d("1000"), unit_price=d("4.80"), yearly_cost=d("24725.00"))


@pytest.mark.parametrize(
    ("tiers", "quantity", "cost"),
    [(WOHL[:1], "700", "25700.00"), ([WOHL[1]], "1000", "24725.00"), ([WOHL[2]], "2000", "24822.50")],
)
def test_each_price_by_itself(tiers: Tiers, quantity: str, cost: str):
    """Heizer and Render, ch. 12, Example 9: the three candidates."""
    found = economic_quantity(per_year=5000, order_cost=d("49"), holding_share=d("0.20"), tiers=tiers)
    assert (found.quantity, found.yearly_cost) == (d(quantity), d(cost))


def test_the_largest_tier_may_be_the_cheapest():
    """Snyder and Shen, eqs 3.18 and 3.19."""
    tiers = [(1, d("500")), (200, d("475")), (500, d("450"))]
    found = economic_quantity(per_year=1000, order_cost=d("200"), holding_share=d("0.20"), tiers=tiers)
    assert found == EconomicQuantity(quantity=d("500"), unit_price=d("450"), yearly_cost=d("472900"))


def test_a_discount_on_all_units():
    """Snyder and Shen, ch. 3, discount example: 800 in the last tier, 978.60."""
    tiers = [(1, d("0.75")), (400, d("0.72")), (800, d("0.68"))]
    found = economic_quantity(per_year=1300, order_cost=d("8"), holding_share=d("0.3"), tiers=tiers)
    assert found == EconomicQuantity(quantity=d("800"), unit_price=d("0.68"), yearly_cost=d("978.60"))


def test_no_fewer_than_the_least_that_is_sold():
    found = economic_quantity(per_year=10, order_cost=d("0"), holding_share=d("0.2"), tiers=[(6, d("5"))])
    assert found == EconomicQuantity(quantity=d("6"), unit_price=d("5"), yearly_cost=d("53"))


@pytest.mark.parametrize(
    "wrong",
    [
        {"tiers": []},
        {"tiers": [(5, Decimal(2)), (5, Decimal(1))]},
        {"tiers": [(0, Decimal(2))]},
        {"tiers": [(1, Decimal(0))]},
        {"per_year": 0},
        {"order_cost": Decimal(-1)},
        {"holding_share": Decimal(0)},
    ],
)
def test_arguments_outside_their_limits_are_refused(wrong: dict[str, object]):
    right: dict[str, object] = {"per_year": 5000, "order_cost": d("49"), "holding_share": d("0.2"), "tiers": WOHL}
    with pytest.raises(ValueError, match=r"tier|more than zero"):
        economic_quantity(**{**right, **wrong})  # type: ignore[arg-type]


@st.composite
def price_lists(draw: st.DrawFn, *, is_falling: bool) -> Tiers:
    starts = sorted(draw(st.sets(st.integers(2, 3000), max_size=3)))
    cents = draw(st.lists(st.integers(1, 5000), min_size=len(starts) + 1, max_size=len(starts) + 1, unique=True))
    prices = sorted(cents, reverse=True) if is_falling else cents
    return [(start, Decimal(price) / 100) for start, price in zip([1, *starts], prices, strict=True)]


@given(price_lists(is_falling=True), st.integers(1, 5000), st.integers(100, 20_000), st.integers(5, 40))
def test_falling_prices_cost_what_stockpyl_finds(tiers: Tiers, per_year: int, order_cents: int, percent: int):
    found = economic_quantity(
        per_year=per_year, order_cost=Decimal(order_cents) / 100, holding_share=Decimal(percent) / 100, tiers=tiers
    )
    _, _, cost = economic_order_quantity_with_all_units_discounts(
        order_cents / 100,
        percent / 100,
        per_year,
        [0, *(start for start, _ in tiers[1:])],
        [float(p) for _, p in tiers],
    )
    # stockpyl's first tier has no least quantity; ours sells one at least.
    assert found.quantity == 1 or float(found.yearly_cost) == pytest.approx(cost, rel=1e-9)
    assert float(found.yearly_cost) >= cost * (1 - 1e-9)


@given(price_lists(is_falling=False), st.integers(1, 5000), st.integers(0, 20_000), st.integers(1, 6000))
def test_no_whole_quantity_is_cheaper(tiers: Tiers, per_year: int, order_cents: int, other: int):
    """By trying: whatever the prices do, no other order costs less a year."""
    order_cost, share = Decimal(order_cents) / 100, d("0.2")
    found = economic_quantity(per_year=per_year, order_cost=order_cost, holding_share=share, tiers=tiers)
    price = next(price for start, price in reversed(tiers) if other >= start)
    tried = per_year * price + per_year * order_cost / other + share * price * other / 2
    assert found.yearly_cost <= tried + d("1e-15")
    assert found.unit_price == next(price for start, price in reversed(tiers) if found.quantity >= start)
