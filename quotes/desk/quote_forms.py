"""Starting, sending and deciding a quote."""

from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.site.fields import DayField, PercentField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.sure_forms import SureForm
from quotes.models import Client, KeptPattern
from quotes.workroom.amount_forms import NamedAmountForm

__all__ = ["AcceptForm", "ExtraForm", "LessForm", "NewQuoteForm", "SendForm"]


class NewQuoteForm(forms.Form):
    """What a quote starts from: a client, a pattern, and what the piece is called."""

    title = forms.CharField(max_length=160, label="The piece", help_text="“Underbust in bottle-green satin coutil”.")
    client = forms.ModelChoiceField(Client.objects.all(), required=False, empty_label="someone new", label="Client")
    new_client = forms.CharField(max_length=120, required=False, label="New client’s name")
    pattern = forms.ModelChoiceField(KeptPattern.objects.all(), label="Pattern", empty_label=None)
    due = DayField(required=False, label="Wanted by")

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if not cleaned.get("client") and not (cleaned.get("new_client") or "").strip():
            self.add_error("new_client", "Choose a client, or write the new one’s name.")
        return cleaned

    def clean_due(self) -> Any:
        due = self.cleaned_data["due"]
        if due is not None and due < timezone.localdate():
            raise forms.ValidationError("This day has passed.")
        return due


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
