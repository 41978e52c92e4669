"""Forms of the books."""

from django import forms

__all__ = ["MonthForm", "ReopenForm"]


class MonthForm(forms.Form):
    """The month that its page was opened for, by its first day."""

    month = forms.DateField(widget=forms.HiddenInput(attrs={"autocomplete": "off"}))


class ReopenForm(MonthForm):
    """The month that is to be opened again, and why."""

    why = forms.CharField(label="Why", max_length=160, help_text="It stays written beside the month.")
