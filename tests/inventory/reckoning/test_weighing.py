"""Counting by weight, against figures worked by hand and a second formula in exact fractions.

What coils and small parts weigh and that they are counted so: common practice, no source. Steel is 7.85 g/cm³ (EN 10025
steels, handbook value): a flat of 7 mm × 0.6 mm weighs 7 × 0.6 × 7.85 = 32.97 g a metre, 33 g in round figures.
"""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.materials import StockUnit
from inventory.reckoning.weighing import (
    counted_quantity,
    grams_of,
    how_weighed,
    length_of,
    net_grams,
    pieces_of,
    unit_weight,
    weighed_quantity,
)

weights = st.decimals(min_value=0, max_value=100_000, places=3)
rates = st.decimals(min_value="0.001", max_value=5000, places=3)


def test_flat_steel_by_hand():
    """A coil of 245 g on a reel of 80 g: 165 g at 33 g/m are 5 m."""
    net = net_grams(Decimal(245), Decimal(80))
    assert net == 165
    assert length_of(net, Decimal(33)) == 5000
    assert how_weighed(net, Decimal(33), StockUnit.METRE) == "165 g net at 33 g/m"


@pytest.mark.parametrize(
    ("net", "per_metre", "mm"),
    [
        ("0", "33", 0),
        ("1", "3", 333),
        ("2", "3", 667),
        ("0.0165", "33", 1),
        ("0.0164", "33", 0),
        ("100", "0.029", 3448276),
    ],
)
def test_lengths_are_rounded_half_up_to_the_millimetre(net: str, per_metre: str, mm: int):
    assert length_of(Decimal(net), Decimal(per_metre)) == mm


@pytest.mark.parametrize(
    ("net", "per_hundred", "pieces"),
    [("46", "18.4", 250), ("1.5", "100", 2), ("1.49", "100", 1), ("0", "18.4", 0), ("18.4", "18.4", 100)],
)
def test_pieces_are_rounded_half_up_to_whole_ones(net: str, per_hundred: str, pieces: int):
    assert pieces_of(Decimal(net), Decimal(per_hundred)) == pieces
    assert weighed_quantity(Decimal(net), Decimal(per_hundred), StockUnit.SET) == pieces


@given(weights, rates)
def test_what_is_weighed_is_within_half_a_base_unit(net: Decimal, rate: Decimal):
    exact = Fraction(net) / Fraction(rate)
    assert -Fraction(1, 2) <= exact * 1000 - length_of(net, rate) < Fraction(1, 2)
    assert -Fraction(1, 2) <= exact * 100 - pieces_of(net, rate) < Fraction(1, 2)


@given(weights, weights, rates)
def test_more_on_the_reel_is_never_less_length(one: Decimal, other: Decimal, rate: Decimal):
    assert length_of(min(one, other), rate) <= length_of(max(one, other), rate)


@pytest.mark.parametrize(
    ("doing", "words"),
    [
        (lambda: net_grams(Decimal(80), Decimal("80.5")), "The empty reel at 80.5 g weighs more than the 80 g with all on it."),
        (lambda: length_of(Decimal(-1), Decimal(33)), "-1 g is no weight."),
        (lambda: length_of(Decimal("NaN"), Decimal(33)), "NaN g is no weight."),
        (lambda: length_of(Decimal(165), Decimal(0)), "A metre must weigh more than nothing, not 0 g."),
        (lambda: pieces_of(Decimal(165), Decimal("Infinity")), "A hundred must weigh more than nothing, not Infinity g."),
        (lambda: grams_of("some"), "'some' is not a number: write 28.5 or 28 1/2."),
        (lambda: grams_of("-1"), "-1 g is less than nothing."),
        (lambda: grams_of("0.0001"), "0.0001 g is finer than a milligram."),
        (lambda: grams_of("100000.5"), "100000.5 g is more than 100 kg: check the number."),
        (lambda: counted_quantity("5 m", StockUnit.METRE), "'5 m' is not a number: write 28.5 or 28 1/2."),
        (lambda: counted_quantity("-1", StockUnit.METRE), "-1 is less than zero."),
        (lambda: counted_quantity("1.0005", StockUnit.METRE), "1.0005 is finer than a millimetre."),
        (lambda: counted_quantity("1.5", StockUnit.PAIR), "1.5 is no whole number."),
        (lambda: counted_quantity("1000001", StockUnit.METRE), "1000001 is more than 1000000 m: check the number."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_in_a_sentence(doing, words: str):
    with pytest.raises(ValueError, match=f"^{re.escape(words)}$"):
        doing()


@pytest.mark.parametrize(
    ("text", "unit", "quantity"),
    [
        ("5.48", StockUnit.METRE, 5480),
        (" 5,48 ", StockUnit.METRE, 5480),
        ("2 1/2", StockUnit.METRE, 2500),
        ("0", StockUnit.METRE, 0),
        ("1200", StockUnit.METRE, 1_200_000),
        ("12.0", StockUnit.EACH, 12),
        ("24", StockUnit.SET, 24),
    ],
)
def test_amounts_are_read_as_makers_write_them(text: str, unit: StockUnit, quantity: int):
    assert counted_quantity(text, unit) == quantity


def test_weights_are_read_as_scales_show_them():
    assert grams_of("245,5") == Decimal("245.5")
    assert str(how_weighed(grams_of("120"), Decimal("2.50"), StockUnit.METRE)) == "120 g net at 2.5 g/m"


def test_a_material_says_what_it_weighs():
    facts = {"grams_per_metre": "33", "grams_per_hundred": "18.4"}
    assert unit_weight(facts, StockUnit.METRE) == 33
    assert unit_weight(facts, StockUnit.EACH) == Decimal("18.4")
    assert unit_weight({}, StockUnit.METRE) is None
    assert unit_weight({"grams_per_metre": "0"}, StockUnit.METRE) is None
