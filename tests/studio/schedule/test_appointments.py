"""What speaks against an appointment, by hand; whether two overlap, against intervals of a general-purpose library."""

from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.schedule.appointments import Appointment, doubts
from studio.schedule.calendar import WorkingCalendar

MONDAY = date(2027, 1, 4)
WEEK = WorkingCalendar(minutes_by_weekday=(360, 360, 360, 360, 360, 0, 0), days_off=frozenset({date(2027, 1, 7)}))


def appointment(at: datetime, minutes: int = 60) -> Appointment:
    return Appointment(name="Toile fitting of Q3", at=at, minutes=minutes)


def moment(day: int, hour: int = 11, minute: int = 0) -> datetime:
    return datetime(2027, 1, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (5, []),
        (4, []),
        (1, ["1 January 2027 is past."]),
        (7, ["7 January 2027 is a day off."]),
        (9, ["Saturdays have no hours at the table."]),
        (3, ["3 January 2027 is past.", "Sundays have no hours at the table."]),
    ],
)
def test_a_day_that_is_past_off_or_free_is_asked_about(day: int, said: list[str]):
    assert [found.message for found in doubts(appointment(moment(day)), [], WEEK, today=MONDAY)] == said


def test_another_one_at_the_time_is_named():
    other = appointment(moment(5, 10, 30), 45)
    (found,) = doubts(appointment(moment(5)), [other, appointment(moment(6))], WEEK, today=MONDAY)
    assert found.message == "Toile fitting of Q3 is planned for 10:30 on that day and takes 45 min."


@given(first=st.integers(0, 300), minutes=st.integers(1, 120), second=st.integers(0, 300), longer=st.integers(1, 120))
def test_two_overlap_as_half_open_intervals_do(first: int, minutes: int, second: int, longer: int):
    start = moment(5, 9)
    wanted = appointment(start + timedelta(minutes=first), minutes)
    other = appointment(start + timedelta(minutes=second), longer)
    expected = pd.Interval(first, first + minutes, closed="left").overlaps(
        pd.Interval(second, second + longer, closed="left")
    )
    assert bool(doubts(wanted, [other], WEEK, today=MONDAY)) == expected
