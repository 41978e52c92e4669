"""Fields of the bench: money in minor units, time as people write it."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.ground.money import Currency
from inventory.ground.site.fields import MoneyField

__all__ = ["MinorField", "MinutesField", "minutes_of"]

MOST_MINUTES = 60_000
"""More at one operation, change or fitting is a slip of the pen."""

_CLOCK = re.compile(r"(?P<hours>\d{1,2})[:h]\s*(?P<minutes>[0-5]?\d)?", re.IGNORECASE)


class MinorField(MoneyField):
    """An amount of zero or more as people write it, whole minor units below the form."""

    def __init__(self, *, currency: Currency, **kwargs: Any) -> None:
        self.currency = currency
        super().__init__(currency=currency, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return f"{self.currency.from_minor(value):f}" if isinstance(value, int) else value

    def handed_over(self, number: Decimal) -> int:
        return self.currency.to_minor(number)


class MinutesField(forms.CharField):
    """Time at work: minutes (`95`) or hours and minutes (`1:35`, `1h 35`), whole minutes below the form."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=10, **kwargs)
        self.widget.attrs.update({"inputmode": "text", "autocomplete": "off", "data-unit": "min"})

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            minutes = minutes_of(text)
        except ValueError as error:
            raise ValidationError(str(error)) from None
        if minutes > MOST_MINUTES:
            raise ValidationError(f"{text} are more than {MOST_MINUTES // 60} hours.")
        return minutes


def minutes_of(text: str) -> int:
    """Return a stretch of time in whole minutes.

    >>> minutes_of("95"), minutes_of("1:35"), minutes_of("2h")
    (95, 95, 120)

    Raises:
        ValueError: neither minutes nor hours and minutes; the message is a sentence.
    """
    written = text.strip()
    if written.isdecimal():
        return int(written)
    clock = _CLOCK.fullmatch(written)
    if clock is None:
        raise ValueError(f"“{text}” is no time: write minutes (95) or hours and minutes (1:35).")
    return 60 * int(clock["hours"]) + int(clock["minutes"] or 0)
