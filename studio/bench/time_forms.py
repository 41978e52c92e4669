"""Forms of time at the bench, each with the key that makes a double click count once."""

from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.site.fields import DayField
from inventory.ground.site.keyed_forms import KeyForm
from studio.jobs.fields import MinutesField
from studio.models import TimeEntry

__all__ = ["CorrectForm", "StartForm", "StopForm", "WriteForm"]


class StartForm(KeyForm):
    """Starts a timer, for planned work or to do it again."""

    cause = forms.ChoiceField(choices=TimeEntry.Cause.choices, required=False, label="Why it is done")


class StopForm(forms.Form):
    """Stops the timer that the page showed."""

    entry = forms.IntegerField(min_value=1)


class WriteForm(KeyForm):
    """Time that no timer took."""

    day = DayField(label="Day", initial=timezone.localdate)
    minutes = MinutesField(label="How long", help_text="Minutes, or 1:35.")
    cause = forms.ChoiceField(choices=TimeEntry.Cause.choices, required=False, label="Why it was done")


class CorrectForm(WriteForm):
    """Another figure in place of an entry."""

    why = forms.CharField(max_length=200, label="What was wrong")

    def __init__(self, *args: Any, entry: TimeEntry, **kwargs: Any) -> None:
        kwargs["initial"] = {"day": entry.day, "minutes": entry.minutes, "cause": entry.cause}
        super().__init__(*args, **kwargs)
        self.fields["minutes"].help_text = "Minutes, or 1:35. 0 strikes it out."
