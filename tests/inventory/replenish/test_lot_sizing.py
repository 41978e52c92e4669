"""Lot sizing as a special case of the joint order: a period is a supplier whose postage is the set-up, each period's need
a material of its own, and what is carried from period s to period t costs its holding in the price.

Sources: Wagner and Whitin, Management Science 5(1), 1958, numerical example (optimum 864); Snyder and Shen, Fundamentals of
Supply Chain Theory, Example 3.9 (1380); Nahmias, Production and Operations Analysis, lot-sizing chapter (310); Heizer and Render, Operations Management, ch. 14, lot-sizing examples (Wagner–Whitin 455, inputs from memory);
every choice of periods to order in, tried one by one, for random cases.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_replenish import checked

from inventory.ground.codec import plain
from inventory.ground.money import currency_of
from inventory.replenish import make_plan, printed_plan
from inventory.replenish.problem import Demand, Offer, Plan, Problem, Stocked, Supplier, Tier

START = date(2027, 1, 4)
FEW = st.integers(0, 20)


def planned(demand: Sequence[int], setup: Sequence[int], holding: int) -> Plan:
    """The joint order that sizes the lots of dated needs."""
    periods = range(len(demand))
    problem = Problem(
        currency=currency_of("EUR"),
        as_of=START,
        holding_share_per_year=Decimal(0),
        surplus_days=Decimal(180),
        materials=tuple(
            Stocked(code=f"need {t}", unit="each", on_hand=Decimal(0), safety=Decimal(0), unit_value=Decimal(1))
            for t in periods
        ),
        needs=tuple(
            Demand(material=f"need {t}", quantity=Decimal(demand[t]), day=START + timedelta(days=t), job="")
            for t in periods
        ),
        open_orders=(),
        offers=tuple(
            Offer(
                supplier=f"period {s:02d}",
                material=f"need {t}",
                pack=Decimal(1),
                tiers=(Tier(from_packs=1, price=Decimal(holding * (t - s))),),
            )
            for s in periods
            for t in periods
            if s <= t
        ),
        suppliers=tuple(Supplier(code=f"period {s:02d}", lead_days=s, postage=Decimal(setup[s])) for s in periods),
    )
    plan = make_plan(problem)
    checked(problem, plain(printed_plan(plan)))
    assert plan.is_optimal
    return plan


def lots(plan: Plan, periods: int) -> list[int]:
    """What is ordered in each period."""
    ordered: dict[str, int] = defaultdict(int)
    for order in plan.orders:
        ordered[order.supplier.code] += sum(line.packs for line in order.lines)
    return [ordered[f"period {s:02d}"] for s in range(periods)]


def test_wagner_and_whitins_own_example():
    demand = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    setup = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    plan = planned(demand, setup, 1)
    assert plan.total == 864
    assert lots(plan, 12) == [98, 0, 97, 0, 121, 0, 0, 112, 0, 67, 135, 0]


@pytest.mark.parametrize(
    ("demand", "setup", "holding", "cost", "ordered"),
    [
        ([90, 120, 80, 70], 500, 2, 1380, [210, 0, 150, 0]),
        ([18, 30, 42, 5, 20], 80, 2, 310, None),  # two plans cost the same
        ([0, 30, 40, 0, 10, 40, 30, 0, 30, 55], 100, 1, 455, None),
    ],
)
def test_textbook_lots(demand: list[int], setup: int, holding: int, cost: int, ordered: list[int] | None):
    plan = planned(demand, [setup] * len(demand), holding)
    assert plan.total == cost
    assert ordered is None or lots(plan, len(demand)) == ordered


def least_cost(demand: Sequence[int], setup: Sequence[int], holding: int) -> int:
    """The least over all choices of periods to order in, each need ordered in the last of them that is not after it."""
    periods = range(len(demand))
    costs = []
    for ordered in (set(chosen) for count in range(len(demand) + 1) for chosen in combinations(periods, count)):
        needed = [t for t in periods if demand[t]]
        if all(any(s <= t for s in ordered) for t in needed):
            kept = sum(holding * demand[t] * (t - max(s for s in ordered if s <= t)) for t in needed)
            costs.append(sum(setup[s] for s in ordered) + kept)
    return min(costs)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(FEW, st.integers(1, 60)), min_size=2, max_size=6), st.integers(1, 4))
def test_random_lots_cost_the_least_of_all_choices(rows: list[tuple[int, int]], holding: int):
    demand, setup = [need for need, _ in rows], [cost for _, cost in rows]
    assert planned(demand, setup, holding).total == least_cost(demand, setup, holding)
