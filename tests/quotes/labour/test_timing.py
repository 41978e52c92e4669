"""Work measurement against textbooks and handbooks; source beside each."""

import math

import pytest
from scipy import stats

from quotes.labour.timing import (
    MINUTES_PER_TMU,
    NORMAL_95,
    allowance_conditions,
    allowance_share,
    observations_needed,
    sample_size,
    standard_minutes,
)


def test_lab_01_and_02_the_ilo_convention_is_taken():
    """Heizer & Render, ch. 10, Example 2: normal time 15.36, allowance 15 %: 17.66 by 1 + A, 18.07 by 1 ÷ (1 − A)."""
    normal = 11.40 + 2.31 + 1.65
    assert standard_minutes(normal, allowance=0.15) == pytest.approx(17.66, abs=0.005)
    assert normal / (1 - 0.15) == pytest.approx(18.07, abs=0.005)


def test_lab_03_normal_time_of_elements():
    """Heizer & Render, 11th ed., problem 10.23: elements 2.38, 0.74, 0.437, 1.1875; printed 5.4 by 1 ÷ (1 − A)."""
    normal = 2.38 + 0.74 + 0.437 + 1.1875
    assert normal / 0.88 == pytest.approx(5.391, abs=0.0005)
    assert standard_minutes(normal, allowance=0.12) == pytest.approx(5.314, abs=0.0005)


def test_lab_04_rating_and_allowance_on_job_time():
    """Stevenson, Operations Management, 14th ed., ch. 7, solved problem 1."""
    assert standard_minutes(18.75, rating=0.96, allowance=0.0) == pytest.approx(18.00)
    assert standard_minutes(18.75, rating=0.96, allowance=0.15) == pytest.approx(20.70)


def test_lab_05_garment_standard_minutes():
    """Industrial-engineering note: cycle 0.60 min at 80 %, allowances 10 % and 20 % of basic: 0.624."""
    assert standard_minutes(0.60, rating=0.80, allowance=0.10 + 0.20) == pytest.approx(0.624)


def test_lab_06_allowance_table():
    """ILO-type table as printed in Stevenson, ch. 7."""
    table = allowance_conditions()
    weights = [5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60, 70]
    assert [table[f"lifting {pounds} lb"] for pounds in weights] == [0, 1, 2, 3, 4, 5, 7, 9, 11, 13, 17, 22]
    assert (table["personal needs"], table["basic fatigue"], table["standing"], table["bending"]) == (5, 4, 2, 2)


def test_lab_07_allowance_build_up():
    """Stevenson, problem 7-6: 32 %."""
    conditions = [
        "personal needs", "basic fatigue", "standing", "slightly awkward position", "lifting 45 lb",
        "light very inadequate", "very loud noise", "low monotony",
    ]  # fmt: skip
    assert allowance_share(conditions) == 0.32


def test_lab_08_fatigue_counts_on_work_time():
    """ILO, Introduction to Work Study, 4th ed.: allowances are a share of work time; one minute at 2 % is 1.02."""
    assert standard_minutes(1.0, allowance=0.02) == pytest.approx(1.02)


def test_lab_09_sample_size_and_its_floating_point_trap():
    """Heizer & Render, ch. 10, Example 3: 171 and, at 90 %, exactly 121."""
    assert sample_size(z=1.96, spread=1.0, centre=3.0, precision_share=0.05) == 171
    assert sample_size(z=1.65, spread=1.0, centre=3.0, precision_share=0.05) == 121


def test_lab_10_sample_size_of_several_elements():
    """Textbook-type solution, t(9) = 2.262, ±10 %: 53, 32, 16."""
    elements = [(0.5, 0.16), (1.2, 0.3), (0.4, 0.07)]
    sizes = [sample_size(z=2.262, spread=s, centre=x, precision_share=0.10) for x, s in elements]
    assert sizes == [53, 32, 16]


def test_lab_11_sample_size_from_observations():
    """BSI/ILO 95 % formula with z = 2 and the population deviation: 8, 7, 8, 9, 7 need 4 at ±10 %, 15 at ±5 %."""
    observed = [8, 7, 8, 9, 7]
    spread = math.sqrt(307 / 5 - (39 / 5) ** 2)
    assert sample_size(z=2, spread=spread, centre=39 / 5, precision_share=0.10) == 4
    assert sample_size(z=2, spread=spread, centre=39 / 5, precision_share=0.05) == 15
    assert observations_needed(observed, precision_share=0.10) >= 4


def test_lab_12_time_measurement_unit():
    """MTM definition."""
    assert pytest.approx(0.24) == 400 * MINUTES_PER_TMU


def test_lab_43_observations_needed_of_a_small_sample():
    """Heizer & Render, problem 10 (gift wrapping): 14.11, so 15."""
    assert observations_needed([3.5, 3.2, 4.1, 3.6, 3.9]) == 15
    assert pytest.approx(stats.norm.ppf(0.975)) == NORMAL_95


@pytest.mark.parametrize("observed", [[], [3.0], [0.0, 1.0], [-1.0, 2.0]])
def test_too_few_observations_are_refused(observed: list[float]):
    with pytest.raises(ValueError, match="At least two"):
        observations_needed(observed)
