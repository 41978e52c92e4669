"""The working calendar against numpy's business days, which count whole days of a week with holidays; and by hand."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support_calendar import finish_days

from inventory.ground.findings import Refused
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.plan import Stage, Work

MONDAY = date(2027, 1, 4)
WEEK = WorkingCalendar(minutes_by_weekday=(360, 360, 360, 360, 240, 0, 0))

days = st.dates(min_value=date(2026, 12, 1), max_value=date(2027, 3, 31))


def bench(minutes: int) -> Work:
    return Work(job="A", stages=(Stage(minutes=minutes),))


@st.composite
def weeks(draw: st.DrawFn) -> list[bool]:
    week = draw(st.lists(st.booleans(), min_size=7, max_size=7))
    week[draw(st.integers(0, 6))] = True
    return week


def test_each_weekday_has_its_own_minutes_and_a_free_day_has_none():
    calendar = WorkingCalendar(
        minutes_by_weekday=(360, 300, 0, 360, 240, 60, 0),
        days_off=frozenset({MONDAY}),
        holidays=frozenset({date(2027, 1, 5)}),
    )
    minutes = [calendar.minutes_on(MONDAY + timedelta(days=ahead)) for ahead in range(9)]
    assert minutes == [0, 0, 0, 360, 240, 60, 0, 360, 300]


@pytest.mark.parametrize(
    ("start", "minutes", "expected"),
    [
        (MONDAY, 360, MONDAY),  # a day that is just filled is the day on which it ends
        (MONDAY, 361, date(2027, 1, 5)),
        (date(2027, 1, 8), 300, date(2027, 1, 11)),  # Friday's 240, then Monday
        (date(2027, 1, 9), 5, date(2027, 1, 11)),  # from a Saturday
    ],
)
def test_minutes_are_added_by_hand(start: date, minutes: int, expected: date):
    assert finish_days([bench(minutes)], WEEK, start) == [expected]


@given(week=weeks(), free=st.frozensets(days, max_size=12), start=days, whole_days=st.integers(1, 60))
def test_whole_days_end_where_numpy_counts_business_days(
    week: list[bool], free: frozenset[date], start: date, whole_days: int
):
    calendar = WorkingCalendar(minutes_by_weekday=tuple(50 if on else 0 for on in week), holidays=free)
    expected = np.busday_offset(start, whole_days - 1, roll="forward", weekmask=week, holidays=sorted(free))
    assert finish_days([bench(50 * whole_days)], calendar, start) == [expected.item()]


@given(first=st.integers(1, 4000), second=st.integers(1, 4000))
def test_work_in_two_parts_ends_where_the_whole_does(first: int, second: int):
    _, end = finish_days([bench(first), bench(second)], WEEK, MONDAY)
    assert [end] == finish_days([bench(first + second)], WEEK, MONDAY)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        ((0,) * 7, "No weekday has any working time"),
        ((60,) * 6, "said for 6 days; a week has 7"),
        ((1441, 0, 0, 0, 0, 0, 0), "A day of 1441 minutes is not possible"),
        ((-1, 60, 0, 0, 0, 0, 0), "A day of -1 minutes is not possible"),
    ],
)
def test_a_week_that_cannot_be_is_refused(minutes: tuple[int, ...], words: str):
    with pytest.raises(Refused, match=words):
        WorkingCalendar(minutes_by_weekday=minutes)


def test_a_year_of_days_off_is_refused_and_a_day_less_is_not():
    year = [MONDAY + timedelta(days=ahead) for ahead in range(366)]
    every_day = (60,) * 7
    calendar = WorkingCalendar(minutes_by_weekday=every_day, days_off=frozenset(year))
    with pytest.raises(Refused, match="has no working day"):
        finish_days([bench(1)], calendar, MONDAY)
    calendar = WorkingCalendar(minutes_by_weekday=every_day, days_off=frozenset(year[:-1]))
    assert finish_days([bench(1)], calendar, MONDAY) == [year[-1]]
