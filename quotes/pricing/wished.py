"""Rates from what a maker wishes to earn: what an hour must bring so that a year's hours bring the income and the overhead.

The question: what does an hour cost, if so much is to be left of a year and so many of its hours are sold?
"""

from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.findings import refuse
from inventory.ground.money import Currency
from quotes.pricing.rates import productive_hours

__all__ = ["Wish", "WishedRates", "wished_rates"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What a year is to bring, money in the workroom's currency.

    Attributes:
        income_per_year: > 0, before the maker's own taxes.
        overhead_per_year: >= 0.
        weeks, hours_per_week: worked in a year and a week.
        productive_share: 0 < share <= 1, of the hours worked; those that pieces carry.
    """

    income_per_year: Decimal
    overhead_per_year: Decimal
    weeks: int
    hours_per_week: int
    productive_share: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class WishedRates:
    """What an hour costs and what it carries of the overhead, in whole minor units; `hours` are sold in a year."""

    hours: Decimal
    labour_per_hour: Decimal
    overhead_per_hour: Decimal


def wished_rates(wish: Wish, currency: Currency) -> WishedRates:
    """Return the rates that bring a wish: income and overhead ÷ productive hours, each half a minor unit up.

    >>> from inventory.ground.money import currency_of
    >>> wish = Wish(income_per_year=Decimal(24150), overhead_per_year=Decimal(7728), weeks=46, hours_per_week=35,
    ...     productive_share=Decimal("0.60"))
    >>> rates = wished_rates(wish, currency_of("EUR"))
    >>> str(rates.hours), str(rates.labour_per_hour), str(rates.overhead_per_hour)
    ('966.00', '25.00', '8.00')

    Raises:
        Refused: no hours, or an income that brings an hour less than a minor unit.
    """
    hours = productive_hours(
        weeks=wish.weeks, hours_per_week=wish.hours_per_week, productive_share=wish.productive_share
    )
    if hours <= 0:
        raise refuse(
            "wished.hours", "hours", "A year without productive hours brings nothing.", "Say how many are worked."
        )
    labour = currency.round(wish.income_per_year / hours)
    if labour <= 0:
        raise refuse(
            "wished.income",
            "income",
            f"{wish.income_per_year:f} {currency.code} a year are less than {currency.minor_unit} an hour.",
            "Say what you wish to earn.",
        )
    return WishedRates(
        hours=hours, labour_per_hour=labour, overhead_per_hour=currency.round(wish.overhead_per_year / hours)
    )
