"""The plan against a calendar that is worked through minute by minute, and by hand."""

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_calendar import finish_days, finished_minute_by_minute

from inventory.ground.findings import Refused
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.drawn_weeks import draw_weeks
from studio.schedule.plan import Stage, Work, days_to_finish
from studio.schedule.worked import WorkedShare

MONDAY = date(2027, 1, 4)
WEEK = WorkingCalendar(minutes_by_weekday=(360, 360, 360, 360, 240, 0, 0))


def day(ahead: int) -> date:
    return MONDAY + timedelta(days=ahead)


def work(job: str, *stages: Stage) -> Work:
    return Work(job=job, stages=stages)


def finished(*works: Work, calendar: WorkingCalendar = WEEK) -> dict[str, date]:
    return dict(zip((work.job for work in works), finish_days(works, calendar, MONDAY), strict=True))


def test_jobs_follow_each_other():
    # 500 + 700 = 1200 minutes: three days of 360 are 1080, the rest on Thursday.
    found = finished(work("A", Stage(minutes=500)), work("B", Stage(minutes=300), Stage(minutes=400)))
    assert found == {"A": day(1), "B": day(3)}


def test_a_job_that_waits_for_its_cloth_leaves_its_time_to_the_next():
    waiting = work("A", Stage(minutes=100), Stage(minutes=100, earliest=day(2)))
    # A uses 100 of Monday; B has 260 there, 360 on Tuesday; on Wednesday A comes first again.
    assert finished(waiting, work("B", Stage(minutes=620))) == {"A": day(2), "B": day(1)}
    assert finished(waiting, work("B", Stage(minutes=881))) == {"A": day(2), "B": day(3)}


def test_a_fitting_takes_its_minutes_from_the_first_job_and_work_on_the_piece_goes_on_the_day_after():
    fitted = work("B", Stage(minutes=105, fixed_day=day(1)), Stage(minutes=1))
    # Tuesday has 255 minutes left for A, which needs 360 + 255 to be done on Tuesday.
    assert finished(work("A", Stage(minutes=615)), fitted) == {"A": day(1), "B": day(2)}
    assert finished(work("A", Stage(minutes=616)), fitted) == {"A": day(2), "B": day(2)}


def test_a_piece_that_is_not_ready_is_fitted_on_the_first_working_day_after_it_is():
    fitting = Stage(minutes=30, fixed_day=day(1))
    assert finished(work("A", Stage(minutes=360), fitting))["A"] == day(1)  # ready on Monday evening
    assert finished(work("A", Stage(minutes=361), fitting))["A"] == day(2)
    assert finished(work("A", Stage(minutes=360 * 4 + 240), fitting))["A"] == day(7)  # Friday evening, so Monday


def test_a_fitting_is_held_on_its_day_where_the_studio_is_closed_and_where_the_day_is_too_short():
    saturday = Stage(minutes=60, fixed_day=day(5))
    assert finished(work("A", saturday))["A"] == day(5)
    long_day = Stage(minutes=500, fixed_day=day(0))
    assert finished(work("A", long_day), work("B", Stage(minutes=1))) == {"A": day(0), "B": day(1)}


def test_a_fitting_that_is_past_is_held_at_once():
    assert finished(work("A", Stage(minutes=60, fixed_day=day(-9))))["A"] == day(0)


def test_a_job_with_nothing_left_is_finished_and_no_jobs_have_no_days():
    assert finished(work("A")) == {"A": MONDAY}
    assert finished() == {}


@st.composite
def stages(draw: st.DrawFn) -> Stage:
    kind = draw(st.sampled_from(["bench", "bench", "waiting", "fitting"]))
    ahead = draw(st.integers(-3, 25))
    return Stage(
        minutes=draw(st.integers(1, 25)),
        earliest=day(ahead) if kind == "waiting" else None,
        fixed_day=day(ahead) if kind == "fitting" else None,
    )


@st.composite
def books(draw: st.DrawFn) -> list[Work]:
    each = draw(st.lists(st.lists(stages(), max_size=5), min_size=1, max_size=6))
    return [work(f"J{number}", *parts) for number, parts in enumerate(each)]


@st.composite
def calendars(draw: st.DrawFn) -> tuple[WorkingCalendar, Callable[[date], int]]:
    """A calendar of short days, and the same told by a plain function."""
    week = draw(st.lists(st.integers(0, 12), min_size=7, max_size=7))
    week[draw(st.integers(0, 6))] = draw(st.integers(1, 12))
    off = {day(ahead) for ahead in draw(st.sets(st.integers(0, 30), max_size=8))}
    feasts = {day(ahead) for ahead in draw(st.sets(st.integers(0, 30), max_size=4))}

    def minutes_on(when: date) -> int:
        return 0 if when in off | feasts else week[when.isoweekday() - 1]

    calendar = WorkingCalendar(minutes_by_weekday=tuple(week), days_off=frozenset(off), holidays=frozenset(feasts))
    return calendar, minutes_on


@settings(max_examples=300, deadline=None)
@given(works=books(), calendar=calendars(), ahead=st.integers(0, 6))
def test_every_plan_ends_as_it_does_minute_by_minute(
    works: list[Work], calendar: tuple[WorkingCalendar, Callable[[date], int]], ahead: int
):
    assert finish_days(works, calendar[0], day(ahead)) == finished_minute_by_minute(works, calendar[1], day(ahead))


@st.composite
def shares(draw: st.DrawFn) -> WorkedShare:
    """Weeks with lost days and overtime, and mostly full ones, so that every walk comes to an end."""
    each = draw(
        st.lists(st.lists(st.sampled_from([0.0, 0.4, 1.0, 1.6]), min_size=7, max_size=7), min_size=1, max_size=4)
    )
    weeks = [*(tuple(week) for week in each), (1.0,) * 7]
    weights = (*(1.0,) * len(each), 30.0)
    return WorkedShare(weeks=tuple(weeks), week_shares=(1.0,) * len(weeks), weights=weights, observed=0)


@settings(max_examples=100, deadline=None)
@given(works=books(), calendar=calendars(), share=shares(), ahead=st.integers(0, 6))
def test_each_walk_of_weeks_that_go_otherwise_ends_as_it_does_minute_by_minute(
    works: list[Work], calendar: tuple[WorkingCalendar, Callable[[date], int]], share: WorkedShare, ahead: int
):
    start, draws = day(ahead), 3
    weeks = draw_weeks(share, draws, start, seed=4)
    planned = [np.tile([stage.minutes for stage in each.stages], (draws, 1)).astype(np.int64) for each in works]
    offsets = days_to_finish(works, planned, calendar[0], weeks, start)
    for walk in range(draws):

        def minutes_on(when: date, walk: int = walk) -> int:
            return int(weeks.minutes_on(when, calendar[1](when))[walk])

        expected = finished_minute_by_minute(works, minutes_on, start)
        assert [start + timedelta(days=int(offset)) for offset in offsets[walk]] == expected


def test_a_day_far_away_and_a_year_without_work_are_refused():
    with pytest.raises(Refused, match="ten years from the start"):
        finished(work("A", Stage(minutes=1, earliest=date(2099, 1, 1))))
    closed = WorkingCalendar(minutes_by_weekday=(60,) * 7, holidays=frozenset(day(ahead) for ahead in range(400)))
    with pytest.raises(Refused, match="has no working day"):
        finished(work("A", Stage(minutes=1)), calendar=closed)


def test_a_stage_of_no_minutes_and_a_fitting_that_waits_are_slips():
    with pytest.raises(ValueError, match="at least a minute"):
        Stage(minutes=0)
    with pytest.raises(ValueError, match="waits for nothing"):
        Stage(minutes=1, earliest=MONDAY, fixed_day=MONDAY)
