"""Forecasts and reserves against textbooks, papers, scipy and numpy.

Sources: Heizer and Render, Operations Management, ch. 12 (reserve for variable demand; demand and lead time both vary);
Russell and Taylor, Operations Management ("carpet store"); Stevenson, Operations Management (surgical gloves); Croston
1972; Syntetos and Boylan 2005; Syntetos, Boylan and Croston 2005; scipy.stats for the normal distribution and for
whether draws come from the distribution they should. Textbooks print what a table's z gives; where they do, the service
is the normal distribution's value at that z.
"""

from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from itertools import product
from math import ceil, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.replenish.forecast import (
    DemandClass,
    average_interval,
    classify,
    croston,
    lead_time_demand,
    normal_safety_stock,
    reorder_point,
    safety_stock,
    size_variation,
    syntetos_boylan,
    weekly,
)

SELDOM = (0, 0, 4, 0, 0, 0, 5, 0, 3, 0, 0, 6)

histories = st.lists(st.integers(0, 5000), min_size=1, max_size=30)


def point_of(*, mean: float, deviation: float, lead: float, lead_deviation: float = 0, service: float) -> float:
    safety = normal_safety_stock(mean, deviation, lead, lead_deviation, service)
    return reorder_point(mean=mean, lead=lead, safety=safety)


@pytest.mark.parametrize(
    ("service", "z"),
    [
        (0.80, 0.8416),
        (0.85, 1.0364),
        (0.90, 1.2816),
        (0.95, 1.6449),
        (0.975, 1.9600),
        (0.98, 2.0537),
        (0.99, 2.3263),
        (0.995, 2.5758),
        (0.999, 3.0902),
    ],
)
def test_a_spread_of_one_shows_the_normal_quantile(service: float, z: float):
    """Standard normal table, four decimals; scipy for the rest of them."""
    shown = normal_safety_stock(100, 1, 1, 0, service)
    assert shown == pytest.approx(z, abs=5e-5)
    assert shown == pytest.approx(stats.norm.ppf(service), rel=1e-9)


def test_reserve_for_variable_demand_over_a_lead_time():
    """Heizer and Render, ch. 12, Example 10: mean 350, σ 10, 95 %; 366.5 with 1.65 of a table."""
    assert point_of(mean=350, deviation=10, lead=1, service=0.95) == pytest.approx(366.4485, abs=1e-4)
    assert point_of(mean=350, deviation=10, lead=1, service=stats.norm.cdf(1.65)) == pytest.approx(366.5, abs=1e-9)


def test_reorder_point_of_cloth():
    """Russell and Taylor, carpet store: 30 yd a day, σ 5, ten days, 95 %."""
    assert point_of(mean=30, deviation=5, lead=10, service=0.95) == pytest.approx(326.007, abs=1e-3)
    assert point_of(mean=30, deviation=5, lead=10, service=stats.norm.cdf(1.65)) == pytest.approx(326.089, abs=1e-3)


def test_the_risk_of_a_given_reorder_point():
    """Stevenson, surgical gloves: 5 a day, σ 0.5, two days, reorder point 12: z 2.828, risk 0.00234."""
    at = point_of(mean=5, deviation=0.5, lead=2, service=1 - 0.0023389)
    assert at == pytest.approx(12, abs=1e-4)
    assert point_of(mean=5, deviation=0.5, lead=2, service=stats.norm.cdf(2 / sqrt(0.5))) == pytest.approx(12, abs=1e-9)


def test_reserve_where_demand_and_lead_time_both_vary():
    """Combined variance: 30 a day, σ 3, seven days, σ 4, 90 %; 153.94 with 1.28 of a table."""
    assert normal_safety_stock(30, 3, 7, 4, 0.90) == pytest.approx(154.122, abs=1e-3)
    assert normal_safety_stock(30, 3, 7, 4, stats.norm.cdf(1.28)) == pytest.approx(153.94, abs=0.01)


def test_reorder_point_where_demand_and_lead_time_both_vary():
    """Heizer and Render, ch. 12: 150 a day, σ 16, five days, σ 1, 95 %: σ 154.21; 1004.44 with 1.65 of a table."""
    assert normal_safety_stock(150, 16, 5, 1, stats.norm.cdf(1)) == pytest.approx(154.21, abs=0.005)
    both = {"mean": 150.0, "deviation": 16.0, "lead": 5.0, "lead_deviation": 1.0}
    assert point_of(**both, service=stats.norm.cdf(1.65)) == pytest.approx(1004.44, abs=0.01)
    assert point_of(**both, service=0.95) == pytest.approx(750 + stats.norm.ppf(0.95) * sqrt(23780), rel=1e-9)


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


def test_interval_variation_and_class():
    """Syntetos, Boylan and Croston 2005: ADI 12 / 4, CV² 0.0617 of the population: intermittent."""
    assert average_interval(SELDOM) == 3
    assert float(size_variation(SELDOM)) == pytest.approx(0.0617, abs=1e-4)
    assert float(size_variation(SELDOM)) == pytest.approx(stats.variation([4, 5, 3, 6]) ** 2, rel=1e-9)
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
    st.booleans(),
)
def test_series_are_those_of_a_plain_loop(used: list[tuple[int, date, int]], until: date, weeks: int, from_first: bool):
    """Each row put into its week one by one; a series from the first row on has no week before it."""
    expected: dict[int, list[int]] = {}
    first: dict[int, int] = {}
    for item, day, quantity in used:
        week = weeks - 1 - (until - day).days // 7
        if 0 <= week < weeks:
            expected.setdefault(item, [0] * weeks)[week] += quantity
            first[item] = min(first.get(item, week), week)
    found = weekly(
        [(item, day.isoformat(), quantity) for item, day, quantity in used],
        until=until,
        weeks=weeks,
        from_first=from_first,
    )
    assert found == {
        item: tuple(max(0, quantity) for quantity in series)[first[item] if from_first else 0 :]
        for item, series in expected.items()
    }
    assert all(type(quantity) is int for series in found.values() for quantity in series)


def test_draws_are_spread_like_all_sums_of_two_weeks():
    """All nine sums of two weeks out of (0, 2, 7), counted out; Pearson's test by scipy."""
    sums = Counter(sum(pair) for pair in product((0, 2, 7), repeat=2))
    draws = Counter(lead_time_demand((0, 2, 7), lead_weeks=2, lead_spread_weeks=0, draws=9000, seed=3).tolist())
    assert draws.keys() == sums.keys()
    assert stats.chisquare([draws[of] for of in sums], [1000 * sums[of] for of in sums]).pvalue > 0.001


def test_draws_vary_as_demand_and_lead_time_do():
    """Variance of a sum of so many weeks: L·σd² + d²·σL², where rounding to weeks adds 1/12 to σL² (Sheppard)."""
    draws = lead_time_demand(SELDOM, lead_weeks=8, lead_spread_weeks=1.5, draws=20_000, seed=1)
    mean, variance = np.mean(SELDOM), np.var(SELDOM)
    assert np.mean(draws) == pytest.approx(8 * mean, rel=0.02)
    assert np.var(draws) == pytest.approx(8 * variance + mean**2 * (1.5**2 + 1 / 12), rel=0.05)


def test_a_lead_time_is_one_week_at_least():
    draws = lead_time_demand((1, 2), lead_weeks=0.2, lead_spread_weeks=0.1, draws=50, seed=1)
    assert set(draws) == {1, 2}


def test_smooth_demand_takes_the_normal_formula():
    """scipy's quantile and numpy's sample variance."""
    series = [1500, 1310, 1660, 1420, 1710, 1280, 1550, 1600, 1490, 1480]
    found = safety_stock(series, lead_weeks=5, lead_spread_weeks=0.2, service=0.95, seed=1)
    spread = sqrt(5 * np.var(series, ddof=1) + np.mean(series) ** 2 * 0.2**2)
    assert found.quantity == ceil(stats.norm.ppf(0.95) * spread)
    assert found.expected_per_week == pytest.approx(np.mean(series))
    assert found.rule == (
        "Use is smooth (one week in 1.00 has any, CV² of its sizes 0.01), so the reserve is z = 1.645 for 95 % of lead "
        "times without a shortage, times the spread of use over 5 ± 0.2 weeks, where a week’s use varies by 0.09 of its mean."
    )


def test_a_service_below_one_half_takes_nothing_away():
    found = safety_stock([5, 6, 5, 4] * 3, lead_weeks=2, lead_spread_weeks=1, service=0.2, seed=1)
    assert found.quantity == 0


@pytest.mark.parametrize(("service", "enough"), [(0.38, 0), (0.5, 3000), (0.85, 3000), (0.92, 6000)])
def test_seldom_demand_takes_the_quantile_less_the_mean(service: float, enough: int):
    """Two weeks of (0, 0, 3000), counted out: 0 in 4/9, 3000 in 4/9, 6000 in 1/9 of the cases; mean 2000."""
    found = safety_stock([0, 0, 3000] * 8, lead_weeks=2, lead_spread_weeks=0, service=service, seed=5)
    assert found.quantity == pytest.approx(max(0, enough - 2000), abs=120)
    assert found.expected_per_week == pytest.approx(1000 * 0.95)
    assert found.rule.startswith(
        "Use is intermittent (one week in 3.00 has any, CV² of its sizes 0.00), so the reserve"
    )
    assert f"enough for {service * 100:g} % of 2000 lead times of 2 ± 0 weeks" in found.rule


@pytest.mark.parametrize("service", [0.6, 0.9, 0.95, 0.99])
def test_the_quantile_is_the_least_that_is_enough_for_so_many_draws(service: float):
    """numpy's quantile by the inverted distribution function."""
    series = [0, 700, 0, 0, 1900, 40, 0, 3100, 260] * 4
    found = safety_stock(series, lead_weeks=3, lead_spread_weeks=1, service=service, seed=8)
    draws = lead_time_demand(series, lead_weeks=3, lead_spread_weeks=1, draws=2000, seed=8)
    assert found.quantity == ceil(np.quantile(draws, service, method="inverted_cdf") - np.mean(draws))


def test_the_draws_of_erratic_and_lumpy_demand_bring_a_reserve():
    for series in ([1, 20] * 8, [0, 1, 0, 20] * 8):
        found = safety_stock(series, lead_weeks=2, lead_spread_weeks=0.5, service=0.95, seed=1)
        assert f"Use is {classify(series).value} " in found.rule
        assert "drawn at random" in found.rule
        assert found.quantity > 0


def test_a_history_that_is_too_short_gives_no_reserve_and_says_so():
    short = safety_stock([0, 2] * 7, lead_weeks=2, lead_spread_weeks=1, service=0.95, seed=1)
    assert (short.quantity, short.expected_per_week) == (0, pytest.approx(0.95))
    assert (
        short.rule
        == "Only 7 of the last 14 weeks had any use and it takes 8 to tell how it varies, so no reserve is kept."
    )
    assert safety_stock([0, 2] * 8, lead_weeks=2, lead_spread_weeks=1, service=0.95, seed=1).quantity > 0


def test_no_demand_gives_no_reserve_and_says_so():
    none = safety_stock([0] * 26, lead_weeks=2, lead_spread_weeks=1, service=0.95, seed=1)
    assert (none.quantity, none.expected_per_week) == (0, 0)
    assert none.rule == "Nothing was used in the last 26 weeks, so no reserve is kept."


@pytest.mark.parametrize("service", [0, 1, 95])
def test_a_service_that_is_no_share_is_refused(service: float):
    with pytest.raises(ValueError, match="not between 0 and 1"):
        safety_stock(SELDOM, lead_weeks=2, lead_spread_weeks=1, service=service, seed=1)


@settings(max_examples=40)
@given(
    st.lists(st.one_of(st.just(0), st.integers(0, 5000)), min_size=16, max_size=40),
    st.floats(0.1, 6),
    st.floats(0, 3),
    st.tuples(st.floats(0.01, 0.99), st.floats(0.01, 0.99)).map(sorted),
    st.integers(0, 99),
)
def test_more_service_never_needs_less_reserve(
    series: list[int], lead: float, lead_spread: float, services: list[float], seed: int
):
    less, more = (
        safety_stock(series, lead_weeks=lead, lead_spread_weeks=lead_spread, service=service, seed=seed)
        for service in services
    )
    assert 0 <= less.quantity <= more.quantity
    assert less.expected_per_week == more.expected_per_week


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
    assert average_interval(series) == Fraction(len(series), sum(1 for demand in series if demand))


@settings(max_examples=40)
@given(histories, st.floats(0.1, 8), st.floats(0, 3), st.integers(0, 10**6))
def test_draws_are_the_same_for_the_same_seed(series: list[int], lead: float, lead_spread: float, seed: int):
    first, again = (
        lead_time_demand(series, lead_weeks=lead, lead_spread_weeks=lead_spread, draws=60, seed=seed) for _ in range(2)
    )
    assert (first == again).all()
    assert len(first) == 60


def test_another_seed_draws_otherwise():
    draws = {
        tuple(lead_time_demand(SELDOM, lead_weeks=4, lead_spread_weeks=1, draws=60, seed=seed)) for seed in range(5)
    }
    assert len(draws) == 5
