"""Stock day by day and net requirements against the record of material requirements planning.

Sources: Jacobs and Chase, Operations and Supply Chain Management (arithmetic of the record); Heizer and Render,
Operations Management, ch. 14 (Speaker Kits: gross requirements of ten weeks). What a delivery may serve on its own day:
common practice, no source.
"""

from datetime import date, timedelta
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.projection import Change, Point, first_short, net_requirements, projected

FIRST = date(2027, 3, 1)


def change(days: int, quantity: int, what: str = "") -> Change:
    return Change(day=FIRST + timedelta(days=days), quantity=quantity, what=what)


changes = st.lists(st.builds(change, st.integers(0, 9), st.integers(-500, 500), st.sampled_from("abc")), max_size=12)
periods = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=1, max_size=12)


def test_net_requirements_of_ten_weeks():
    """Heizer and Render, ch. 14, Speaker Kits: 35 on hand cover the first week, the rest is net."""
    gross = [35, 30, 40, 0, 10, 40, 30, 0, 30, 55]
    assert net_requirements(gross, [0] * 10, 35) == (0, 30, 40, 0, 10, 40, 30, 0, 30, 55)


def test_what_is_scheduled_and_left_over_lowers_the_net():
    """The record's equation by hand: 50 on hand; after week 1 20, week 2 45, week 3 5; week 4 lacks 35; week 5 all."""
    assert net_requirements([30, 15, 40, 40, 20], [0, 40, 0, 0, 0], 50) == (0, 0, 0, 35, 20)


def test_a_reserve_is_bought_once_and_kept():
    """By hand: 12 on hand and 5 to be kept; week 1 lacks 3, and from then on each week lacks its own use."""
    assert net_requirements([10, 20, 15], [0, 0, 0], 12, safety=5) == (3, 20, 15)
    assert net_requirements([10, 20, 15], [0, 0, 0], 12) == (0, 18, 15)


def test_gross_and_scheduled_have_the_same_periods():
    with pytest.raises(ValueError, match="shorter"):
        net_requirements([1, 2], [0], 5)


def test_balances_in_the_order_of_days():
    points = projected(10, [change(7, -4, "job Q2"), change(2, -8, "job Q1"), change(5, 20, "order 12")])
    assert points == (
        Point(day=date(2027, 3, 3), balance=2, what="job Q1"),
        Point(day=date(2027, 3, 6), balance=22, what="order 12"),
        Point(day=date(2027, 3, 8), balance=18, what="job Q2"),
    )
    assert first_short(points) is None


def test_a_delivery_serves_a_need_of_its_day():
    points = projected(0, [change(3, -6, "job Q1"), change(3, -1, "job Q2"), change(3, 7, "order 12")])
    assert points == (Point(day=date(2027, 3, 4), balance=0, what="order 12; job Q1; job Q2"),)
    assert first_short(points) is None


def test_a_delivery_a_day_late_leaves_a_shortage():
    points = projected(0, [change(3, -6, "job Q1"), change(4, 6, "order 12"), change(5, -1, "job Q2")])
    assert first_short(points) == Point(day=date(2027, 3, 4), balance=-6, what="job Q1")


def test_nothing_happens():
    assert projected(5, []) == ()
    assert first_short([]) is None


@given(st.integers(0, 1000), changes)
def test_each_balance_is_the_sum_of_all_up_to_its_day(on_hand: int, given_changes: list[Change]):
    points = projected(on_hand, given_changes)
    assert [point.day for point in points] == sorted({of.day for of in given_changes})
    for point in points:
        assert point.balance == on_hand + sum(of.quantity for of in given_changes if of.day <= point.day)
    short = first_short(points)
    assert (short is None) == all(point.balance >= 0 for point in points)
    backwards = projected(on_hand, reversed(given_changes))
    assert [point.balance for point in backwards] == [point.balance for point in points]


@given(periods, st.integers(0, 200), st.integers(0, 50))
def test_nets_are_the_least_that_never_falls_below_the_reserve(rows: list[tuple[int, int]], on_hand: int, safety: int):
    """Closed form: up to any period, the nets add up to the deepest fall below the reserve until then."""
    gross, scheduled = [row[0] for row in rows], [row[1] for row in rows]
    nets = net_requirements(gross, scheduled, on_hand, safety)
    falls = [safety - on_hand + need for need in accumulate(needed - coming for needed, coming in rows)]
    assert list(accumulate(nets)) == [max(0, deepest) for deepest in accumulate(falls, max)]


@given(periods, st.integers(0, 200))
def test_with_the_nets_bought_nothing_falls_short(rows: list[tuple[int, int]], on_hand: int):
    nets = net_requirements([row[0] for row in rows], [row[1] for row in rows], on_hand)
    coming = [change(week, row[1] + net) for week, (row, net) in enumerate(zip(rows, nets, strict=True))]
    needs = [change(week, -row[0]) for week, row in enumerate(rows)]
    assert first_short(projected(on_hand, [*needs, *coming])) is None
