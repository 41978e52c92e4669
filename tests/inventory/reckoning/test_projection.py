"""Stock day by day against the record of material requirements planning.

Source: Jacobs and Chase, Operations and Supply Chain Management (arithmetic of the record). What a delivery may serve on
its own day: common practice, no source.
"""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.projection import Change, Point, projected

FIRST = date(2027, 3, 1)


def change(days: int, quantity: int, what: str = "") -> Change:
    return Change(day=FIRST + timedelta(days=days), quantity=quantity, what=what)


changes = st.lists(st.builds(change, st.integers(0, 9), st.integers(-500, 500), st.sampled_from("abc")), max_size=12)


def test_balances_in_the_order_of_days():
    points = projected(10, [change(7, -4, "job Q2"), change(2, -8, "job Q1"), change(5, 20, "order 12")])
    assert points == (
        Point(day=date(2027, 3, 3), balance=2, what="job Q1"),
        Point(day=date(2027, 3, 6), balance=22, what="order 12"),
        Point(day=date(2027, 3, 8), balance=18, what="job Q2"),
    )


def test_a_delivery_serves_a_need_of_its_day():
    points = projected(0, [change(3, -6, "job Q1"), change(3, -1, "job Q2"), change(3, 7, "order 12")])
    assert points == (Point(day=date(2027, 3, 4), balance=0, what="order 12; job Q1; job Q2"),)


def test_a_delivery_a_day_late_leaves_a_shortage():
    points = projected(0, [change(3, -6, "job Q1"), change(4, 6, "order 12"), change(5, -1, "job Q2")])
    assert points == (
        Point(day=date(2027, 3, 4), balance=-6, what="job Q1"),
        Point(day=date(2027, 3, 5), balance=0, what="order 12"),
        Point(day=date(2027, 3, 6), balance=-1, what="job Q2"),
    )


def test_nothing_happens():
    assert projected(5, []) == ()


@given(st.integers(0, 1000), changes)
def test_each_balance_is_the_sum_of_all_up_to_its_day(on_hand: int, given_changes: list[Change]):
    points = projected(on_hand, given_changes)
    assert [point.day for point in points] == sorted({of.day for of in given_changes})
    for point in points:
        assert point.balance == on_hand + sum(of.quantity for of in given_changes if of.day <= point.day)
    backwards = projected(on_hand, reversed(given_changes))
    assert [point.balance for point in backwards] == [point.balance for point in points]
