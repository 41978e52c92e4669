"""What the maker says of a link, and what a client does at one."""

from typing import Any

from django import forms

from inventory.ground.site.fields import DayField
from inventory.ground.site.keyed_forms import KeyForm
from quotes.documents.offer_page import OfferPageWords

__all__ = ["AcceptAtForm", "AnswerForm", "AskForm", "LinkForm"]


class LinkForm(forms.Form):
    """Until when a link leads to the offer."""

    expires = DayField(label="Leads to the offer until")


class AnswerForm(forms.Form):
    """The maker's answer."""

    words = forms.CharField(max_length=2000, label="Answer", widget=forms.Textarea(attrs={"rows": 3}))


class AskForm(KeyForm):
    """A client's question, its words in their language."""

    words = forms.CharField(max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))

    def __init__(self, data: Any = None, *, say: OfferPageWords) -> None:
        super().__init__(data, prefix="ask")
        self.fields["words"].label = say.question
        self.fields["words"].error_messages["required"] = say.is_needed


class AcceptAtForm(KeyForm):
    """Which option a client accepts, and in whose name."""

    name = forms.CharField(max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"}))

    def __init__(self, data: Any = None, *, names: list[str], say: OfferPageWords) -> None:
        super().__init__(data, prefix="accept", initial={"option": names[0]} if len(names) == 1 else None)
        self.fields["name"].label = say.name
        self.fields["name"].error_messages["required"] = say.is_needed
        self.fields["option"] = forms.ChoiceField(
            widget=forms.RadioSelect,
            label=say.option,
            choices=[(name, name) for name in names],
            error_messages={"required": say.is_needed, "invalid_choice": say.is_needed},
        )
        self.order_fields(["key", "option", "name"])
