"""What is done to a lot: one form an act, each with the key that makes a double click count once."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.money import Currency
from inventory.ground.site.fields import DayField, LengthField, MoneyField, QuantityField
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.models import Lot, StockItem, Supplier
from inventory.stock.remnants import Remnant

__all__ = [
    "CountForm",
    "GiveBackForm",
    "IssueForm",
    "ReceiveForm",
    "ScrapForm",
    "SplitForm",
    "WashForm",
    "remnant_of",
]


def remnant_of(cleaned: Mapping[str, Any]) -> Remnant | None:
    """Return the size that a form's fields `width` and `length` say; None where it has none, or they were left empty."""
    width, length = cleaned.get("width"), cleaned.get("length")
    return Remnant(width_mm=round(width), length_mm=round(length)) if width and length else None


class _LotForm(KeyForm):
    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lot = lot

    def add_quantity(self, label: str, **kwargs: Any) -> None:
        """A field for an amount in the unit that the lot is counted in."""
        self.fields["quantity"] = QuantityField(stock_unit=self.lot.item.unit, label=label, **kwargs)


class IssueForm(_LotForm):
    """So much to a job."""

    job = forms.CharField(max_length=40, label="For which job", help_text="As it is kept for: Q12.")
    takes_reserved = forms.BooleanField(
        required=False,
        label="Take it all the same",
        help_text="Although it is kept for other work, raw, or of another lot than the piece began with.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_quantity("How much")
        self.order_fields(["quantity", "job"])


class GiveBackForm(_LotForm):
    """Unused material from a job, whole or as a remnant of cloth."""

    job = forms.CharField(max_length=40, label="From which job")
    again = forms.BooleanField(required=False, label="The job still needs it: keep it for the job again")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.lot.item.material.is_cloth:
            self.fields["width"] = LengthField(
                required=False,
                most_mm=3000,
                label="Or a remnant, across",
                help_text="With both sizes it is a lot of its own.",
            )
            self.fields["length"] = LengthField(required=False, most_mm=50_000, label="Remnant along the grain")
        self.add_quantity("How much, of full width" if self.lot.item.material.is_cloth else "How much", required=False)
        self.order_fields(["job", "quantity", "width", "length", "again"])

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        sizes = [cleaned.get("width"), cleaned.get("length")]
        if bool(cleaned.get("quantity")) == all(sizes) and not self.errors:
            raise forms.ValidationError("Say how much of full width, or both sizes of a remnant.")
        return cleaned


class ScrapForm(_LotForm):
    """So much written off."""

    why = forms.CharField(max_length=200, label="What happened")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_quantity("How much")
        self.order_fields(["quantity"])


class CountForm(_LotForm):
    """What really lies there, against what the book said when the form was opened."""

    book = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    why = forms.CharField(max_length=200, label="Why it differs, as far as you know")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_quantity("What lies there", least=0)
        self.fields["book"].initial = self.lot.on_hand
        self.order_fields(["quantity"])


class WashForm(_LotForm):
    """Raw cloth before and after; of a remnant both sizes after."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.lot.is_remnant:
            self.fields["width"] = LengthField(most_mm=3000, least_mm=1, label="Across, after washing")
            self.fields["length"] = LengthField(most_mm=50_000, least_mm=1, label="Along the grain, after washing")
            return
        self.add_quantity("Length before", initial=self.lot.on_hand)
        self.fields["ready"] = QuantityField(stock_unit=self.lot.item.unit, label="Length after, measured")


class SplitForm(_LotForm):
    """A remnant with its real size."""

    width = LengthField(most_mm=3000, label="Across the cloth")
    length = LengthField(most_mm=50_000, label="Along the grain")


class ReceiveForm(KeyForm):
    """Goods that came without an order: a purchase over the counter, or what was there already."""

    def __init__(self, *args: Any, item: StockItem, currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = QuantityField(stock_unit=item.unit, label="How much came")
        self.fields["value"] = MoneyField(
            currency=currency, label="What it cost in all", help_text="With postage and duty, less what comes back."
        )
        self.fields["received_on"] = DayField(label="When", initial=timezone.localdate, has_come=True)
        self.fields["supplier"] = forms.ModelChoiceField(
            Supplier.objects.filter(is_retired=False), required=False, empty_label="Somebody else", label="From"
        )
        self.fields["dye_lot"] = forms.CharField(max_length=60, required=False, label="Dye or colour lot")
        self.fields["place"] = forms.CharField(max_length=60, required=False, label="Storage place", initial=item.place)
        if item.material.is_cloth:
            self.fields["is_raw"] = forms.BooleanField(required=False, label="Raw: to be washed before it is cut")
