"""How amounts, shares and days are written for people."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from babel.numbers import format_currency, get_currency_precision

from inventory.money import currency_of

__all__ = ["day_text", "minor_text", "money_text", "named_text", "percent_text", "unit_cost_text"]


def money_text(amount: str | Decimal, currency: str) -> str:
    """Return an amount, already rounded, as people read it: `€1,030.20`."""
    return format_currency(Decimal(amount), currency, locale="en_GB").replace("-", "−")


def minor_text(minor: int, currency: str) -> str:
    """Return an amount that is kept in minor units as people read it: `€1,030.20` for 103020."""
    return money_text(currency_of(currency).from_minor(minor), currency)


def unit_cost_text(cost: str | Decimal, currency: str) -> str:
    """Return what one metre or piece costs with as many decimals as it has, the currency's at least: `€0.008`."""
    exact = Decimal(cost).normalize()
    digits = max(-int(exact.as_tuple().exponent), get_currency_precision(currency))
    pattern = "¤#,##0" + ("." + "0" * digits if digits else "")
    return format_currency(exact, currency, pattern, locale="en_GB", currency_digits=False)


def percent_text(share: str | Decimal) -> str:
    """Return a share as people read it: `4.5 %`."""
    return f"{(Decimal(share) * 100).normalize():f} %"


def day_text(day: str | date | None) -> str:
    """Return a day as `4 January 2027`; empty for none."""
    if day is None:
        return ""
    day = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{day.day} {day:%B %Y}"


def named_text(names: Sequence[str], *, most: int) -> str:
    """Return the first `most` names and how many more there are.

    >>> named_text(["coutil", "busk", "cord", "tape"], most=3), named_text(["coutil", "busk"], most=3)
    ('coutil, busk, cord and 1 more', 'coutil, busk')
    """
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")
