"""A material's form: what it is, its price, the facts of its kind."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from inventory.ground.bone_forms import BoneForm, bone_lengths
from inventory.ground.colours import NEUTRAL_TONE
from inventory.ground.materials import KINDS, Fact, kind_of
from inventory.ground.pictures import Picture, swatch_of_cloth
from inventory.ground.site.fields import FactField, PercentField, PhotoField, UnitCostField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.row_forms import RowForm
from inventory.models import StockMaterial
from inventory.models.materials import MILLIONTHS

__all__ = ["MaterialForm"]

WIDEST_BONE_MM = Decimal(50)
"""What is wider is no bone but a slip of the unit."""


def _fact_field(fact: Fact, kept: str) -> forms.Field:
    if not fact.is_number:
        return forms.CharField(max_length=80, required=False, label=fact.label, help_text=fact.hint, initial=kept)
    field = FactField(most=fact.most, required=False, label=fact.label, help_text=fact.hint)
    field.initial = Decimal(kept) if kept else None
    field.widget.attrs["data-unit"] = fact.unit
    return field


class MaterialForm(RowForm[StockMaterial]):
    """Hands over a StockMaterial ready to be kept; the facts of its kind are asked for once it is there.

    `swatch` is a square of its photograph where that is new.
    """

    photo = PhotoField(required=False)
    swatch: Picture | None = None

    class Meta:
        model = StockMaterial
        fields = (
            "name",
            "code",
            "kind",
            "form",
            "colour",
            "colour_value",
            "handling",
            "photo",
            "usable_width_mm",
            "has_nap",
            "step_mm",
            "pack",
            "is_retired",
        )
        widgets = {"colour_value": forms.TextInput(attrs={"type": "color"})}
        labels = {
            "colour_value": "Drawn in",
            "code": "Short name",
            "form": "Comes",
            "usable_width_mm": "Usable width",
            "has_nap": "Nap, pile or one-way print",
            "step_mm": "Sold in steps of",
            "pack": "Pieces in a pack",
            "is_retired": "No longer used for new quotes",
        }
        help_texts = {
            "code": "Small letters, digits and hyphens; commission files name it so.",
            "usable_width_mm": "Cloth, toile cloth and fusible: width less selvedges.",
            "form": "Bones: the form that the price is for. Other forms are added once it is kept.",
            "step_mm": "Kinds that are sold by length.",
            "pack": "Kinds that are sold by count.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        material = self.instance
        is_kept = material.pk is not None
        self.fields["unit_cost"] = UnitCostField(
            label="Price of one",
            help_text="A metre, a piece, a pair or a set, as the kind is counted.",
            initial=material.unit_cost if is_kept else None,
        )
        if material.is_from_memory:
            self.fields["is_from_memory"] = forms.BooleanField(
                required=False,
                initial=True,
                label="The price is from memory",
                help_text="Replace it: another price here does, and so does the first receipt. Untick it where it is right.",
            )
        self.fields["shrinkage"] = PercentField(
            required=False,
            most=Decimal("0.5"),
            label="Shrinkage in length",
            initial=Decimal(material.shrinkage_permille) / 1000 if is_kept else None,
        )
        self.fields["lengths"] = forms.CharField(
            required=False,
            max_length=400,
            label="Lengths it comes in",
            help_text="Cut and tipped bones and busks, in mm or with units: 229 254 11in. Empty for the usual ones.",
            initial=" ".join(f"{tenths / 10:g}" for tenths in material.lengths_tenths_mm) if is_kept else "",
        )
        self.fields["by_words"] = forms.BooleanField(
            required=False,
            label="Drawn as its photograph shows it, or as the words of its colour say",
            initial=not material.colour_value,
        )
        if not material.colour_value:
            self.initial["colour_value"] = material.priced().shown_tone if is_kept else NEUTRAL_TONE
        if not is_kept or material.bone_form is not None:
            self.fields["width"] = FactField(
                most=WIDEST_BONE_MM,
                decimals=1,
                required=False,
                label="Width of a bone",
                help_text="Bones of one kind and one width stand in for each other.",
                initial=None if material.width_tenths_mm is None else Decimal(material.width_tenths_mm) / 10,
            )
            self.fields["width"].widget.attrs["data-unit"] = "mm"
        self._ask_for_its_form()
        for name in ("usable_width_mm", "step_mm"):
            self.fields[name].widget.attrs["data-unit"] = "mm"
        if is_kept:
            self.fields["code"].disabled = True
            # A kind is not changed once stock of it may have moved: its quantities would mean something else.
            self.fields["kind"].disabled = True
            for fact in KINDS[kind_of(material.kind)].facts:
                self.fields[f"fact_{fact.name}"] = _fact_field(fact, material.facts.get(fact.name, ""))
        self.order_fields(
            [
                "name",
                "code",
                "kind",
                "form",
                "width",
                "unit_cost",
                "is_from_memory",
                "colour",
                "by_words",
                "colour_value",
            ]
        )

    def _ask_for_its_form(self) -> None:
        """In which form a bone comes: chosen when it is new, and fixed from then on as its kind is."""
        form = self.fields["form"]
        assert isinstance(form, forms.ChoiceField)
        material = self.instance
        if material.pk is None:
            form.choices = [("", "As its kind is usually sold"), *((form.value, form.label) for form in BoneForm)]
        elif material.bone_form is None:
            del self.fields["form"]
        else:
            form.choices = [(material.form, material.bone_form.label)]
            form.disabled = True

    def clean_lengths(self) -> list[int]:
        try:
            return sorted(set(bone_lengths(self.cleaned_data["lengths"])))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def clean_photo(self) -> object:
        photo = self.cleaned_data["photo"]
        if isinstance(photo, UploadedFile):
            self.swatch = swatch_of_cloth(photo.read())
            photo.seek(0)
        return photo

    def filled(self) -> StockMaterial:
        """The material as the form says it, ready to be kept."""
        cleaned = self.cleaned_data
        self.instance.unit_cost_millionths = int(cleaned["unit_cost"] * MILLIONTHS)
        self.instance.is_from_memory = cleaned.get("is_from_memory", False)
        self.instance.shrinkage_permille = int((cleaned["shrinkage"] or Decimal(0)) * 1000)
        self.instance.lengths_tenths_mm = cleaned["lengths"]
        if "width" in cleaned:
            self.instance.width_tenths_mm = None if cleaned["width"] is None else int(cleaned["width"] * 10)
        facts = {name.removeprefix("fact_"): cleaned[name] for name in self.fields if name.startswith("fact_")}
        self.instance.facts = {
            name: f"{value:f}" if isinstance(value, Decimal) else value for name, value in facts.items() if value
        }
        return self.instance

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        # Who chooses a tone means it, whatever the tick beside it says.
        if cleaned.get("by_words") and "colour_value" not in self.changed_data:
            cleaned["colour_value"] = ""
        self._must_come_as_its_kind_does(cleaned)
        # The model's own constraints ask for the price, which this form keeps under another name.
        if "unit_cost" in cleaned:
            self.instance.unit_cost_millionths = int((cleaned["unit_cost"] or 0) * MILLIONTHS)
        return cleaned

    def _must_come_as_its_kind_does(self, cleaned: Cleaned) -> None:
        """Only bones come in forms, and what is on the coil in no lengths."""
        kind = cleaned.get("kind")
        if not kind:
            return
        usual = KINDS[kind_of(kind)].form
        if usual is None:
            if cleaned.get("form"):
                self.add_error("form", "Only bones come on the coil, cut or tipped: leave it as its kind is sold.")
            if cleaned.get("width"):
                self.add_error("width", "This is the width of bones: leave it empty.")
            return
        form = BoneForm(cleaned.get("form") or usual)
        if form is BoneForm.COIL and cleaned.get("lengths"):
            self.add_error(
                "lengths", "What comes on the coil has no lengths: leave them empty, and add cut forms once it is kept."
            )
        # Kept empty where it says no more than the kind does.
        cleaned["form"] = "" if form is usual else form.value
