"""Rates from a wished income, worked by hand: money of a year ÷ productive hours (common practice, no source)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from quotes.pricing.rates import overhead_per_hour
from quotes.pricing.wished import Wish, wished_rates


def wish(income: str, overhead: str, *, weeks: int = 46, hours: int = 35, share: str = "0.60") -> Wish:
    return Wish(
        income_per_year=Decimal(income),
        overhead_per_year=Decimal(overhead),
        weeks=weeks,
        hours_per_week=hours,
        productive_share=Decimal(share),
    )


@pytest.mark.parametrize(
    ("currency", "income", "overhead", "labour", "carried"),
    [
        ("EUR", "24000", "7800", "24.84", "8.07"),  # ÷ 966 h: 24.8447, 8.0745
        ("JPY", "3600000", "960000", "3727", "994"),  # 3726.7, 993.8
        ("KWD", "7200", "1800", "7.453", "1.863"),  # 7.45341, 1.86335
        ("EUR", "24000", "0", "24.84", "0.00"),
    ],
)
def test_an_hour_brings_its_part_of_the_year(currency: str, income: str, overhead: str, labour: str, carried: str):
    rates = wished_rates(wish(income, overhead), currency_of(currency))
    assert (str(rates.labour_per_hour), str(rates.overhead_per_hour), rates.hours) == (labour, carried, 966)


@given(income=st.integers(10_000, 10**7), weeks=st.integers(1, 52), hours=st.integers(1, 80))
def test_the_hours_of_a_year_bring_the_wish_to_half_a_cent_an_hour(income: int, weeks: int, hours: int):
    rates = wished_rates(wish(str(income), "0", weeks=weeks, hours=hours), currency_of("EUR"))
    assert abs(rates.labour_per_hour * rates.hours - income) <= rates.hours * Decimal("0.005")


@given(overhead=st.integers(0, 10**6), weeks=st.integers(1, 52), hours=st.integers(1, 80), percent=st.integers(1, 100))
def test_overhead_is_what_the_overhead_page_makes_of_it(overhead: int, weeks: int, hours: int, percent: int):
    share, euro = Decimal(percent) / 100, currency_of("EUR")
    rates = wished_rates(wish("100000", str(overhead), weeks=weeks, hours=hours, share=str(share)), euro)
    assert rates.overhead_per_hour == overhead_per_hour(
        Decimal(overhead), weeks=weeks, hours_per_week=hours, productive_share=share, currency=euro
    )


@pytest.mark.parametrize(
    ("said", "code"), [(wish("24000", "0", weeks=0), "wished.hours"), (wish("4", "0"), "wished.income")]
)
def test_a_wish_that_brings_nothing_is_refused(said: Wish, code: str):
    with pytest.raises(Refused) as refusal:
        wished_rates(said, currency_of("EUR"))
    assert [found.code for found in refusal.value.findings] == [code]
