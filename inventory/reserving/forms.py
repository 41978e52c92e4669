"""When work starts, which lot it is kept from, why it is released."""

from typing import Any

from django import forms

from inventory.ground.measures import quantity_text
from inventory.ground.site.fields import DayField
from inventory.ground.site.row_forms import RowChoice
from inventory.models import Lot, ReservationLine

__all__ = [
    "LotChoice",
    "LotForm",
    "ReleaseForm",
    "StartForm",
]


class StartForm(forms.Form):
    """The day on which work would start."""

    start = DayField(label="If it starts on")


class LotForm(forms.Form):
    """One lot of the item, or any."""

    def __init__(self, *args: Any, line: ReservationLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lots = line.item.lots.filter(on_hand__gt=0, remnant_width_mm__isnull=True).select_related("item__material")
        self.fields["lot"] = LotChoice(
            lots, required=False, empty_label="Any lot", label="Keep it from", initial=line.lot
        )


class ReleaseForm(forms.Form):
    """Why nothing is kept any more."""

    why = forms.CharField(max_length=200)


class LotChoice(RowChoice[Lot]):
    """A lot with what it holds."""

    def label_from_instance(self, lot: Lot) -> str:
        size = f", remnant {lot.remnant_size}" if lot.is_remnant else ""
        raw = ", raw" if lot.state == Lot.State.RAW else ""
        return f"{lot}: {quantity_text(lot.on_hand, lot.item.unit)}{size}{raw}"
