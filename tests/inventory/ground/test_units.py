"""Lengths as makers write them, and unit codes, against the standards named beside each."""

import re
from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.materials import StockUnit
from inventory.ground.rec20 import RETIRED, UNITS, converted
from inventory.ground.units import MM_PER_UNIT, LengthUnit, format_length, inches_text, parse_length, parse_number

REGISTRY = pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ('28 1/2"', 723.9),
        ("28½", 723.9),
        ("28-1/2 in", 723.9),
        ("3/8", 9.525),
        ("-1/4", -6.35),
        ("28.5", 723.9),
        ("28,5", 723.9),
        ("72.5 cm", 725.0),
        ("54 IN", 1371.6),
        ("1 yd", 914.4),
        ("2 m", 2000.0),
    ],
)
def test_lengths_are_read_as_makers_write_them(text: str, mm: float):
    assert parse_length(text, LengthUnit.INCH) == mm


@pytest.mark.parametrize(
    "text", ["", "abc", "1e5", "nan", "inf", "1/0", "1.234,5", "1,234.5", "28 1/2 1/2", "--3", "5 ft", "1 2"]
)
def test_what_is_no_length_is_refused_in_a_sentence(text: str):
    with pytest.raises(ValueError, match=r"^.+\.$"):
        parse_length(text, LengthUnit.MM)


def test_a_length_beyond_belief_is_refused():
    with pytest.raises(ValueError, match="check the unit"):
        parse_length("1000000000", LengthUnit.MM)
    with pytest.raises(ValueError, match="not a length"):
        parse_length(float("nan"), LengthUnit.MM)


@given(st.integers(-800, 800))
def test_eighths_of_an_inch_round_trip(eighths: int):
    mm = eighths * 25.4 / 8
    text = inches_text(mm)
    assert parse_number(text) == Fraction(eighths, 8)


def test_lengths_are_shown_as_makers_read_them():
    assert format_length(723.9, LengthUnit.INCH) == "28 1/2 in"
    assert format_length(362.0, LengthUnit.METRE) == "0.36 m"


def test_std_40_inch_foot_and_yard_are_exact():
    """International yard and pound agreement of 1959; UNECE Recommendation 20 Rev 17."""
    assert MM_PER_UNIT[LengthUnit.INCH] == Fraction(254, 10)
    for code, metres in (("INH", "0.0254"), ("FOT", "0.3048"), ("YRD", "0.9144")):
        assert UNITS[code].factor == Fraction(metres)


def test_std_41_ounce_per_square_yard():
    """UNECE Recommendation 20 code ON; through pint as well."""
    assert float(UNITS["ON"].factor) == pytest.approx(33.90574747488229544, abs=1e-9)
    assert float(converted(Fraction(10), "ON", "GM")) == pytest.approx(339.0574747, abs=1e-6)
    by_pint = REGISTRY.Quantity(Decimal(1), "ounce/yard**2").to("g/m**2").magnitude
    assert float(UNITS["ON"].factor) == pytest.approx(float(by_pint), rel=1e-12)


def test_std_42_pound_and_ounce():
    """UNECE Recommendation 20 codes LBR and ONZ."""
    assert UNITS["LBR"].factor == Fraction("453.59237")
    assert UNITS["ONZ"].factor == Fraction("28.349523125")


def test_std_43_square_yard_foot_and_inch():
    """UNECE Recommendation 20 codes YDK, FTK and INK."""
    factors = [UNITS[code].factor for code in ("YDK", "FTK", "INK")]
    assert factors == [Fraction("0.83612736"), Fraction("0.09290304"), Fraction("0.00064516")]


def test_std_44_codes_and_factors():
    """UNECE Recommendation 20 Rev 17."""
    assert [UNITS[code].factor for code in ("C62", "H87", "EA", "PR", "SET", "DZN", "GRO")] == [1, 1, 1, 2, 1, 12, 144]
    assert (UNITS["HUR"].factor, UNITS["MIN"].factor, UNITS["DAY"].factor) == (3600, 60, 86400)
    assert [unit.rec20_code for unit in StockUnit] == ["MTR", "EA", "PR", "SET"]
    assert all(unit.rec20_code in UNITS for unit in StockUnit)


@pytest.mark.parametrize("code", ["NPR", "RO", "BO", "NRL"])
def test_std_45_retired_codes_are_refused(code: str):
    """UNECE Recommendation 20 Rev 17 marks them deprecated or withdrawn."""
    assert code not in UNITS
    assert code in RETIRED
    with pytest.raises(ValueError, match=r"\.$"):
        converted(Fraction(1), code, "EA")


def test_units_of_different_kinds_do_not_convert():
    with pytest.raises(ValueError, match="different things"):
        converted(Fraction(1), "MTR", "GRM")


@pytest.mark.parametrize(("text", "number"), [("- 5", -5), ("+ 5", 5), ("−5", -5), ("- 5 1/2", Fraction(-11, 2))])
def test_a_sign_may_stand_apart_from_its_number(text: str, number: Fraction):
    assert parse_number(text) == number


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (True, "True is not a length: write a number."),
        (float("inf"), "inf is not a length: write a number."),
        ("1/0", "'1/0' divides by zero."),
    ],
)
def test_a_value_that_is_no_length_is_refused_in_its_own_sentence(value: str | float, sentence: str):
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        parse_length(value, LengthUnit.MM)


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        ("RO", "RO, roll, is withdrawn; packaging belongs to Recommendation 21."),
        ("ELL", "'ELL' is no unit code known here."),
    ],
)
def test_a_unit_code_that_is_none_is_refused_in_a_sentence(code: str, sentence: str):
    """UNECE Recommendation 20 Rev 17."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        converted(Fraction(1), code, "MTR")
