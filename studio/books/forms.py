"""Forms of the books."""

from django import forms

__all__ = ["MonthForm"]


class MonthForm(forms.Form):
    """The month that its page was opened for, by its first day."""

    month = forms.DateField(widget=forms.HiddenInput(attrs={"autocomplete": "off"}))
