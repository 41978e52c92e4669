"""How amounts, shares, days and minutes are written for people."""

import math
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from babel.numbers import format_currency, get_currency_precision

from inventory.ground.money import currency_of

__all__ = [
    "coloured_text",
    "day_text",
    "late_text",
    "length_figures",
    "minor_text",
    "minutes_text",
    "money_text",
    "named_text",
    "percent_text",
    "signed_money_text",
    "unit_cost_text",
]


def coloured_text(name: str, colour: str) -> str:
    """Return a material's name with its colour, where the name does not say it.

    >>> coloured_text("Satin coutil", "bottle green"), coloured_text("Busk, silver", "Silver"), coloured_text("Cord", "")
    ('Satin coutil, bottle green', 'Busk, silver', 'Cord')
    """
    return name if colour.casefold() in name.casefold() else f"{name}, {colour}"


def money_text(amount: str | Decimal, currency: str, *, locale: str = "en_GB") -> str:
    """Return an amount, already rounded, as people of a locale read it: `€1,030.20`, `1.030,20 €`."""
    return format_currency(Decimal(amount), currency, locale=locale).replace("-", "−")


def minor_text(minor: int, currency: str) -> str:
    """Return an amount that is kept in minor units as people read it: `€1,030.20` for 103020."""
    return money_text(currency_of(currency).from_minor(minor), currency)


def signed_money_text(amount: str | Decimal, currency: str) -> str:
    """Return an amount with its sign: `+€12.50`, `−€3.00`; nothing has none."""
    return f"{'+' if Decimal(amount) > 0 else ''}{money_text(amount, currency)}"


def unit_cost_text(cost: str | Decimal, currency: str) -> str:
    """Return what one metre or piece costs with as many decimals as it has, the currency's at least: `€0.008`."""
    exact = Decimal(cost).normalize()
    digits = max(-int(exact.as_tuple().exponent), get_currency_precision(currency))
    pattern = "¤#,##0" + ("." + "0" * digits if digits else "")
    return format_currency(exact, currency, pattern, locale="en_GB", currency_digits=False)


def percent_text(share: str | Decimal | float) -> str:
    """Return a share as people read it: `4.5 %`; a float to a tenth of a hundredth."""
    exact = round(Decimal(repr(share)), 3) if isinstance(share, float) else Decimal(share)
    return f"{(exact * 100).normalize():f} %"


def length_figures(length: float, *, beside: float) -> str:
    """Return a length in figures, without its unit: to a tenth, or finer beside a width of less than a hundred.

    >>> length_figures(542.123, beside=1500), length_figures(0.56491, beside=1.5)
    ('542.1', '0.565')
    """
    return f"{length:.{max(1, 3 - math.floor(math.log10(beside)))}f}"


def day_text(day: str | date | None) -> str:
    """Return a day as `4 January 2027`; empty for none."""
    if day is None:
        return ""
    day = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{day.day} {day:%B %Y}"


def late_text(days: int) -> str:
    """Return that an order is late and no new day is written, the same words everywhere; empty where it is not late.

    >>> late_text(7), late_text(1), late_text(0)
    ('7 days late, no new day', '1 day late, no new day', '')
    """
    if days <= 0:
        return ""
    return f"{days} day{'' if days == 1 else 's'} late, no new day"


def minutes_text(minutes: float) -> str:
    """Return minutes as they are read at the table.

    >>> minutes_text(35.4), minutes_text(125), minutes_text(120), minutes_text(-5)
    ('35 min', '2 h 05', '2 h', '−5 min')
    """
    whole = abs(round(minutes))
    sign = "−" if round(minutes) < 0 else ""
    if whole < 60:
        return f"{sign}{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{sign}{hours} h" + (f" {rest:02}" if rest else "")


def named_text(names: Sequence[str], *, most: int) -> str:
    """Return the first `most` names and how many more there are.

    >>> named_text(["coutil", "busk", "cord", "tape"], most=3), named_text(["coutil, black", "busk"], most=3)
    ('coutil, busk, cord and 1 more', 'coutil, black; busk')
    """
    named, more = list(names[:most]), len(names) - most
    # Where a name has a comma of its own, a comma between names would make more of them.
    between = "; " if any("," in name for name in named) else ", "
    return between.join(named) + (f" and {more} more" if more > 0 else "")
