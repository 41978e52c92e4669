"""Forms of a job's materials: issue what is planned, take back, write off."""

from typing import Any

from django import forms

from inventory.ground.site.fields import QuantityField
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.ground.site.sure_forms import SureForm
from inventory.models import Lot, ReservationLine
from inventory.reckoning.slips import issue_doubts
from inventory.reserving.forms import LotChoice
from inventory.stock.lot_forms import GiveBackForm
from inventory.use.usual import usual_issue
from studio.models import TimeEntry

__all__ = ["IssuePlannedForm", "SpoilForm", "TakeBackForm"]


class IssuePlannedForm(SureForm, KeyForm):
    """So much from a lot; what is planned stands there."""

    def __init__(self, *args: Any, line: ReservationLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.line = line
        lots = line.item.lots.filter(on_hand__gt=0).select_related("item__material")
        whole = lots.filter(remnant_width_mm__isnull=True)
        # The lot that it is kept from; else the open one, or the oldest that holds all of it.
        first = whole.filter(on_hand__gte=line.remaining).order_by("-is_open", "received_on", "pk").first()
        self.fields["lot"] = LotChoice(lots, label="From", empty_label=None, initial=line.lot or first or whole.first())
        self.fields["quantity"] = QuantityField(
            stock_unit=line.item.unit, label="How much", initial=line.remaining or None
        )
        self.fields["takes_reserved"] = forms.BooleanField(
            required=False,
            label="Take it all the same",
            help_text="Seen and accepted: it is kept for other work, raw, or of another lot than the piece began with.",
        )

    def clean(self) -> Cleaned:
        """What may have a digit too many is asked about; what is not there is refused anyhow."""
        cleaned = super().clean() or {}
        if not self.errors and cleaned["quantity"] <= cleaned["lot"].on_hand:
            usual = usual_issue(self.line.item, job=self.line.reservation.reference)
            doubts = issue_doubts(cleaned["quantity"], usual, self.line.item.unit)
            self.ask_unless_sure(doubts, words="Yes, so many")
        return cleaned


class TakeBackForm(GiveBackForm):
    """What was not used: an amount, or a remnant of cloth with both its sizes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["job"]


class SpoilForm(KeyForm):
    """What went wrong with how much, and whether it is cut again."""

    cause = forms.ChoiceField(
        choices=[choice for choice in TimeEntry.Cause.choices if choice[0]], label="Cause", widget=forms.RadioSelect
    )
    words = forms.CharField(max_length=160, label="What happened")
    is_cut_again = forms.BooleanField(required=False, initial=True, label="As much is taken afresh from this lot")

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = QuantityField(stock_unit=lot.item.unit, label="How much was spoiled")
        self.order_fields(["key", "quantity"])
