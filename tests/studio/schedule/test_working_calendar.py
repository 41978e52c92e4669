"""The working calendar against numpy's business days, which count whole days of a week with holidays; and by hand."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.findings import Refused
from studio.schedule.calendar import WorkingCalendar

MONDAY = date(2027, 1, 4)
WEEK = WorkingCalendar(minutes_by_weekday=(360, 360, 360, 360, 240, 0, 0))

days = st.dates(min_value=date(2026, 12, 1), max_value=date(2027, 3, 31))


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
    ("start", "used", "minutes", "expected"),
    [
        (MONDAY, 0, 0, (MONDAY, 0)),  # nothing to do moves nothing
        (MONDAY, 0, 360, (MONDAY, 360)),  # a day that is just filled is the day on which it ends
        (MONDAY, 0, 361, (date(2027, 1, 5), 1)),
        (MONDAY, 350, 10, (MONDAY, 360)),
        (MONDAY, 500, 1, (date(2027, 1, 5), 1)),  # overtime of today leaves nothing, and takes nothing from tomorrow
        (date(2027, 1, 8), 0, 300, (date(2027, 1, 11), 60)),  # Friday's 240, then Monday
        (date(2027, 1, 9), 0, 5, (date(2027, 1, 11), 5)),  # from a Saturday
    ],
)
def test_minutes_are_added_by_hand(start: date, used: int, minutes: int, expected: tuple[date, int]):
    assert WEEK.add_minutes(start, used, minutes) == expected


@given(week=weeks(), free=st.frozensets(days, max_size=12), start=days, whole_days=st.integers(1, 60))
def test_whole_days_end_where_numpy_counts_business_days(
    week: list[bool], free: frozenset[date], start: date, whole_days: int
):
    calendar = WorkingCalendar(minutes_by_weekday=tuple(50 if on else 0 for on in week), holidays=free)
    expected = np.busday_offset(start, whole_days - 1, roll="forward", weekmask=week, holidays=sorted(free))
    if np.is_busday(start, weekmask=week, holidays=sorted(free)):
        assert calendar.add_minutes(start, 0, 50 * whole_days) == (expected.item(), 50)
        assert calendar.add_minutes(start, 50, 50 * whole_days)[0] > expected.item()
    else:
        assert calendar.add_minutes(start, 0, 50 * whole_days) == (expected.item(), 50)


@given(first=st.integers(0, 4000), second=st.integers(0, 4000), used=st.integers(0, 360))
def test_work_in_two_parts_ends_where_the_whole_does(first: int, second: int, used: int):
    halfway = WEEK.add_minutes(MONDAY, used, first)
    assert WEEK.add_minutes(*halfway, second) == WEEK.add_minutes(MONDAY, used, first + second)


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
        calendar.add_minutes(MONDAY, 0, 1)
    calendar = WorkingCalendar(minutes_by_weekday=every_day, days_off=frozenset(year[:-1]))
    assert calendar.add_minutes(MONDAY, 0, 1) == (year[-1], 1)


def test_negative_minutes_are_no_work():
    with pytest.raises(ValueError, match="zero or more"):
        WEEK.add_minutes(MONDAY, 0, -1)
