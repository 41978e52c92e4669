"""Reserves against the normal loss function, combined variances of textbooks, and sums that are counted out.

Sources: Heizer and Render, Operations Management, ch. 12 (demand and lead time both vary: 150 a day, σ 16, five days, σ 1);
Silver, Pyke and Thomas, Inventory and Production Management in Supply Chains, 4th ed., ch. 6 (the share met from the shelf,
by the loss function of the normal distribution); scipy for that distribution and for whether draws come from theirs.
"""

from collections import Counter
from itertools import product
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.replenish.reserve import Lead, lead_draws, reserve_of, use_until_next_chance

AMOUNTS = st.lists(st.integers(0, 500).map(float), min_size=1, max_size=30).map(np.array)


@pytest.mark.parametrize("share_short", [0.01, 0.05, 0.2, 0.5])
def test_normal_use_takes_the_textbooks_reserve(share_short: float):
    """Short of a normal use of σ is σ · (φ(z) − z · (1 − Φ(z))) where the reserve is z σ above its mean."""
    use = stats.norm.ppf((np.arange(20_000) + 0.5) / 20_000, loc=350, scale=10)
    z = (reserve_of(use, allowed_short=10 * share_short) - 350) / 10
    assert stats.norm.pdf(z) - z * stats.norm.sf(z) == pytest.approx(share_short, abs=1e-4)


@given(AMOUNTS, st.floats(0, 300))
def test_a_reserve_leaves_short_what_is_allowed_and_a_smaller_one_more(use: np.ndarray, allowed: float):
    reserve = reserve_of(use, allowed_short=allowed)
    assert np.maximum(0, use - reserve).mean() <= allowed + 1e-9
    if reserve > 0:
        assert np.maximum(0, use - 0.99 * reserve).mean() > allowed - 1e-9


def test_drawn_use_is_spread_like_all_sums_of_two_weeks():
    """All nine sums of two weeks out of (0, 2, 7), counted out; Pearson's test by scipy."""
    sums = Counter(sum(pair) for pair in product((0.0, 2.0, 7.0), repeat=2))
    drawn = use_until_next_chance(
        np.array([0.0, 2.0, 7.0]), review_days=7, leads=np.full(9000, 7.0), unforeseen_share=1.0, seed=3
    )
    counts = Counter(drawn.tolist())
    assert counts.keys() == sums.keys()
    assert stats.chisquare([counts[of] for of in sums], [1000 * sums[of] for of in sums]).pvalue > 0.001


def test_drawn_use_varies_as_demand_and_lead_both_do():
    """Heizer and Render's figures with weeks for days: √(L σd² + d² σL²) = 154.21, a review of none."""
    chance = np.random.default_rng(7)
    weeks = chance.normal(150, 16, 4000)
    leads = 7 * chance.normal(5, 1, 40_000)
    use = use_until_next_chance(weeks, review_days=0, leads=leads, unforeseen_share=1.0, seed=5)
    # A part of a week is a whole one or none, which adds the mean of share · (1 − share), 1/6, of a week's squared use.
    assert use.mean() == pytest.approx(750, rel=0.01)
    assert use.std() == pytest.approx(sqrt(154.21**2 + 150**2 / 6), rel=0.02)


def test_known_work_is_left_out_of_unforeseen_use():
    drawn = use_until_next_chance(
        np.array([4.0]), review_days=7, leads=np.full(20_000, 63.0), unforeseen_share=0.3, seed=1
    )
    assert drawn.mean() == pytest.approx(10 * 4 * 0.3, rel=0.02)


@pytest.mark.parametrize(("likely", "late"), [(4, 8), (14, 28), (0, 3)])
def test_half_of_all_orders_have_come_after_the_likely_days_and_nine_in_ten_after_the_late_ones(likely: int, late: int):
    many = np.concatenate([lead_draws(Lead(likely=likely, late=late), seed=seed) for seed in range(50)])
    assert abs(float(np.quantile(many, 0.5)) - likely) <= 1
    assert abs(float(np.quantile(many, 0.9)) - late) <= 1
    assert many.min() >= 0


def test_a_lead_that_is_kept_to_does_not_vary():
    assert set(lead_draws(Lead(likely=5, late=5), seed=1).tolist()) == {5.0}


def test_a_supplier_who_may_be_ten_years_late_is_waited_for_no_longer():
    """Lognormal through 0 and 3650 days a draw in a hundred is longer than 8000 years, and so many weeks were drawn."""
    assert lead_draws(Lead(likely=0, late=3650), seed=1).max() == 3650
