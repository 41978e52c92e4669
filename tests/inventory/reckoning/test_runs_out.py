"""When stock runs out: cases counted by hand, and against a walk in exact fractions, a day at a time."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.projection import Change, runs_out_on

START = date(2027, 1, 4)


def change(days: int, quantity: int) -> Change:
    return Change(day=START + timedelta(days=days), quantity=quantity, what="")


@pytest.mark.parametrize(
    ("usable", "changes", "per_week", "days"),
    [
        (0, [], 7, 0),  # nothing lies there
        (10, [], 7, 10),  # one a day: the tenth is used on the ninth day
        (10, [change(3, -4)], 7, 10),  # four of what is expected by the third day are known
        (10, [change(3, -8)], 7, 10),  # eight go by the third day: as many as are expected until the seventh
        (10, [change(3, -11)], 7, 3),  # more than lies there
        (10, [change(3, -8), change(6, -3)], 7, 6),  # eleven by the sixth day, where seven are expected
        (10, [change(3, -8), change(20, -9)], 7, 10),
        (10, [change(3, -4), change(5, 20)], 7, 30),
        (10, [change(-2, -11)], 7, 0),  # what was to go before goes today
        (10, [change(2, -11)], 0, 2),  # work alone is short
        (10, [change(2, -10)], 0, None),  # all goes, and nothing is asked for after it
        (10, [change(2, -12), change(2, 2)], 0, None),  # what comes on a day serves the need of the day
        (10, [change(2, -12), change(3, 2)], 0, 2),
        (10, [], 0, None),
        (100, [], 1, None),  # 700 days
    ],
)
def test_cases_by_hand(usable: int, changes: list[Change], per_week: float, days: int | None):
    day = runs_out_on(usable, changes, per_week=per_week, start=START, within_days=365)
    assert day == (None if days is None else START + timedelta(days=days))


@given(
    st.integers(-20, 500),
    st.lists(st.builds(change, st.integers(-3, 60), st.integers(-80, 80)), max_size=8),
    st.integers(0, 200),
)
def test_every_day_before_is_met_and_that_day_is_not(usable: int, changes: list[Change], per_week: int):
    def rest(days: int) -> Fraction:
        """What is left when a day and its use are over."""
        until = START + timedelta(days=days)
        comes = sum(row.quantity for row in changes if row.day <= until and row.quantity > 0)
        needed = -sum(row.quantity for row in changes if row.day <= until and row.quantity < 0)
        return usable + comes - max(Fraction(needed), Fraction(per_week * (days + 1), 7))

    day = runs_out_on(usable, changes, per_week=per_week, start=START, within_days=70)
    last = 70 if day is None else (day - START).days
    assert all(rest(days) >= 0 for days in range(last))
    assert day is None or rest(last) < 0


@given(st.integers(0, 500), st.integers(1, 100), st.integers(0, 300), st.integers(0, 60))
def test_work_that_is_kept_never_makes_it_last_longer(usable: int, per_week: int, kept: int, days: int):
    def last(changes: list[Change]) -> date:
        return runs_out_on(usable, changes, per_week=per_week, start=START, within_days=400) or date.max

    assert last([change(days, -kept)]) <= last([])


@given(st.integers(1, 500), st.integers(1, 100), st.lists(st.integers(0, 6), max_size=12))
def test_work_that_takes_no_more_than_is_expected_changes_nothing(
    usable: int, per_week: int, weeks_left_out: list[int]
):
    """Known a week ahead or not, the same goes: each week's use, known as work of its last day, is no use besides."""
    known = [change(7 * week + 6, -per_week) for week in range(6) if week not in weeks_left_out]

    def day(changes: list[Change]) -> date | None:
        return runs_out_on(usable, changes, per_week=per_week, start=START, within_days=400)

    assert day(known) == day([])
