"""A stocktake's forms: start it, count a line, hand in a sheet, give reasons and post."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, TypeVar

from django import forms

from inventory.counting.stocktaking import UNEXPLAINED_PERCENT, Difference
from inventory.ground.materials import KINDS, kind_of
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.ground.site.sure_forms import SureForm
from inventory.models import CountLine
from inventory.reckoning.slips import count_doubts
from inventory.reckoning.weighing import (
    counted_quantity,
    grams_of,
    how_weighed,
    net_grams,
    unit_weight,
    weighed_quantity,
)
from inventory.stock.moved import last_movement

__all__ = ["CountLineForm", "ReviewForm", "SheetForm", "StartForm"]

Read = TypeVar("Read")

_AT = "at "  # before a place's name, so that the whole shelf, which has none, is an answer too
_OF = "of "  # before a kind


class StartForm(forms.Form):
    """What is to be counted, and how; hands over `place` and `kind`, one of them or none."""

    is_blind = forms.BooleanField(required=False, initial=True, label="Blind: without what the book says")

    def __init__(self, *args: Any, places: Sequence[tuple[str, int]], bones: Mapping[str, int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        everything = sum(lots for _, lots in places)
        self.fields["place"] = forms.ChoiceField(
            label="What to count",
            choices=[
                *(
                    (f"{_AT}{place}", f"{place or 'The whole shelf'} ({_lots(lots)})")
                    for place, lots in [("", everything), *((place, lots) for place, lots in places if place)]
                ),
                *(
                    (f"{_OF}{kind}", f"{KINDS[kind_of(kind)].label}, by length ({_lots(n)})")
                    for kind, n in bones.items()
                ),
            ],
        )
        self.order_fields(["place"])

    def clean(self) -> Cleaned:
        """The choice as a place or a kind."""
        cleaned = super().clean() or {}
        chosen = cleaned.get("place", "")
        cleaned["kind"] = chosen.removeprefix(_OF) if chosen.startswith(_OF) else ""
        cleaned["place"] = chosen.removeprefix(_AT) if chosen.startswith(_AT) else ""
        return cleaned


def _lots(count: int) -> str:
    return f"{count} {'lot' if count == 1 else 'lots'}"


class CountLineForm(SureForm):
    """What one lot was found to hold: an amount, or a weight where the material says what it weighs.

    Hands over `counted` in base units, `how` in words, and the lot's last movement that was `seen`.
    """

    seen = forms.IntegerField(required=False, widget=forms.HiddenInput, min_value=0)

    amount = forms.CharField(
        max_length=40,
        label="How much lies there",
        error_messages={"required": "Write down what lies there; 0 where nothing does."},
    )

    def __init__(self, *args: Any, line: CountLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.book = line.lot.on_hand
        material = line.lot.item.material
        self.unit = line.lot.item.unit
        self.grams = unit_weight(material.facts, self.unit)
        self.fields["seen"].initial = lambda: last_movement(line.lot)
        self.fields["amount"].widget.attrs.update({"data-unit": self.unit.value, "autofocus": True})
        self.fields["amount"].required = self.grams is None
        if self.grams is not None:
            self.fields["gross"] = forms.CharField(
                required=False, max_length=40, label="Or it weighs, with its reel or box"
            )
            self.fields["empty"] = forms.CharField(required=False, max_length=40, label="The reel or box alone")
            for name in ("gross", "empty"):
                self.fields[name].widget.attrs["data-unit"] = "g"
        for field in self.fields.values():
            field.widget.attrs.update(inputmode="decimal", autocomplete="off")

    def clean_amount(self) -> int | None:
        """The amount in base units."""
        return self._read("amount", lambda text: counted_quantity(text, self.unit))

    def clean_gross(self) -> Decimal | None:
        """Grams."""
        return self._read("gross", grams_of)

    def clean_empty(self) -> Decimal | None:
        """Grams."""
        return self._read("empty", grams_of)

    def clean(self) -> Cleaned:
        """One way of counting, not two and not none."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        amount, gross, empty = cleaned["amount"], cleaned.get("gross"), cleaned.get("empty")
        if amount is not None and (gross, empty) != (None, None):
            raise forms.ValidationError("Write down the amount or the weight, not both.")
        if amount is not None:
            return self._asked({"counted": amount, "how": "counted"})
        if gross is None:
            raise forms.ValidationError("Write down what lies there; 0 where nothing does.")
        assert self.grams is not None  # there is no field for a weight otherwise
        try:
            net = net_grams(gross, empty or Decimal(0))
        except ValueError as error:
            raise forms.ValidationError({"empty": str(error)}) from None
        return self._asked(
            {
                "counted": weighed_quantity(net, self.grams, self.unit),
                "how": how_weighed(net, self.grams, self.unit),
            }
        )

    def _asked(self, cleaned: Cleaned) -> Cleaned:
        """What may have a digit too many is asked about."""
        cleaned["seen"] = self.cleaned_data["seen"]
        self.ask_unless_sure(count_doubts(cleaned["counted"], self.book, self.unit), words="Yes, so many")
        return cleaned

    def _read(self, name: str, reader: Callable[[str], Read]) -> Read | None:
        text = self.cleaned_data[name]
        try:
            return reader(text) if text else None
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


class SheetForm(forms.Form):
    """A count sheet that comes back."""

    file = forms.FileField(
        label="Filled-in sheet",
        help_text="XLSX or CSV. What moved since it was handed out has to be counted again.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].widget.attrs["accept"] = ".xlsx,.csv"


class ReviewForm(KeyForm):
    """The reason for the whole, and for each difference that is large."""

    def __init__(self, *args: Any, differences: Sequence[Difference], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.differences = differences
        if differences:
            self.fields["why"] = forms.CharField(
                max_length=160, label="Reason for the whole, beside the posting for good"
            )
        for difference in differences:
            self.fields[f"reason_{difference.line.pk}"] = forms.CharField(
                max_length=120,
                required=difference.needs_reason,
                label=f"Reason for {difference.line.lot.item}, {difference.line.lot}",
                widget=forms.TextInput(
                    attrs={"placeholder": "Reason" if difference.needs_reason else "Reason, if any"}
                ),
                error_messages={"required": f"More than {UNEXPLAINED_PERCENT} % needs a reason."},
            )

    @property
    def reasons(self) -> dict[int, str]:
        """What was said of single lines, by line."""
        return {
            difference.line.pk: self.cleaned_data[f"reason_{difference.line.pk}"] for difference in self.differences
        }
