"""Ranges against a textbook, scipy and draws from a normal distribution."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from quotes.labour.hours.interval import range_of_next, student_quantile

GIFTS = [3.5, 3.2, 4.1, 3.6, 3.9]
"""Minutes a package: Heizer and Render, problem 10 (gift wrapping)."""


def test_lab_42_one_more_job():
    """scipy and statsmodels (OLS on a constant, obs_ci): 2.593325 to 4.726675, and not the range of the mean."""
    low, high = range_of_next(GIFTS, 0.95)
    assert (low, high) == pytest.approx((2.593325, 4.726675), abs=1e-6)
    assert low < 3.224532 < 4.095468 < high
    assert student_quantile(0.95, 4) == pytest.approx(2.7764451, abs=1e-7)


@given(st.floats(0.01, 0.999), st.integers(1, 200))
def test_quantiles_are_scipys(share: float, freedom: int):
    assert student_quantile(share, freedom) == pytest.approx(stats.t.ppf((1 + share) / 2, freedom), rel=1e-9)


def test_it_holds_the_next_value_as_often_as_it_says():
    """Normal draws: exact for every number of values."""
    chance = np.random.default_rng(11)
    held = []
    for drawn in chance.normal(5, 2, (4000, 7)).tolist():
        low, high = range_of_next(drawn[:6], 0.80)
        held.append(low <= drawn[6] <= high)
    assert np.mean(held) == pytest.approx(0.80, abs=3 * math.sqrt(0.8 * 0.2 / 4000))


@pytest.mark.parametrize(("share", "freedom"), [(0.0, 3), (1.0, 3), (0.5, 0)])
def test_no_quantile(share: float, freedom: int):
    with pytest.raises(ValueError, match="quantile"):
        student_quantile(share, freedom)


def test_one_value_gives_no_range():
    with pytest.raises(ValueError, match="two values"):
        range_of_next([3.5], 0.8)
