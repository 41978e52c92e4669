"""A sitting shared among its operations.

Sources: Hamilton's apportionment, worked by hand; the worked example of largest remainders with the Hare quota that
textbooks on apportionment give: 100,000 votes, 10 seats, six parties.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.labour.sitting import shares

PLANNED = st.lists(st.floats(0, 10_000, allow_subnormal=False), min_size=1, max_size=12)
MINUTES = st.integers(0, 24 * 60)


def test_the_textbook_example_of_largest_remainders():
    """Votes of 47, 16, 15.8, 12, 6.1 and 3.1 thousand; the quota is 10: 4, 1, 1, 1, 0, 0, then the remainders .7, .6, .61."""
    assert shares(10, [47_000, 16_000, 15_800, 12_000, 6_100, 3_100]) == (5, 2, 1, 1, 1, 0)


def test_a_sitting_is_shared_by_plan():
    """80 minutes over 30, 45 and 5.5 planned: 29.81, 44.72, 5.47; floors make 78, the two largest remainders get one more."""
    assert shares(80, [30, 45, 5.5]) == (30, 45, 5)


def test_operations_without_planned_minutes_share_alike_and_take_nothing_beside_one_with():
    assert shares(11, [0, 0, 0]) == (4, 4, 3)
    assert shares(11, [0, 2, 0]) == (0, 11, 0)


def test_one_operation_takes_all_of_it():
    assert shares(47, [12.3]) == shares(47, [0]) == (47,)


@given(MINUTES, PLANNED)
def test_shares_add_up_exactly(minutes: int, planned: list[float]):
    assert sum(shares(minutes, planned)) == minutes


@given(MINUTES, PLANNED)
def test_a_share_is_within_a_minute_of_its_proportion_and_the_same_each_time(minutes: int, planned: list[float]):
    shared = shares(minutes, planned)
    assert shares(minutes, tuple(planned)) == shared
    weights = planned if any(planned) else [1.0] * len(planned)
    for share, weight in zip(shared, weights, strict=True):
        assert share == pytest.approx(minutes * weight / sum(weights), abs=1.000001)


@given(MINUTES, PLANNED)
def test_who_was_planned_longer_never_gets_less(minutes: int, planned: list[float]):
    by_plan = sorted(zip(planned, shares(minutes, planned), strict=True), reverse=True)
    assert [share for _, share in by_plan] == sorted((share for _, share in by_plan), reverse=True)


@pytest.mark.parametrize("planned", [[], [5.0, -1.0]])
def test_no_operation_or_a_plan_below_zero_is_refused(planned: list[float]):
    with pytest.raises(ValueError, match="zero or more"):
        shares(10, planned)
