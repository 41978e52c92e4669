"""Forms of the working calendar."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.ground.site.fields import DayField
from inventory.ground.units import parse_number
from studio.jobs.fields import minutes_of

__all__ = ["WEEKDAYS", "DayOffForm", "HoursField", "HoursForm", "PlaceForm"]

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MINUTES_OF_A_DAY = 1440


class HoursField(forms.CharField):
    """Hours of a day as people write them (`6`, `6.5`, `6:30`), whole minutes below the form."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=10, **kwargs)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "data-unit": "h"})

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int):
            return value
        hours, minutes = divmod(value, 60)
        return f"{hours}:{minutes:02}" if minutes else str(hours)

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            minutes = minutes_of(text) if set(text.lower()) & set(":h") else _minutes(text)
        except ValueError as error:
            raise ValidationError(str(error)) from None
        if not 0 <= minutes <= MINUTES_OF_A_DAY:
            raise ValidationError(f"{text} is outside 0 to 24 hours.")
        return minutes


class HoursForm(forms.Form):
    """The hours of each weekday."""

    def __init__(self, *args: Any, minutes: Sequence[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, initial in zip(WEEKDAYS, minutes, strict=True):
            self.fields[name.lower()] = HoursField(label=name, initial=initial)

    @property
    def minutes(self) -> list[int]:
        """The minutes that were entered, Monday first."""
        return [self.cleaned_data[name.lower()] for name in WEEKDAYS]


class DayOffForm(forms.Form):
    """Days without work; one day where no last one is said."""

    first = DayField(label="First day off")
    last = DayField(label="Last day off", required=False)
    words = forms.CharField(label="What for", max_length=80, required=False)

    def clean_last(self) -> date | None:
        last: date | None = self.cleaned_data["last"] or self.cleaned_data.get("first")
        return last


class PlaceForm(forms.Form):
    """Where in the order of work a new job would be taken."""

    def __init__(self, *args: Any, jobs: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        behind = ("", "behind all open jobs")
        choices = [behind, *((key, f"before {words}") for key, words in jobs)]
        self.fields["before"] = forms.ChoiceField(label="Take it", required=False, choices=choices)


def _minutes(text: str) -> int:
    minutes = parse_number(text) * 60
    if minutes.denominator != 1:
        raise ValueError(f"{text} hours are no whole minutes; write them as 6:20.")
    return minutes.numerator
