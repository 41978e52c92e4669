"""Forecasts against papers worked by hand and a plain loop.

Sources: Croston 1972; Syntetos and Boylan 2005; Syntetos, Boylan and Croston 2005; ISO 8601.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.replenish.forecast import (
    DemandClass,
    classify,
    croston,
    syntetos_boylan,
    weekly,
)

SELDOM = (0, 0, 4, 0, 0, 0, 5, 0, 3, 0, 0, 6)

histories = st.lists(st.integers(0, 5000), min_size=1, max_size=30)


def test_croston_step_by_step():
    """Croston 1972, worked by hand: sizes 4, 4.1, 3.99, 4.191 and intervals 3, 3.1, 2.99, 2.991."""
    steps = [croston(SELDOM[:end], 0.1) for end in (3, 7, 9, 12)]
    assert steps == pytest.approx([4 / 3, 4.1 / 3.1, 3.99 / 2.99, 1.4012036], abs=1e-7)
    assert croston([*SELDOM, 0, 0], 0.1) == steps[-1]


def test_syntetos_and_boylan_take_the_bias_away():
    """Syntetos and Boylan 2005: times (1 − α / 2)."""
    assert syntetos_boylan(SELDOM, 0.1) == pytest.approx(1.3311434, abs=1e-7)


def test_forecast_without_demand_is_nothing():
    assert croston([0, 0, 0], 0.1) == syntetos_boylan([], 0.1) == 0


@pytest.mark.parametrize("alpha", [0, 1.01])
def test_a_smoothing_outside_its_limits_is_refused(alpha: float):
    with pytest.raises(ValueError, match="not above 0 and at most 1"):
        croston(SELDOM, alpha)


def test_class_by_interval_and_variation():
    """Syntetos, Boylan and Croston 2005: ADI 12 / 4, CV² 0.0617 of the population: intermittent."""
    assert classify(SELDOM) is DemandClass.INTERMITTENT


@pytest.mark.parametrize(
    ("series", "found"),
    [
        ([5, 6, 5, 4], DemandClass.SMOOTH),
        ([1, 20, 1, 1], DemandClass.ERRATIC),
        ([0, 1, 0, 20, 0, 1, 0, 1], DemandClass.LUMPY),
        ([5] * 25 + [0] * 8, DemandClass.SMOOTH),  # ADI is 1.32
        ([5] * 25 + [0] * 9, DemandClass.INTERMITTENT),
        ([3, 17], DemandClass.ERRATIC),  # CV² is 0.49
        ([4, 17], DemandClass.SMOOTH),
    ],
)
def test_four_classes_and_their_borders(series: list[int], found: DemandClass):
    """Syntetos, Boylan and Croston 2005: 1.32 and 0.49."""
    assert classify(series) is found


def test_nothing_has_no_class():
    with pytest.raises(ValueError, match="without any demand"):
        classify([0, 0])


def test_weeks_end_with_the_day_and_include_it():
    until = date(2027, 3, 3)
    used = [(7, until - timedelta(days=ago), 10**place) for place, ago in enumerate([-1, 0, 6, 7, 13, 14, 20, 21])]
    assert weekly(used, until=until, weeks=3) == {7: (1_100_000, 11_000, 110)}


def test_what_came_back_lessens_its_week_and_no_more():
    until = date(2027, 3, 7)
    used = [(7, date(2027, 3, 2), 5), (7, date(2027, 3, 4), -2), (7, date(2027, 2, 23), -4)]
    assert weekly(used, until=until, weeks=2) == {7: (0, 3)}


@pytest.mark.parametrize(
    ("day", "sunday"),
    [("2008-12-29", "2009-W01-7"), ("2010-01-03", "2009-W53-7"), ("2026-11-25", "2026-W48-7")],
)
def test_weeks_that_end_with_a_sunday_are_those_of_iso_8601(day: str, sunday: str):
    """The usual published examples of the ISO week: 2009-W01-1, 2009-W53-7, 2026-W48-3."""
    until = date.fromisoformat(sunday)
    series = weekly(
        [(7, day, 5), (7, until - timedelta(days=7), 3), (7, until + timedelta(days=1), 9)], until=until, weeks=2
    )
    assert series == {7: (3, 5)}


DAYS = st.dates(date(2026, 9, 1), date(2027, 1, 10))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 4), DAYS, st.integers(-5, 2**40)), max_size=25),
    DAYS,
    st.integers(1, 15),
)
def test_series_are_those_of_a_plain_loop(used: list[tuple[int, date, int]], until: date, weeks: int):
    """Each row put into its week one by one."""
    expected: dict[int, list[int]] = {}
    for item, day, quantity in used:
        week = weeks - 1 - (until - day).days // 7
        if 0 <= week < weeks:
            expected.setdefault(item, [0] * weeks)[week] += quantity
    found = weekly(
        [(item, day.isoformat(), quantity) for item, day, quantity in used],
        until=until,
        weeks=weeks,
    )
    assert found == {item: tuple(max(0, quantity) for quantity in series) for item, series in expected.items()}
    assert all(type(quantity) is int for series in found.values() for quantity in series)


@given(histories, st.integers(1, 1000), st.floats(0.01, 1))
def test_forecasts_scale_with_demand(series: list[int], factor: int, alpha: float):
    scaled = [demand * factor for demand in series]
    assert croston(scaled, alpha) == pytest.approx(factor * croston(series, alpha), rel=1e-9)
    assert syntetos_boylan(scaled, alpha) == pytest.approx(factor * syntetos_boylan(series, alpha), rel=1e-9)
    if any(series):
        assert classify(scaled) is classify(series)


@given(histories.filter(any), st.floats(0.01, 1))
def test_a_forecast_is_no_more_than_the_largest_size(series: list[int], alpha: float):
    assert 0 < croston(series, alpha) <= max(series) * (1 + 1e-9)
