"""The forms that a bone comes in beside its own: added with lengths and a price, their prices changed or taken away."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms

from inventory.ground.bone_forms import BoneForm, bone_lengths
from inventory.ground.measures import quantity_text
from inventory.ground.site.fields import UnitCostField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.units import inches_text
from inventory.models import StockItem, StockMaterial

__all__ = ["AddBonesForm", "BonePricesForm", "BoneRow"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneRow:
    """An item of a bone: its form, its length in mm and inches, how many there are; `price` is None for the coil that the
    material's own price is for."""

    item: StockItem
    form: str
    length: str
    on_hand: str
    price: forms.BoundField | None


class AddBonesForm(forms.Form):
    """A further form of a bone, in one length or several, at a price of one."""

    lengths = forms.CharField(
        max_length=400,
        required=False,
        label="Lengths",
        help_text="In mm or with units, several at once: 200 225 250, or 9in 9 1/2in. None for a coil.",
    )

    def __init__(self, *args: Any, material: StockMaterial, **kwargs: Any) -> None:
        # It stands on the page of the material's own form, whose fields have some of the same names.
        super().__init__(*args, **{"auto_id": "add_%s", **kwargs})
        self.material = material
        self.fields["form"] = forms.TypedChoiceField(
            coerce=BoneForm, choices=[(form.value, form.label) for form in BoneForm], label="Form"
        )
        self.fields["unit_cost"] = UnitCostField(label="Price of one", help_text="Of a metre on the coil.")
        self.order_fields(["form", "lengths", "unit_cost"])

    def clean_form(self) -> BoneForm:
        form: BoneForm = self.cleaned_data["form"]
        if form is self.material.bone_form:
            raise forms.ValidationError(
                f"{form.label} is its own form: write its lengths and its price above, among what it is."
            )
        return form

    def clean_lengths(self) -> list[int]:
        try:
            return sorted(set(bone_lengths(self.cleaned_data["lengths"])))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        form, lengths = cleaned.get("form"), cleaned.get("lengths")
        if form is BoneForm.COIL and lengths:
            self.add_error("lengths", "A coil has no lengths: leave them empty.")
        elif form is not None and form is not BoneForm.COIL and lengths == []:
            self.add_error("lengths", "Say how long they are: what is cut has a length.")
        return cleaned


class BonePricesForm(forms.Form):
    """The price of one in each form and length; an empty one takes the price away."""

    def __init__(self, *args: Any, material: StockMaterial, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.items = [
            item for item in material.items.select_related("material") if item.form or _is_length(item, material)
        ]
        for item in self.items:
            if _has_own_price(item):
                self.fields[_name(item)] = UnitCostField(
                    required=False,
                    label=f"Price of one, {item}",
                    initial=None if item.own_cost_millionths is None else item.unit_cost,
                )
                self.fields[_name(item)].widget.attrs["aria-label"] = f"Price of one, {item}"
                if not item.form:
                    self.fields[_name(item)].widget.attrs["placeholder"] = "as above"

    @property
    def rows(self) -> Iterator[BoneRow]:
        """The items with their fields."""
        for item in self.items:
            form = item.bone_form
            assert form is not None
            length = item.size_tenths_mm / 10
            yield BoneRow(
                item=item,
                form=form.label,
                length=f"{item.size_words}, {inches_text(length)} in" if length else "",
                on_hand=quantity_text(item.on_hand, item.unit),
                price=self[_name(item)] if _has_own_price(item) else None,
            )

    @property
    def prices(self) -> dict[int, Decimal | None]:
        """By item."""
        return {item.pk: self.cleaned_data[_name(item)] for item in self.items if _has_own_price(item)}


def _name(item: StockItem) -> str:
    return f"price_{item.pk}"


def _has_own_price(item: StockItem) -> bool:
    """Whether it may cost something else than its material: another form, or one length of several."""
    return bool(item.form or item.size_tenths_mm)


def _is_length(item: StockItem, material: StockMaterial) -> bool:
    """Whether an item of the own form stands in the table: one without a length only where the form has none."""
    return bool(item.size_tenths_mm or item.on_hand or material.bone_form is BoneForm.COIL)
