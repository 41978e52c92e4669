"""How the shelf is valued, what holding costs, which remnants are kept."""

from typing import Any

from inventory.ground.site.row_forms import RowForm
from inventory.models import Shelf


class ShelfForm(RowForm[Shelf]):
    """Valuation, holding, remnants."""

    class Meta:
        model = Shelf
        fields = (
            "method",
            "holding_percent_per_year",
            "surplus_days",
            "review_days",
            "remnant_width_mm",
            "remnant_length_mm",
        )
        labels = {
            "method": "Stock is valued by",
            "holding_percent_per_year": "Holding stock costs a year",
            "surplus_days": "What is bought beyond need lies (days)",
            "review_days": "You look what to order every (days)",
            "remnant_width_mm": "A remnant is kept from a width of",
            "remnant_length_mm": "and a length along the grain of",
        }
        help_texts = {
            "method": "Chosen once: it stays after the first movement. An accountant says which suits.",
            "holding_percent_per_year": "Money tied up, room, what goes out of use: 12 to 24 % is common practice.",
            "review_days": "Reserves must last until then. Empty: learnt from when you did.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in (
            ("holding_percent_per_year", "%"),
            ("remnant_width_mm", "mm"),
            ("remnant_length_mm", "mm"),
        ):
            self.fields[name].widget.attrs["data-unit"] = unit

    def save(self, commit: bool = True) -> Shelf:
        # Method, currency and closed months are kept by use cases of their own.
        names = [name for name in self.Meta.fields if name != "method"]
        Shelf.objects.filter(pk=1).update(**{name: self.cleaned_data[name] for name in names})
        kept: Shelf = self.instance
        return kept
