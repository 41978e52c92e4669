"""The maker's own figure in place of a computed one."""

from decimal import Decimal

from django import forms

from inventory.ground.units import parse_number

__all__ = ["OverruleForm"]


class OverruleForm(forms.Form):
    """Hands over an overrule as a commission file says it (`overrule`, without its line)."""

    quantity = forms.CharField(max_length=20, label="Own quantity")
    reason = forms.CharField(max_length=200, label="Why", help_text="Kept beside the computed figure.")

    def clean_quantity(self) -> Decimal:
        try:
            number = parse_number(self.cleaned_data["quantity"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        if number < 0:
            raise forms.ValidationError("A quantity is zero or more.")
        return round(Decimal(number.numerator) / number.denominator, 3)

    @property
    def overrule(self) -> dict[str, str]:
        """Quantity and reason; call after `is_valid`."""
        return {"quantity": f"{self.cleaned_data['quantity']:f}", "reason": self.cleaned_data["reason"]}
