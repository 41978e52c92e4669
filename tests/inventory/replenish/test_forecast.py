"""Forecasts against papers worked by hand.

Sources: Croston 1972; Syntetos and Boylan 2005; Syntetos, Boylan and Croston 2005.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.replenish.forecast import (
    DemandClass,
    classify,
    croston,
    syntetos_boylan,
    told_per_week,
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


@pytest.mark.parametrize(
    ("per_week", "told"),
    [
        (0.0, "0.000"),
        (4.0, "4.000"),
        (1234.56789, "1234.568"),
        (0.5, "0.500"),
        (0.04321, "0.0432"),
        (0.0004, "0.000400"),
        (0.00099999, "0.00100"),
        (2.04e-8, "0.0000000204"),
    ],
)
def test_a_use_is_told_in_digits_that_say_something(per_week: float, told: str):
    """Three places, three significant digits of what is less than one: common practice, no source."""
    assert Decimal(told) == told_per_week(per_week)


@given(st.floats(1e-9, 1e6))
def test_what_is_told_of_a_use_is_near_it_and_never_nothing(per_week: float):
    assert told_per_week(per_week) == pytest.approx(Decimal(per_week), rel=Decimal("0.005"))


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
