"""Something named with its amount."""

from typing import Any, ClassVar

from django import forms

from inventory.ground.money import Currency
from inventory.ground.site.fields import MoneyField
from inventory.ground.site.keyed_forms import Cleaned

__all__ = ["NamedAmountForm"]


class NamedAmountForm(forms.Form):
    """Words and an amount, both or neither; a set of them stands on a page. `kind` is what a sentence calls it."""

    kind: ClassVar[str]
    amount_label: ClassVar[str] = "Amount"

    what = forms.CharField(max_length=120, required=False, label="What")

    def __init__(self, *args: Any, currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = MoneyField(currency=currency, required=False, label=self.amount_label)

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if bool(cleaned.get("what")) != (cleaned.get("amount") is not None):
            raise forms.ValidationError(f"{self.kind} needs both words and an amount.")
        return cleaned
