"""What every form of an act carries, and what a valid form hands over."""

from typing import Any
from uuid import uuid4

from django import forms

__all__ = ["Cleaned", "KeyForm"]

Cleaned = dict[str, Any]
"""The values of a form's fields by their names, each of the type that its field hands over."""


class KeyForm(forms.Form):
    """Carries a key made when the form is opened, so that a double click counts once."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
