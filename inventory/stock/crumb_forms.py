"""Which crumbs are swept out."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundWidget

from inventory.ground.site.keyed_forms import KeyForm
from inventory.stock.crumbs import CrumbRow

__all__ = ["CrumbsForm"]


class CrumbsForm(KeyForm):
    """Each crumb with a tick; what is unticked stays."""

    rests = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Nothing is ticked.",
            "invalid_choice": "What lies there has changed since the list was opened. Look at it again.",
        },
    )

    def __init__(self, *args: Any, rows: Sequence[CrumbRow], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.listed = rows
        field = self.fields["rests"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(row.choice, f"{row.lot.item}, {row.lot}") for row in rows]
        field.initial = [row.choice for row in rows]

    def rows(self) -> Iterator[tuple[BoundWidget, CrumbRow]]:
        """Each crumb with its tick."""
        yield from zip(self["rests"].subwidgets, self.listed, strict=True)

    def seen(self) -> dict[int, int]:
        """By lot that goes, what it held."""
        pairs = (choice.split(":") for choice in self.cleaned_data["rests"])
        return {int(lot): int(held) for lot, held in pairs}
