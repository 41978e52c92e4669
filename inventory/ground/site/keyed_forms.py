"""What every form of an act carries."""

from uuid import uuid4

from django import forms

__all__ = ["KeyForm"]


class KeyForm(forms.Form):
    """Carries a key made when the form is opened, so that a double click counts once."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
