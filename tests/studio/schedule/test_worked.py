"""The worked share: which weeks tell of it, what they say, and weeks drawn from them.

Sources: the Dirichlet distribution's means and variances (Johnson, Kotz and Balakrishnan, Continuous Multivariate
Distributions, ch. 49) for what is drawn; the rest is counted by hand.
"""

from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.labour.spread import Spread
from studio.defaults import studio_defaults
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.drawn_weeks import draw_weeks
from studio.schedule.plan import Stage, Work, days_to_finish
from studio.schedule.promise import promise
from studio.schedule.worked import ALL_WORKED, OpenSpan, WorkedShare, WorkedWeek, worked_share, worked_weeks

MONDAY = date(2027, 1, 4)
WEEK = WorkingCalendar(minutes_by_weekday=(100, 100, 100, 100, 100, 0, 0))
ALWAYS: OpenSpan = (MONDAY - timedelta(days=100), None)
ASSUMED = studio_defaults().calendar


def day(week: int, weekday: int) -> date:
    return MONDAY + timedelta(days=7 * week + weekday)


def found(
    logged: Mapping[date, int],
    *,
    weeks: int,
    spans: tuple[OpenSpan, ...] = (ALWAYS,),
    off: frozenset[date] = frozenset(),
) -> dict[int, float]:
    """The share of each week that tells, by its number, asked on the Monday after so many weeks."""
    seen = worked_weeks(usual=WEEK.minutes_on, days_off=off, logged=logged, open_spans=spans, today=day(weeks, 0))
    return {(week.monday - MONDAY).days // 7: round(week.share, 6) for week in seen}


def each_day(minutes: int, weeks: range) -> dict[date, int]:
    return {day(week, weekday): minutes for week in weeks for weekday in range(5)}


def test_shares_are_logged_minutes_for_each_planned_one_overtime_too():
    logged = each_day(85, range(2)) | {day(1, 5): 175}
    assert found(logged, weeks=2) == {0: 0.85, 1: 1.2}


def test_a_log_that_begins_within_a_week_and_a_week_that_runs_tell_nothing():
    logged = each_day(80, range(3))
    del logged[day(0, 0)]
    assert found(logged, weeks=3) == {1: 0.8, 2: 0.8}
    seen = worked_weeks(
        usual=WEEK.minutes_on, days_off=frozenset(), logged=logged, open_spans=(ALWAYS,), today=day(2, 6)
    )
    assert [week.monday for week in seen] == [day(1, 0)]


def test_days_off_that_were_known_are_not_planned_and_a_week_mostly_off_tells_nothing():
    logged = each_day(90, range(3))
    two_days = frozenset({day(1, 0), day(1, 1)})
    for off in two_days:
        del logged[off]
    assert found(logged, weeks=3, off=two_days) == {0: 0.9, 1: 0.9, 2: 0.9}
    assert found(logged, weeks=3) == {0: 0.9, 1: 0.54, 2: 0.9}
    mostly = frozenset(day(1, weekday) for weekday in range(3))
    assert found(logged, weeks=3, off=mostly) == {0: 0.9, 2: 0.9}


def test_a_week_without_open_work_on_some_day_tells_nothing():
    logged = each_day(90, range(4))
    # Done on Wednesday of week 1; the next was accepted on that Thursday, or was there before.
    first: OpenSpan = (day(-1, 0), day(1, 2))
    assert found(logged, weeks=4, spans=(first, (day(1, 3), None))) == {0: 0.9, 2: 0.9, 3: 0.9}
    assert found(logged, weeks=4, spans=(first, (day(1, 1), None))) == {0: 0.9, 1: 0.9, 2: 0.9, 3: 0.9}
    assert found(logged, weeks=4, spans=()) == {}


def test_weeks_of_sickness_count_as_lost_and_a_log_that_was_not_kept_does_not():
    most = ASSUMED.most_lost_weeks
    logged = each_day(100, range(2)) | each_day(100, range(2 + most, 4 + most))
    assert found(logged, weeks=4 + most) == {week: float(not 2 <= week < 2 + most) for week in range(4 + most)}
    logged = each_day(100, range(2)) | each_day(100, range(3 + most, 5 + most))
    assert sorted(found(logged, weeks=5 + most)) == [0, 1, 3 + most, 4 + most]
    # After the last minute nothing is known: it may be that nobody writes down any more.
    assert sorted(found(each_day(100, range(2)), weeks=4)) == [0, 1]
    assert found({}, weeks=4) == {}


@given(
    planned=st.lists(st.integers(0, 600), min_size=7, max_size=7).filter(any),
    logged=st.lists(st.integers(0, 900), min_size=7, max_size=7),
)
def test_the_shares_of_days_make_up_the_minutes_of_the_week(planned: list[int], logged: list[int]):
    week = WorkedWeek(monday=MONDAY, planned_min=tuple(planned), logged_min=tuple(logged))
    again = sum(share * minutes for share, minutes in zip(week.day_shares, planned, strict=True))
    assert again == pytest.approx(sum(logged))
    assert min(week.day_shares) >= 0


def test_default_weeks_fade_as_weeks_come_in():
    def weeks(count: int) -> list[WorkedWeek]:
        return [
            WorkedWeek(monday=day(number, 0), planned_min=(100,) * 5 + (0, 0), logged_min=(50,) * 5 + (0, 0))
            for number in range(count)
        ]

    known = [worked_share(weeks(count)) for count in (0, 1, 3, 10, 30)]
    assert [share.observed for share in known] == [0, 1, 3, 10, 30]
    # By hand: the default weeks weigh 6 and half as much after every five weeks, ten weeks of a half weigh ten.
    assert [share.default_part for share in known] == pytest.approx(
        [6 * 0.5 ** (count / 5) / (6 * 0.5 ** (count / 5) + count) for count in (0, 1, 3, 10, 30)]
    )
    assert known[0].mean == pytest.approx(0.85)
    assert known[3].mean == pytest.approx((1.5 * 0.85 + 10 * 0.5) / 11.5)
    assert known[4].mean == pytest.approx(0.5, abs=0.002)


def test_drawn_weeks_come_as_often_as_they_weigh_and_differ_between_walks_as_little_is_known():
    """A week of weight w among W comes w/W of the time; its frequency within a walk has the variance of a Dirichlet
    share, p(1 − p)/(W + 1), and that of 53 draws of it."""
    draws, drawn = 4000, 53
    for weights in ((3.0, 1.0), (60.0, 20.0)):
        share = WorkedShare(weeks=((1.0,) * 7, (0.0,) * 7), week_shares=(1.0, 0.0), weights=weights, observed=0)
        weeks = draw_weeks(share, draws, MONDAY, seed=3)
        lost = np.array([weeks.minutes_on(day(week, 0), 100) == 0 for week in range(drawn)]).mean(axis=0)
        total = sum(weights)
        between = 0.25 * 0.75 / (total + 1)
        within = 0.25 * 0.75 * (1 - 1 / (total + 1)) / drawn
        assert lost.mean() == pytest.approx(0.25, abs=0.015)
        assert lost.var() == pytest.approx(between + within, rel=0.1)


def test_the_minutes_of_a_day_are_its_share_of_the_drawn_week_and_a_day_at_most():
    share = WorkedShare(weeks=((0.5, 1.2, 0, 1, 1, 9.0, 1),), week_shares=(1.0,), weights=(1.0,), observed=1)
    weeks = draw_weeks(share, 3, day(0, 2), seed=1)
    assert [weeks.minutes_on(day(5, weekday), 360).tolist() for weekday in (0, 1, 2, 5)] == [
        [180] * 3,
        [432] * 3,
        [0] * 3,
        [1440] * 3,
    ]


def test_a_lost_day_is_lost_in_its_walk_alone_and_a_fitting_that_waits_for_the_piece_is_not_held_on_it():
    """The first week of a walk is all worked, or its Monday and Tuesday are lost."""
    share = WorkedShare(
        weeks=((1.0,) * 7, (0.0, 0.0, *(1.0,) * 5)), week_shares=(1.0, 0.6), weights=(1.0, 1.0), observed=0
    )
    weeks = draw_weeks(share, 200, MONDAY, seed=5)
    is_lost = weeks.minutes_on(MONDAY, 100) == 0
    assert 60 < is_lost.sum() < 140
    stages = (Stage(minutes=100), Stage(minutes=10, fixed_day=MONDAY - timedelta(days=3)))
    minutes = np.tile(np.array([[100, 10]]), (200, 1))
    (offsets,) = days_to_finish([Work(job="A", stages=stages)], [minutes], WEEK, weeks, MONDAY).T
    # Piece on Monday and fitting on Tuesday; else piece on Wednesday and fitting on Thursday.
    assert offsets.tolist() == [3 if lost else 1 for lost in is_lost]


def test_where_all_is_worked_every_walk_has_the_minutes_of_the_calendar():
    weeks = draw_weeks(ALL_WORKED, 4, MONDAY, seed=2)
    assert all(weeks.minutes_on(day(week, 1), 345).tolist() == [345] * 4 for week in range(60))


def test_a_workroom_that_lost_most_weeks_still_has_its_days():
    worked, lost = (
        WorkedWeek(monday=MONDAY, planned_min=(100,) * 5 + (0, 0), logged_min=(minutes,) * 5 + (0, 0))
        for minutes in (100, 0)
    )
    known = worked_share([worked, lost, lost, lost, lost] * 3)
    new = Work(job="new", stages=(Stage(minutes=500),))
    days = promise(
        new, (), WEEK, MONDAY, spread={"new": Spread(below=0.0, above=0.0)}, worked=known, seed=1, draws=2000
    )
    weeks = draw_weeks(known, 2000, MONDAY, seed=1)
    never = ~np.array(known.week_shares)[weeks.drawn].any(axis=0)
    assert 0 < never.mean() < 0.05
    assert MONDAY + timedelta(weeks=3) < days.day_50 < days.day_90 < MONDAY + timedelta(weeks=40)
