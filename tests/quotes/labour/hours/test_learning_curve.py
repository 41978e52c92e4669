"""Crawford's unit model against textbooks, closed forms and printed examples; source beside each.

Wright's model is not used; its printed total stands here once, to show that it is another one.
"""

import math

import pytest

from quotes.labour.hours.curve import total, unit_factor


def test_lab_20_exponent():
    """Definition: log2 0.8 = −0.3219280948873623."""
    assert math.log(unit_factor(10, 0.8), 10) == pytest.approx(-0.3219280948873623, abs=1e-12)


def test_lab_22_unit_and_cumulative_factors():
    """Heizer and Render, Module E, Tables E.2 and E.3, 80 %."""
    printed = {2: 0.8, 3: 0.7021, 4: 0.64, 5: 0.5956, 8: 0.512, 10: 0.4765, 16: 0.4096, 20: 0.3812, 25: 0.3548}
    assert {n: unit_factor(n, 0.8) for n in printed} == pytest.approx(printed, abs=5e-5)
    assert [total(n, 0.8, 1.0) for n in (10, 20, 25)] == pytest.approx([6.3154, 10.4849, 12.3086], abs=5e-5)


def test_lab_23_it_is_crawford_and_not_wright():
    """80 %, first unit 100, four units: Crawford 314.21; Wright's average 64 makes 256."""
    assert total(4, 0.8, 100.0) == pytest.approx(314.21, abs=0.01)
    assert total(4, 0.8, 100.0) != pytest.approx(4 * 100 * 0.8**2, rel=0.2)


def test_lab_24_unit_125():
    """R package learningCurve, unit_curve: first 100 h at 85, 80, 90, 95 %; the last from unit 100."""
    assert 100 * unit_factor(125, 0.85) == pytest.approx(32.23647, abs=1e-5)
    assert 100 * unit_factor(125, 0.80) == pytest.approx(21.13225, abs=1e-5)
    assert 100 * unit_factor(125, 0.90) == pytest.approx(48.00243, abs=1e-5)
    assert 100 * unit_factor(125, 0.95) == pytest.approx(69.95640, abs=1e-5)
    assert 100 * unit_factor(125, 0.85) / unit_factor(100, 0.85) == pytest.approx(94.90257, abs=1e-5)


def test_lab_25_total_to_unit_125():
    """The same package, unit_cum_exact: 5201.085."""
    assert total(125, 0.85, 100.0) == pytest.approx(5201.085, abs=1e-3)


def test_lab_28_finding_the_repetition():
    """Stevenson, ch. 7S, problem 16: 30 min, then 25; 18 is reached at n = 6.97."""
    rate = 25 / 30
    assert rate == pytest.approx(0.8333, abs=5e-5)
    assert 30 * unit_factor(6.97, rate) == pytest.approx(18, abs=0.01)
    assert 30 * unit_factor(6, rate) > 18 >= 30 * unit_factor(7, rate)


def test_lab_29_table_lookups():
    """Stevenson, Table 7S.1."""
    assert unit_factor(20, 0.90) == pytest.approx(0.634, abs=5e-4)
    assert unit_factor(10, 0.85) == pytest.approx(0.583, abs=5e-4)


@pytest.mark.parametrize(
    ("rate", "factors"),
    [
        (0.70, [0.7, 0.4368, 0.3058, 0.1336, 0.0935]),
        (0.75, [0.75, 0.5127, 0.3846, 0.1972, 0.1479]),
        (0.80, [0.8, 0.5956, 0.4765, 0.2838, 0.2271]),
        (0.85, [0.85, 0.6857, 0.5828, 0.3996, 0.3397]),
        (0.90, [0.9, 0.7830, 0.7047, 0.5518, 0.4966]),
        (0.95, [0.95, 0.8877, 0.8433, 0.7486, 0.7112]),
    ],
)
def test_lab_30_multipliers(rate: float, factors: list[float]):
    """n^(log2 rate) at 2, 5, 10, 50, 100."""
    assert [unit_factor(n, rate) for n in (2, 5, 10, 50, 100)] == pytest.approx(factors, abs=5e-5)


@pytest.mark.parametrize(("n", "rate"), [(0, 0.9), (1, 0.0), (2, -0.5)])
def test_a_curve_without_sense_is_refused(n: int, rate: float):
    with pytest.raises(ValueError, match="learning curve"):
        unit_factor(n, rate)
