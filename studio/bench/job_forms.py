"""Forms of a job as a whole: its next stage, its dates, its end."""

from typing import Any

from django import forms

from inventory.ground.site.fields import DayField

__all__ = [
    "CancelForm",
    "DatesForm",
    "StageForm",
]


class StageForm(forms.Form):
    """The stage that was asked for, and why the cloth is cut all the same."""

    to = forms.CharField(max_length=10, widget=forms.HiddenInput)
    because = forms.CharField(max_length=160, required=False, label="Cut all the same, because")

    def __init__(self, *args: Any, needs_reason: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["because"].required = needs_reason


class DatesForm(forms.Form):
    """When the client wants it, and what was promised."""

    due = DayField(required=False, label="Wanted by the client")
    promised = DayField(required=False, label="Promised")


class CancelForm(forms.Form):
    """Why a job is not made."""

    why = forms.CharField(max_length=160, label="Why it is not made")
