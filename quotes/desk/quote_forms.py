"""Sending and deciding a quote, its extras, what less would take."""

from typing import Any

from django import forms

from inventory.ground.site.fields import DayField, PercentField
from inventory.ground.site.sure_forms import SureForm
from quotes.workroom.amount_forms import NamedAmountForm

__all__ = ["AcceptForm", "ExtraForm", "LessForm", "SendForm"]


class SendForm(SureForm):
    """Until when a sent quote holds, what is promised, and the fingerprint of what was shown."""

    valid_until = DayField(label="Holds until")
    promised = DayField(
        required=False, label="Promised for", help_text="The client reads it. Left empty, no day is promised."
    )
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)


class AcceptForm(forms.Form):
    """Which option the client chose."""

    def __init__(self, data: Any = None, *, names: list[str]) -> None:
        super().__init__(data, initial={"option": names[0]})
        self.fields["option"] = forms.ChoiceField(
            label="Option", widget=forms.RadioSelect, choices=[(name, name) for name in names]
        )


class ExtraForm(NamedAmountForm):
    """One extra; a set of them stands on the extras page."""

    kind = "An extra"


class LessForm(forms.Form):
    """How much less the client would pay."""

    share = PercentField(label="Less")
