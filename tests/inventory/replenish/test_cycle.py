"""How long an order lasts, against the square root of textbooks and a walk through the weeks one by one.

Sources: Heizer and Render, Operations Management, ch. 12, Example 3 (1000 a year, 10 an order, 0.50 a year to hold one:
200 at once); Russell and Taylor, Operations Management, "carpet store" (10,000 a year, 150 an order, 0.75 to hold one:
2000 at once, 1500 a year); both with a year of 52 weeks.
"""

from math import sqrt

import numpy as np
import pytest

from inventory.replenish.cycle import STEP, joint_cycle

WEEKS = 52


def steady(per_year: float) -> np.ndarray:
    return np.full(30, per_year / WEEKS)


@pytest.mark.parametrize(("per_year", "order", "hold", "at_once"), [(1000, 10, 0.5, 200), (10_000, 150, 0.75, 2000)])
def test_steady_use_is_bought_as_the_square_root_says(per_year: float, order: float, hold: float, at_once: float):
    found = joint_cycle(
        [steady(per_year)],
        holding_per_week=np.array([hold / WEEKS]),
        order_cost=lambda _: order,
        review_weeks=1,
        seed=1,
    )
    weeks = at_once / per_year * WEEKS
    # Covers are tried in steps, and an order goes out at a review: whole weeks.
    assert weeks / STEP - 1 <= found.cover_weeks <= weeks * STEP + 1
    assert abs(found.weeks - weeks) <= weeks * (STEP - 1) + 1
    assert found.begins == (1.0,)


def test_like_materials_share_an_order_as_one_of_twice_the_holding():
    """√(2 K ÷ Σ h d): two of a kind last 1 ÷ √2 as long as one."""
    cover = [
        joint_cycle(
            [steady(1000)] * many,
            holding_per_week=np.array([0.5 / WEEKS] * many),
            order_cost=lambda _: 40.0,
            review_weeks=1,
            seed=1,
        ).cover_weeks
        for many in (1, 2)
    ]
    assert cover[0] / cover[1] == pytest.approx(sqrt(2), rel=STEP - 1)


def test_an_order_that_costs_nothing_goes_out_at_every_review():
    found = joint_cycle(
        [steady(520)], holding_per_week=np.array([0.01]), order_cost=lambda _: 0.0, review_weeks=2, seed=1
    )
    assert (found.cover_weeks, found.weeks) == (2.0, 2.0)


def test_lumpy_materials_begin_orders_sooner_than_their_cover_and_each_now_and_then():
    """The first of three to run low begins the order: before the mean of each alone, each about as often as the others."""
    lumpy = np.array([0.0, 0.0, 0.0, 4.0])
    found = joint_cycle(
        [lumpy] * 3, holding_per_week=np.array([0.02] * 3), order_cost=lambda _: 20.0, review_weeks=1, seed=2
    )
    assert found.weeks < found.cover_weeks
    assert all(0.2 < share < 0.7 for share in found.begins)
    assert sum(found.begins) >= 1


def test_free_postage_from_a_value_on_is_worth_waiting_for():
    """From eight weeks' goods on nothing is asked: holding eight weeks' use costs less than postage before."""

    def order_cost(weeks: float) -> float:
        return 0.0 if weeks >= 8 else 20.0

    found = joint_cycle([steady(520)], holding_per_week=np.array([0.05]), order_cost=order_cost, review_weeks=1, seed=1)
    assert 8 <= found.weeks <= 8 * STEP + 1
