"""What the drawer is looked through for: a kind, a length."""

from typing import Any

from django import forms

from inventory.ground.bone_forms import bone_lengths
from inventory.ground.materials import BONES, KINDS

__all__ = ["DrawerForm"]


class DrawerForm(forms.Form):
    """A kind of bone and a length, either or none; `length` leaves in mm."""

    length = forms.CharField(max_length=40, required=False, label="Length")
    kind = forms.ChoiceField(
        required=False, label="Kind", choices=[("", "All"), *((kind.value, KINDS[kind].label) for kind in BONES)]
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["length"].widget.attrs.update(placeholder="25 cm, 9 1/2 in", autocomplete="off")

    def clean_length(self) -> float | None:
        try:
            lengths = bone_lengths(self.cleaned_data["length"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        if len(lengths) > 1:
            raise forms.ValidationError("Write one length: 25 cm, 9 1/2 in.")
        return lengths[0] / 10 if lengths else None
