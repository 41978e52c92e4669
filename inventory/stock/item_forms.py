"""How an item is kept: place, policy, stand-ins."""

from typing import Any

from django import forms

from inventory.ground.site.fields import QuantityField
from inventory.ground.site.row_forms import RowForm
from inventory.models import StockItem

__all__ = [
    "ItemForm",
    "SubstituteForm",
]


class ItemForm(RowForm[StockItem]):
    """Where it lies and when it is bought."""

    class Meta:
        model = StockItem
        fields = ("place", "policy", "service_percent", "cover_weeks")
        labels = {
            "policy": "When it is bought",
            "service_percent": "Service",
            "cover_weeks": "Order covers (weeks)",
        }
        help_texts = {
            "service_percent": "So much of the unforeseen use is to be met from the shelf.",
            "cover_weeks": "Beyond the reserve. Empty: as long as makes postage and holding least.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["safety"] = QuantityField(
            stock_unit=self.instance.unit, least=0, label="Reserve", initial=self.instance.safety
        )
        self.fields["service_percent"].widget.attrs["data-unit"] = "%"
        self.order_fields(["place", "policy", "safety"])

    def save(self, commit: bool = True) -> StockItem:
        self.instance.safety = self.cleaned_data["safety"]
        # The balances are the ledger's: only what this form asks for is written.
        self.instance.save(update_fields=["place", "policy", "service_percent", "cover_weeks", "safety"])
        return self.instance


class SubstituteForm(forms.Form):
    """Another item of the same kind that may stand in."""

    ask = forms.BooleanField(required=False, label="Only after asking the client")
    why = forms.CharField(max_length=120, required=False, label="Under what condition")

    def __init__(self, *args: Any, item: StockItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = StockItem.objects.filter(material__kind=item.material.kind).exclude(pk=item.pk)
        self.fields["stand_in"] = forms.ModelChoiceField(
            others.exclude(stands_in_for__item=item).select_related("material"), label="What may stand in"
        )
        self.order_fields(["stand_in"])
