"""Rounding, splitting and minor units against laws, standards and textbooks; sources beside each."""

from decimal import Decimal

import pycountry
import pytest
from babel.numbers import format_currency
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.money import Currency, RoundingRule, currency_of, split

GBP, EUR, JPY = currency_of("GBP"), currency_of("EUR"), currency_of("JPY")
THOUSANDTHS = Currency(code="GBP", digits=3)


def d(text: str) -> Decimal:
    return Decimal(text)


@pytest.mark.parametrize(
    ("code", "digits"),
    [("GBP", 2), ("EUR", 2), ("USD", 2), ("JPY", 0), ("KWD", 3), ("BHD", 3), ("CLP", 0), ("ISK", 0), ("HUF", 2)],
)
def test_cst_45_minor_units(code: str, digits: int):
    """ISO 4217 (CLDR data)."""
    assert currency_of(code).digits == digits


@pytest.mark.parametrize(("code", "numeric"), [("GBP", "826"), ("EUR", "978"), ("USD", "840"), ("JPY", "392")])
def test_cst_46_codes_are_those_of_iso_4217(code: str, numeric: str):
    """ISO 4217, through pycountry: the codes that are accepted are the standard's."""
    assert pycountry.currencies.get(alpha_3=code).numeric == numeric
    assert currency_of(code).code == code


def test_a_code_that_iso_4217_lacks_is_refused():
    with pytest.raises(ValueError, match="no ISO 4217"):
        currency_of("EUX")


def test_cst_47_display():
    """CLDR patterns."""
    assert format_currency(d("1234.5"), "GBP", locale="en_GB") == "£1,234.50"
    assert format_currency(d("1234.5"), "EUR", locale="de_DE") == "1.234,50\xa0€"
    assert format_currency(JPY.round(d("1234.5"), RoundingRule.HALF_EVEN), "JPY", locale="ja_JP") == "￥1,234"


@pytest.mark.parametrize(
    ("amount", "rule", "rounded"),
    [
        ("140.976", RoundingRule.HALF_UP, "140.98"),  # CST-23, bookkeeping example: nearest
        ("140.976", RoundingRule.DOWN, "140.97"),  # CST-23: the rounded-down concession of VAT Notice 700, 17.5
        ("0.104", RoundingRule.HALF_UP, "0.10"),  # CST-29, A New Tax System (GST) Act 1999 (Australia) s 9-90
        ("0.105", RoundingRule.HALF_UP, "0.11"),  # CST-29
        ("0.105", RoundingRule.HALF_DOWN, "0.10"),  # CST-30, Goods and Services Tax Act 1985 (New Zealand) s 19O
        ("0.005", RoundingRule.HALF_UP, "0.01"),  # CST-21, HMRC VATREC12030: 0.5p goes up
        ("0.0049", RoundingRule.HALF_UP, "0.00"),  # CST-21
        ("8.1149", RoundingRule.HALF_UP, "8.11"),  # CST-31, Streamlined Sales and Use Tax Agreement s 324
        ("8.115", RoundingRule.HALF_UP, "8.12"),  # CST-31: up when the third decimal is greater than 4
        ("2.665", RoundingRule.HALF_EVEN, "2.66"),
        ("-2.665", RoundingRule.HALF_UP, "-2.67"),
    ],
)
def test_cst_21_to_31_rounding_rules(amount: str, rule: RoundingRule, rounded: str):
    assert GBP.round(d(amount), rule) == d(rounded)


def test_cst_20_and_22_to_a_tenth_of_a_penny():
    """VAT Notice 700 para 17.5.2: VAT of £0.0024 a unit is £0.002 to three places."""
    assert THOUSANDTHS.round(d("0.0024")) == d("0.002")
    assert THOUSANDTHS.round(d("0.0019"), RoundingRule.DOWN) == d("0.001")


def test_cst_24_to_26_rounding_by_line_and_on_the_total_differ():
    """Arithmetic under HMRC VATREC12030; this program taxes the total (EN 16931 BR-CO-17)."""
    by_line = [GBP.round(d("1.99") * d("0.2")) for _ in range(3)]
    assert (sum(by_line), GBP.round(d("5.97") * d("0.2"))) == (d("1.20"), d("1.19"))
    assert (10 * GBP.round(d("0.12") * d("0.2")), GBP.round(d("1.20") * d("0.2"))) == (d("0.20"), d("0.24"))
    amounts = [d("33.33"), d("33.33"), d("33.34"), d("7.49")]
    assert sum(GBP.round(amount * d("0.2")) for amount in amounts) == d("21.51")
    assert GBP.round(sum(amounts) * d("0.2")) == d("21.50")
    assert sum(THOUSANDTHS.round(a * d("0.2"), RoundingRule.DOWN) for a in amounts) == d("21.498")


@pytest.mark.parametrize(
    ("seats", "weights", "parts"),
    [
        (7, [50, 30, 20], [4, 2, 1]),  # CST-40, Hamilton / Hare–Niemeyer
        (4, [500, 300, 110, 20], [2, 1, 1, 0]),  # CST-40
        (10, [47000, 16000, 15900, 12000, 6000, 3100], [5, 2, 1, 1, 1, 0]),  # CST-41, encyclopaedia, from memory
    ],
)
def test_cst_40_and_41_largest_remainder(seats: int, weights: list[int], parts: list[int]):
    assert [int(part) for part in split(Decimal(seats), [Decimal(weight) for weight in weights], JPY)] == parts


def test_cst_42_foemmels_conundrum():
    """Fowler, Patterns of Enterprise Application Architecture, Money: five cents by 30 : 70; the tie goes first."""
    assert split(d("0.05"), [d("0.3"), d("0.7")], EUR) == (d("0.02"), d("0.03"))


@pytest.mark.parametrize(
    ("amount", "weights", "parts"),
    [
        ("100.00", ["1", "1", "1"], ["33.34", "33.33", "33.33"]),
        ("1234.57", ["50", "25", "25"], ["617.29", "308.64", "308.64"]),
        ("10.00", ["1"] * 7, ["1.43"] * 6 + ["1.42"]),
        ("850.00", ["33", "33", "34"], ["280.50", "280.50", "289.00"]),
        ("47.50", ["312.40", "88.15", "19.95"], ["35.29", "9.96", "2.25"]),
    ],
)
def test_cst_43_instalments_add_up(amount: str, weights: list[str], parts: list[str]):
    """Largest remainder, ties to the earliest; the last case is carriage over three lines (INV-67)."""
    assert [str(part) for part in split(d(amount), [d(weight) for weight in weights], EUR)] == parts


@given(
    minor=st.integers(-(10**9), 10**9),
    weights=st.lists(st.decimals(0, 1000, places=3), min_size=1, max_size=9).filter(lambda w: sum(w) > 0),
    currency=st.sampled_from([EUR, JPY, currency_of("KWD")]),
)
def test_parts_add_up_and_are_near_their_share(minor: int, weights: list[Decimal], currency: Currency):
    amount = currency.from_minor(minor)
    parts = split(amount, weights, currency)
    assert sum(parts) == amount
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - amount * weight / sum(weights)) < currency.minor_unit


@given(st.integers(-(10**12), 10**12))
def test_minor_units_round_trip(minor: int):
    assert EUR.to_minor(EUR.from_minor(minor)) == minor


def test_an_amount_finer_than_its_currency_is_no_number_of_minor_units():
    with pytest.raises(ValueError, match="more than 2 decimals"):
        EUR.to_minor(d("1.005"))
