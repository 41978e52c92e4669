"""A shopping list as a form: what was bought of it, for how much, where."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils import timezone

from inventory.buying.shopping import Bought, ToBuy
from inventory.ground.money import Currency
from inventory.ground.site.fields import DayField, MoneyField, QuantityField
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.models import StockItem, Supplier

__all__ = ["ChooseForm", "ShoppingForm"]


class ChooseForm(forms.Form):
    """Items that are on the list whether or not they are short."""

    item = forms.ModelMultipleChoiceField(
        StockItem.objects.filter(material__is_retired=False).select_related("material"),
        to_field_name="code",
        required=False,
        label="Besides what is short",
    )


class ShoppingForm(KeyForm):
    """Rows that are ticked off once bought, and where that was."""

    def __init__(self, *args: Any, rows: Sequence[ToBuy], currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.listed, self.currency = rows, currency
        for row in rows:
            item = row.item
            self.fields[f"bought_{item.pk}"] = forms.BooleanField(required=False, label="Bought")
            self.fields[f"quantity_{item.pk}"] = QuantityField(
                stock_unit=item.unit, required=False, label="How much", initial=row.quantity
            )
            self.fields[f"paid_{item.pk}"] = MoneyField(currency=currency, required=False, label="Paid in all")
            if item.material.is_cloth:
                self.fields[f"dye_{item.pk}"] = forms.CharField(
                    required=False, max_length=60, label="Dye or colour lot"
                )
                self.fields[f"raw_{item.pk}"] = forms.BooleanField(
                    required=False,
                    label="Raw: to be washed before it is cut",
                    initial=bool(item.material.shrinkage_permille),
                )
        self.fields["supplier"] = forms.ModelChoiceField(
            Supplier.objects.filter(is_retired=False), required=False, empty_label="A new place", label="Where"
        )
        self.fields["new_place"] = forms.CharField(required=False, max_length=120, label="Name of the new place")
        self.fields["bought_on"] = DayField(label="When", initial=timezone.localdate, has_come=True)

    def rows(self) -> Iterator[tuple[ToBuy, BoundField, list[BoundField], BoundField | None]]:
        """Rows with their tick, their fields, and whether it is raw."""
        for row in self.listed:
            names = [f"{name}_{row.item.pk}" for name in ("quantity", "paid", "dye")]
            raw = self[f"raw_{row.item.pk}"] if f"raw_{row.item.pk}" in self.fields else None
            yield row, self[f"bought_{row.item.pk}"], [self[name] for name in names if name in self.fields], raw

    def clean(self) -> Cleaned:
        """What is ticked off has an amount and a price, and what has a price is ticked off."""
        cleaned = super().clean() or {}
        for row in self.listed:
            quantity, paid = f"quantity_{row.item.pk}", f"paid_{row.item.pk}"
            if cleaned.get(f"bought_{row.item.pk}"):
                for name, words in ((quantity, "Say how much was bought."), (paid, "Say what it cost in all.")):
                    if name not in self.errors and cleaned.get(name) is None:
                        self.add_error(name, words)
            elif cleaned.get(paid) is not None:
                self.add_error(f"bought_{row.item.pk}", "It has a price: tick it off, or take the price away.")
        return cleaned

    def bought(self) -> list[Bought]:
        """What is ticked off."""
        cleaned = self.cleaned_data
        return [
            Bought(
                item=row.item,
                quantity=cleaned[f"quantity_{row.item.pk}"],
                paid_minor=self.currency.to_minor(cleaned[f"paid_{row.item.pk}"]),
                dye_lot=cleaned.get(f"dye_{row.item.pk}", ""),
                is_raw=cleaned.get(f"raw_{row.item.pk}", False),
            )
            for row in self.listed
            if cleaned[f"bought_{row.item.pk}"]
        ]
