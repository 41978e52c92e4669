"""Starting, sending and deciding a quote."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.codec import Document
from inventory.ground.materials import Material
from inventory.ground.site.fields import DayField, PercentField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.sure_forms import SureForm
from inventory.ground.wording import coloured_text
from quotes.construction.construction import Construction, FrontKind
from quotes.desk.option_forms import FRONTS
from quotes.models import Client, KeptPattern
from quotes.workroom.amount_forms import NamedAmountForm

__all__ = ["AcceptForm", "ExtraForm", "LessForm", "NewQuoteForm", "SendForm"]


class NewQuoteForm(forms.Form):
    """What decides the price: the piece, its client, its pattern, its cloths, its front, and when it is wanted."""

    title = forms.CharField(max_length=160, label="The piece", help_text="“Underbust in bottle-green satin coutil”.")
    client = forms.ModelChoiceField(Client.objects.all(), required=False, empty_label="someone new", label="Client")
    new_client = forms.CharField(max_length=120, required=False, label="New client’s name")
    pattern = forms.ModelChoiceField(KeptPattern.objects.all(), label="Pattern", empty_label="choose")
    pattern_work = forms.ChoiceField(
        label="Pattern work",
        required=False,
        choices=[
            ("", "As usual: a block is drafted, others are checked"),
            ("drafted", "Drafted for this piece"),
            ("checked", "There already, only checked"),
        ],
    )
    front = forms.ChoiceField(label="Front", choices=FRONTS)
    due = DayField(
        required=False, label="Wanted by", help_text="A note inside; what you promise is said when it is sent."
    )

    def __init__(
        self, data: Any = None, *, construction: Construction, cloths: Sequence[tuple[Material, str]], **kwargs: Any
    ) -> None:
        """`cloths` are those that may be taken, each with what the shelf holds free of it, in words."""
        super().__init__(data, **kwargs)
        self.construction = construction
        self.words_of = {cloth.code: coloured_text(cloth.title, cloth.colour) for cloth, _ in cloths}
        self.fields["front"].initial = construction.front
        outermost, *others = construction.layers
        self.fields[f"cloth_{outermost.role}"] = forms.ChoiceField(
            label=f"Cloth: {outermost.title}",
            widget=forms.RadioSelect,
            choices=[(cloth.code, f"{self.words_of[cloth.code]} · {free}") for cloth, free in cloths],
        )
        for layer in others:
            self.fields[f"cloth_{layer.role}"] = forms.ChoiceField(
                label=f"Cloth: {layer.title}", choices=[(code, words) for code, words in self.words_of.items()]
            )
        roles = [f"cloth_{layer.role}" for layer in construction.layers]
        self.order_fields(["title", "client", "new_client", "pattern", "pattern_work", *roles, "front", "due"])

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if not cleaned.get("client") and not (cleaned.get("new_client") or "").strip():
            self.add_error("new_client", "Choose a client, or write the new one’s name.")
        return cleaned

    @property
    def option(self) -> Document:
        """The first option as a commission file says it, named by its cloth and its front; call after `is_valid`."""
        cleaned = self.cleaned_data
        cloths = {role: cleaned[f"cloth_{role}"] for role in self.construction.roles}
        named = self.words_of[cloths[self.construction.roles[0]]]
        return {
            "name": f"{named}, {dict(FRONTS)[FrontKind(cleaned['front'])].lower()}"[:80],
            "construction": self.construction.code,
            "cloths": cloths,
            "choices": {"front": cleaned["front"], "kept_pattern": self._is_only_checked()},
        }

    def _is_only_checked(self) -> bool:
        said: str = self.cleaned_data["pattern_work"]
        if said:
            return said == "checked"
        return not self.cleaned_data["pattern"].revisions.first().panels.estimating_only

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
