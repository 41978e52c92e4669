"""Clients and their measures."""

from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.site.fields import DayField, FieldRow, LengthField
from inventory.ground.site.row_forms import RowForm
from inventory.ground.units import LengthUnit
from quotes.clients.measuring import MEASURE_UNITS, catalogue
from quotes.defaults import desk_defaults
from quotes.models import Client

__all__ = ["ClientForm", "HealthForm", "MeasuresForm"]

TAKES = desk_defaults().measuring.takes


class ClientForm(RowForm[Client]):
    """Who they are and how to reach them."""

    class Meta:
        model = Client
        fields = ("name", "email", "phone", "address", "language", "notes", "may_photograph")
        labels = {"language": "Written to in"}
        widgets = {"address": forms.Textarea(attrs={"rows": 3}), "notes": forms.Textarea(attrs={"rows": 4})}


class HealthForm(forms.Form):
    """What they said about their health, in confidence."""

    answers = forms.CharField(
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 8}),
        label="Answers",
        help_text="Pregnancy, recent birth or surgery, hernia, heart, blood pressure, lungs, spine, bones, digestion, "
        "allergies (nickel). Kept as briefly as the law requires.",
    )


class MeasuresForm(forms.Form):
    """One set of measures, each taken up to three times, in one unit or with units of their own."""

    taken_on = DayField(label="Taken on", has_come=True)
    unit = forms.ChoiceField(label="Written in", choices=[(unit.value, unit.value) for unit in MEASURE_UNITS])
    notes = forms.CharField(required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 3}), label="Notes")

    def __init__(self, data: Any = None, *, length_unit: LengthUnit) -> None:
        super().__init__(data, initial={"taken_on": timezone.localdate(), "unit": length_unit.value})
        written = (
            LengthUnit(data.get("unit", length_unit)) if data and data.get("unit") in MEASURE_UNITS else length_unit
        )
        for kind in catalogue():
            for take in range(1, TAKES + 1):
                self.fields[f"{kind.code}.{take}"] = LengthField(
                    length_unit=written, required=False, least_mm=5, label=f"{kind.words}, take {take}"
                )

    def groups(self) -> dict[str, list[FieldRow]]:
        """The fields measure by measure, by the title of their group, for the page."""
        groups: dict[str, list[FieldRow]] = {}
        for kind in catalogue():
            fields = [self[f"{kind.code}.{take}"] for take in range(1, TAKES + 1)]
            groups.setdefault(kind.group, []).append(FieldRow(words=kind.words, fields=fields))
        return groups

    @property
    def takes_mm(self) -> dict[str, list[float]]:
        """The takes of each measure that was taken, mm; call after `is_valid`."""
        takes_mm = {}
        for kind in catalogue():
            takes = [self.cleaned_data[f"{kind.code}.{take}"] for take in range(1, TAKES + 1)]
            if any(takes):
                takes_mm[kind.code] = [take for take in takes if take]
        return takes_mm
