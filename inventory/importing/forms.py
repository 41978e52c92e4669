"""A maker's own table: the file, what its columns hold, and the word that takes it in."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from openpyxl.utils import get_column_letter

from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.spreadsheet.words import LABELS, Field

__all__ = ["HINTS", "MatchForm", "SheetForm", "TakeInForm"]

HINTS = {
    Field.CODE: "Where it is left out, it is made from the name.",
    Field.KIND: "Cloth, busk, grommet, and the usual words for them.",
    Field.UNIT_COST: "For one of the row’s own unit: beside “yd” it is the price of a yard.",
    Field.UNIT: "m, yd, each, pair, set, dozen. Where it is left out, the kind’s own.",
    Field.VALUE: "Where it is left out, quantity × unit cost.",
    Field.LENGTH: "Flats and busks, in mm or with a unit.",
    Field.WIDTH: "Of cloth, in mm or with a unit; of anything else its width.",
    Field.SUPPLIER: "The code or name of one that is there.",
}


class SheetForm(forms.Form):
    """The file."""

    file = forms.FileField(
        label="Your table",
        help_text="XLSX or CSV as you keep it, one material a row, up to 20,000 rows.",
        widget=forms.ClearableFileInput(attrs={"accept": ".xlsx,.csv"}),
    )


class MatchForm(forms.Form):
    """A select per field with the columns of one header, the first being column `left` of its sheet, from 0.

    Hands over the columns by field.
    """

    def __init__(self, data: Any = None, *, header: Sequence[str], likely: Mapping[Field, int], left: int = 0) -> None:
        super().__init__(data, initial={field.value: column for field, column in likely.items()})
        letters = [get_column_letter(left + place + 1) for place in range(len(header))]
        choices = [
            ("", "none"),
            *((place, f"{letters[place]}: {words[:40] or 'no header'}") for place, words in enumerate(header)),
        ]
        self.letters = letters
        for field in Field:
            self.fields[field.value] = forms.TypedChoiceField(
                choices=choices,
                coerce=int,
                empty_value=None,
                required=False,
                label=LABELS[field].capitalize(),
                help_text=HINTS.get(field, ""),
            )

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if cleaned.get(Field.CODE) is None and cleaned.get(Field.NAME) is None and not self.errors:
            self.add_error(Field.NAME.value, "Say which column holds the name, or the code.")
        taken: dict[int, str] = {}
        for field in Field:
            column = cleaned.get(field)
            if column is not None and taken.setdefault(column, LABELS[field]) != LABELS[field]:
                self.add_error(field.value, f"Column {self.letters[column]} is the {taken[column]} already.")
        return cleaned

    @property
    def columns(self) -> dict[Field, int]:
        """Which column holds which field; call after `is_valid`."""
        cleaned = self.cleaned_data
        return {field: cleaned[field.value] for field in Field if cleaned[field.value] is not None}


class TakeInForm(KeyForm):
    """Take the table in, once."""
