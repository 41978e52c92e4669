"""The workroom's settings, yearly costs, standard minutes and constructions."""

from typing import Any

from babel.core import get_global
from django import forms

from inventory.fields import MoneyField
from inventory.money import Currency
from quotes.construction.model import Construction
from quotes.labour.model import StandardTimes
from quotes.models import Workroom
from quotes.takeoff.drivers import Driver

__all__ = ["ConstructionForm", "CopyForm", "MinutesForm", "ProductiveForm", "WorkroomForm", "YearlyCostForm"]


class WorkroomForm(forms.ModelForm):
    """Name, address, currency, unit and how long a quote holds."""

    class Meta:
        model = Workroom
        fields = ("name", "address", "currency", "length_unit", "quote_valid_days")
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}
        help_texts = {"currency": "ISO 4217, such as EUR, GBP or JPY; for quotes from now on."}
        labels = {"length_unit": "Lengths shown in", "quote_valid_days": "Quotes hold for (days)"}

    def clean_currency(self) -> str:
        code = str(self.cleaned_data["currency"]).upper()
        if code not in get_global("all_currencies"):
            raise forms.ValidationError(f"{code} is no ISO 4217 currency code.")
        return code


class ProductiveForm(forms.ModelForm):
    """How many hours of a year are sold."""

    class Meta:
        model = Workroom
        fields = ("productive_weeks", "hours_per_week", "productive_percent")
        labels = {
            "productive_weeks": "Weeks worked in a year",
            "hours_per_week": "Hours in a week",
            "productive_percent": "Of these at the table (%)",
        }


class YearlyCostForm(forms.Form):
    """One yearly cost; a set of them stands on the overhead page."""

    what = forms.CharField(max_length=120, required=False, label="What")

    def __init__(self, *args: Any, currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = MoneyField(currency=currency, required=False, label="A year")

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if bool(said.get("what")) != (said.get("amount") is not None):
            raise forms.ValidationError("A cost needs both words and an amount.")
        return said


class MinutesForm(forms.Form):
    """The table of standard minutes: set-up and minutes per unit of each operation, speed, allowance."""

    stitches_per_min = forms.FloatField(min_value=50, max_value=5000, label="Stitches a minute")
    guiding_factor = forms.FloatField(min_value=1, max_value=5, label="Guided lines take longer, times")
    allowance_percent = forms.FloatField(min_value=0, max_value=100, label="Allowance (%)")

    def __init__(self, data: Any = None, *, times: StandardTimes) -> None:
        self.times = times
        super().__init__(
            data,
            initial={
                "stitches_per_min": times.stitches_per_min,
                "guiding_factor": times.guiding_factor,
                "allowance_percent": round(times.allowance_share * 100, 4),
            },
        )
        for operation in times.operations:
            self.fields[f"{operation.code}.setup"] = _minutes(operation.setup_min, f"{operation.name}, set-up")
            for driver, minutes in operation.unit_min.items():
                if minutes:
                    words = f"{operation.name}, a unit of {Driver(driver).words}"
                    self.fields[f"{operation.code}.{driver}"] = _minutes(minutes, words)

    def rows(self) -> list[dict[str, Any]]:
        """The operations for the page's table."""
        return [
            {
                "code": operation.code,
                "name": operation.name,
                "why": operation.why,
                "is_sewn": bool(operation.stitches),
                "setup": self[f"{operation.code}.setup"],
                "units": [
                    {"words": Driver(driver).words, "field": self[f"{operation.code}.{driver}"]}
                    for driver, minutes in operation.unit_min.items()
                    if minutes
                ],
            }
            for operation in self.times.operations
        ]

    def document(self, document: dict[str, Any]) -> dict[str, Any]:
        """The table's document with what was said put in; call after `is_valid`."""
        said = self.cleaned_data
        operations = []
        for row in document["operations"]:
            units = {
                driver: said.get(f"{row['code']}.{driver}", minutes) for driver, minutes in row["unit_min"].items()
            }
            operations.append({**row, "setup_min": said[f"{row['code']}.setup"], "unit_min": units})
        return {
            **document,
            "stitches_per_min": said["stitches_per_min"],
            "guiding_factor": said["guiding_factor"],
            "allowance_share": said["allowance_percent"] / 100,
            "operations": operations,
        }


class CopyForm(forms.Form):
    """What a copied construction is called."""

    title = forms.CharField(max_length=120, label="Title")
    code = forms.SlugField(
        max_length=60, label="Short name", help_text="Small letters, digits and hyphens: my-two-layer."
    )


class ConstructionForm(forms.Form):
    """What of a construction is changed in the site; the layers and shells stand beside it."""

    title = forms.CharField(max_length=120, label="Title")
    front = forms.ChoiceField(label="Front", choices=[("busk", "Busk"), ("zip", "Zip"), ("closed", "Closed")])
    binding = forms.ChoiceField(label="Binding", choices=[("cut", "Cut on the bias"), ("bought", "Bought")])
    has_waist_tape = forms.BooleanField(required=False, label="Waist tape")
    method = forms.ChoiceField(
        label="Channels",
        choices=[("between-layers", "Between the layers"), ("casing", "Under casing tape"), ("welt", "In the welt")],
    )
    bones_per_seam = forms.TypedChoiceField(
        coerce=int, choices=[(0, "None"), (1, "One"), (2, "Two")], label="Bones on a seam"
    )
    mid_panel = forms.CharField(
        required=False, max_length=60, label="Bones down panels", help_text="Panel numbers: 3 4."
    )
    at_busk = forms.TypedChoiceField(
        coerce=int, choices=[(0, "None"), (1, "One each side")], label="Bones beside the front"
    )

    _SIZES = (
        ("allowances", "seam_mm", "Seam allowance"),
        ("allowances", "centre_front_mm", "Allowance at centre front"),
        ("allowances", "centre_back_mm", "Allowance at centre back"),
        ("allowances", "top_mm", "Trimming at the top"),
        ("allowances", "bottom_mm", "Trimming at the bottom"),
        ("bones", "shorter_by_mm", "Bone shorter than its channel"),
        ("grommets", "pitch_mm", "Grommets apart"),
        ("grommets", "waist_pitch_mm", "Grommets apart at the waist"),
        ("grommets", "margin_mm", "Grommet margin at the ends"),
    )

    def __init__(self, data: Any = None, *, construction: Construction) -> None:
        self.construction = construction
        channels = construction.channels
        super().__init__(
            data,
            initial={
                "title": construction.title,
                "front": construction.front,
                "binding": construction.binding,
                "has_waist_tape": construction.has_waist_tape,
                "method": channels.method,
                "bones_per_seam": channels.bones_per_seam,
                "mid_panel": " ".join(map(str, channels.mid_panel)),
                "at_busk": construction.bones.at_busk,
            },
        )
        for part, name, words in self._SIZES:
            value = getattr(getattr(construction, part), name)
            self.fields[f"{part}.{name}"] = forms.FloatField(min_value=0, max_value=150, label=words, initial=value)
            self.fields[f"{part}.{name}"].widget.attrs["data-unit"] = "mm"
        for shell_index, shell in enumerate(construction.shells):
            lengths = " ".join(f"{step.stitch_mm:g}" for step in shell.passes)
            self.fields[f"passes.{shell_index}"] = forms.CharField(
                max_length=40,
                label=f"Passes of the {shell.title}",
                initial=lengths,
                help_text="Stitch length of each, mm: 3 2.",
            )

    def clean_mid_panel(self) -> list[int]:
        return _whole_numbers(self.cleaned_data["mid_panel"])

    def document(self, document: dict[str, Any]) -> dict[str, Any]:
        """The construction's document with what was said put in; call after `is_valid`."""
        said = self.cleaned_data
        changed = {
            **document,
            "title": said["title"],
            "front": said["front"],
            "binding": said["binding"],
            "has_waist_tape": said["has_waist_tape"],
            "channels": {
                **document["channels"],
                "method": said["method"],
                "bones_per_seam": said["bones_per_seam"],
                "mid_panel": said["mid_panel"],
            },
            "bones": {**document["bones"], "at_busk": said["at_busk"]},
            "shells": [
                {**shell, "passes": _passes(said[f"passes.{index}"])} for index, shell in enumerate(document["shells"])
            ],
        }
        for part, name, _ in self._SIZES:
            changed[part] = {**changed[part], name: said[f"{part}.{name}"]}
        return changed


def _minutes(value: float, words: str) -> forms.FloatField:
    return forms.FloatField(min_value=0, max_value=6000, initial=value, label=words)


def _whole_numbers(text: str) -> list[int]:
    try:
        return sorted({int(part) for part in text.replace(",", " ").split()})
    except ValueError:
        raise forms.ValidationError("Write whole numbers with spaces between: 3 4.") from None


def _passes(text: str) -> list[dict[str, Any]]:
    """Stitch lengths to passes; what is no number is left for the construction's own check to name."""
    return [{"stitch_mm": _number(part), "back_tacks": 2} for part in text.replace(",", ".").split()]


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
