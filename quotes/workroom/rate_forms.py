"""Rates: what an hour costs, what margin is kept, how fee, tax and deposit go."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.ground.codec import Document
from inventory.ground.money import Currency, RoundingRule
from inventory.ground.site.fields import MoneyField, PercentField

__all__ = ["RatesForm"]

_SHARES = ("contingency_share", "margin_share", "discount_share", "rush_share", "fee_share", "tax_share")
_AMOUNTS = ("labour_per_hour", "overhead_per_hour", "minimum_per_hour", "fee_fixed", "price_step")
_ROUNDING_WORDS = {
    RoundingRule.HALF_UP: "Half a cent goes up",
    RoundingRule.HALF_DOWN: "Half a cent goes down",
    RoundingRule.HALF_EVEN: "Half a cent goes to the even neighbour",
    RoundingRule.DOWN: "Always down",
}


class RatesForm(forms.Form):
    """Hands over rates as a commission file says them (`rates`)."""

    tax_included = forms.TypedChoiceField(
        label="Prices are said",
        coerce=lambda text: text == "True",
        choices=[("True", "with tax"), ("False", "without tax")],
    )
    rounding = forms.ChoiceField(
        label="Tax rounding",
        choices=[(rule.value, words) for rule, words in _ROUNDING_WORDS.items()],
        help_text="The law of your place says which; ask a licensed accountant.",
    )
    deposit_shares = forms.CharField(
        label="Payments", max_length=60, help_text="Percentages in order, adding up to 100: 50 50, or 40 30 30."
    )

    def __init__(self, data: Any = None, *, rates: Document, currency: Currency) -> None:
        initial: dict[str, object] = {
            "tax_included": str(rates["tax_included"]),
            "rounding": rates.get("rounding", RoundingRule.HALF_UP.value),
            "deposit_shares": " ".join(
                f"{Decimal(share) * 100:f}".rstrip("0").rstrip(".") for share in rates["deposit_shares"]
            ),
            **{key: Decimal(rates[key]) for key in (*_SHARES, *_AMOUNTS) if rates.get(key) is not None},
        }
        super().__init__(data, initial=initial)
        self.fields |= {
            "labour_per_hour": MoneyField(currency=currency, label="An hour of work costs"),
            "overhead_per_hour": MoneyField(currency=currency, label="An hour carries of overhead"),
            "contingency_share": PercentField(label="Contingency", required=False),
            "margin_share": PercentField(label="Margin on the net price"),
            "minimum_per_hour": MoneyField(
                currency=currency, label="Least earned per hour", required=False, help_text="Empty for no floor."
            ),
            "discount_share": PercentField(label="Discount", required=False),
            "rush_share": PercentField(label="Rush", required=False),
            "fee_share": PercentField(label="Payment fee", required=False),
            "fee_fixed": MoneyField(currency=currency, label="Payment fee, fixed part", required=False),
            "tax_share": PercentField(label="Tax", required=False),
            "price_step": MoneyField(
                currency=currency, label="Round the price up to", required=False, help_text="Empty for the exact price."
            ),
        }
        self.order_fields(
            [
                "labour_per_hour",
                "overhead_per_hour",
                "minimum_per_hour",
                "margin_share",
                "contingency_share",
                "discount_share",
                "rush_share",
                "fee_share",
                "fee_fixed",
                "tax_share",
                "tax_included",
                "rounding",
                "price_step",
                "deposit_shares",
            ]
        )

    def clean_deposit_shares(self) -> list[str]:
        try:
            percents = [
                Decimal(part.replace(",", ".").rstrip("%")) for part in self.cleaned_data["deposit_shares"].split()
            ]
        except ArithmeticError:
            raise forms.ValidationError("Write percentages with spaces between: 50 50.") from None
        if not all(percent.is_finite() and percent > 0 for percent in percents) or sum(percents) != 100:
            raise forms.ValidationError("The payments are each more than zero and add up to 100.")
        return [str(percent / 100) for percent in percents]

    @property
    def rates(self) -> Document:
        """The rates as a commission file says them; call after `is_valid`."""
        cleaned = self.cleaned_data
        optional = ("minimum_per_hour", "price_step")
        return {
            **{key: f"{cleaned[key] or Decimal(0):f}" for key in (*_SHARES, *_AMOUNTS) if key not in optional},
            **{key: f"{cleaned[key]:f}" for key in optional if cleaned[key]},
            "tax_included": cleaned["tax_included"],
            "rounding": cleaned["rounding"],
            "deposit_shares": cleaned["deposit_shares"],
        }
