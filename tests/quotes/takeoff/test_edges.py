"""Bias squares against published tutorials; source beside each."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.takeoff.edges import bias_square_mm

INCH = 25.4


def side(length: float, width: float) -> float:
    """The published formula: √(length × width)."""
    return math.sqrt(length * width)


def test_geo_22_a_20_inch_square_gives_200_inches_of_2_inch_strip():
    """Continuous-bias tutorial: area ÷ width."""
    assert 20 * 20 / 2 == 200


@pytest.mark.parametrize(("width", "length", "square"), [(2, 250, 23), (3.5, 100, 19), (2.5, 55, 12)])
def test_geo_23_square_needed(width: float, length: float, square: int):
    """Quilting tutorials: the side is √(length × width), rounded up."""
    assert math.ceil(side(length, width)) == square


def test_our_square_is_the_published_one_with_joins_and_a_40_mm_strip():
    assert bias_square_mm(1000.0) == pytest.approx(side(1150.0, 40.0))


def test_geo_24_a_square_as_a_strip_of_the_bolt():
    """18 × 18 in from 42 in cloth: 7.714, so 8 in; the takeoff costs the square by the same area ÷ width."""
    assert math.ceil(18 * 18 / 42) == 8


def test_geo_25_seam_allowance_lost():
    """22 in square less ¼ in each way, 3 in strip: 157.7 in."""
    assert pytest.approx(157.7, abs=0.05) == (22 - 0.25) ** 2 / 3


@given(st.floats(min_value=200, max_value=4000))
def test_geo_26_the_square_never_promises_more_strip_than_its_area(length: float):
    """Handbook chart: practice yields 0.83 to 0.89 of area ÷ width; ours allows 15 % for joins, 0.87."""
    square = bias_square_mm(length)
    yield_share = length / (square * square / 40.0)
    assert 0.83 <= yield_share <= 0.89
