"""What is done to a lot: one form an act, each with the key that makes a double click count once."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from django import forms
from django.db.models import Sum
from django.utils import timezone

from inventory.ground.bone_forms import BoneForm, bone_lengths
from inventory.ground.money import Currency
from inventory.ground.site.fields import DayField, LengthField, MoneyField, QuantityField
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.ground.site.sure_forms import SureForm
from inventory.models import Lot, Movement, Posting, StockItem, Supplier
from inventory.reckoning.slips import count_doubts, issue_doubts
from inventory.reserving.serving import open_work
from inventory.shelf.settings import studio_currency
from inventory.stock.correcting import CorrectedCost, paid_minor
from inventory.stock.moved import last_movement
from inventory.stock.remnants import Remnant
from inventory.use.usual import usual_issue

__all__ = [
    "CostForm",
    "CountForm",
    "CutForm",
    "GiveBackForm",
    "IssueForm",
    "OffcutForm",
    "ReceiveForm",
    "ScrapForm",
    "SplitForm",
    "WashForm",
    "remnant_of",
]

_Groups = Sequence[tuple[str, Sequence[tuple[str, str]]]]
_PURPOSE = "for:"  # before a purpose, so that no reference of a job is taken for one


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


class _ForForm(_LotForm):
    """Material that goes to open work or to a named purpose, or comes back from there: chosen, never written.

    Hands over `job` and `purpose`, one of them empty.
    """

    def add_choice(self, label: str, choices: Callable[[], _Groups]) -> None:
        """A field for the work or the purpose; its choices are asked for once it is looked at."""
        self.fields["job"] = forms.ChoiceField(choices=cache(lambda: [("", "Choose"), *choices()]), label=label)

    def clean(self) -> Cleaned:
        """The choice as a job or a purpose."""
        cleaned = super().clean() or {}
        chosen: str = cleaned.get("job", "")
        is_purpose = chosen.startswith(_PURPOSE)
        cleaned["job"], cleaned["purpose"] = ("", chosen.removeprefix(_PURPOSE)) if is_purpose else (chosen, "")
        return cleaned


class IssueForm(SureForm, _ForForm):
    """So much to a job or for a purpose."""

    takes_reserved = forms.BooleanField(
        required=False,
        label="Take it all the same",
        help_text="Although it is kept for other work, raw, or of another lot than the piece began with.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_quantity("How much")
        self.add_choice("What for", _open_work)
        self.order_fields(["quantity", "job"])

    def clean(self) -> Cleaned:
        """What may have a digit too many is asked about; what is not there is refused anyhow."""
        cleaned = super().clean()
        if not self.errors and cleaned["quantity"] <= self.lot.on_hand:
            usual = usual_issue(self.lot.item, job=cleaned["job"])
            doubts = issue_doubts(cleaned["quantity"], usual, self.lot.item.unit)
            self.ask_unless_sure(doubts, words="Yes, so many")
        return cleaned


class GiveBackForm(_ForForm):
    """Unused material from a job or a purpose, whole or as a remnant of cloth."""

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
        self.add_choice("Where from", lambda: _holders(self.lot.item))
        self.order_fields(["job", "quantity", "width", "length", "again"])

    def clean(self) -> Cleaned:
        cleaned = super().clean()
        sizes = [cleaned.get("width"), cleaned.get("length")]
        if bool(cleaned.get("quantity")) == all(sizes) and not self.errors:
            raise forms.ValidationError("Say how much of full width, or both sizes of a remnant.")
        return cleaned


def _open_work() -> _Groups:
    """Open work by reference and title, and what else material is used for."""
    return _groups([(job, f"{job}, {title}") for job, title in open_work()], Posting.Purpose.values)


def _holders(item: StockItem) -> _Groups:
    """Who holds some of an item: jobs as they were written, and purposes."""
    used = Movement.objects.filter(item=item, posting__kind__in=(Posting.Kind.ISSUE, Posting.Kind.RETURN))
    held = used.values_list("posting__job", "posting__purpose").annotate(total=Sum("quantity")).filter(total__lt=0)
    rows = list(held.order_by("posting__job", "posting__purpose"))
    return _groups([(job, job) for job, _, _ in rows if job], [purpose for _, purpose, _ in rows if purpose])


def _groups(work: Sequence[tuple[str, str]], purposes: Iterable[str]) -> _Groups:
    named = [(f"{_PURPOSE}{code}", str(Posting.Purpose(code).label)) for code in purposes]
    return [(words, rows) for words, rows in (("Work", work), ("Not for a job", named)) if rows]


class ScrapForm(_LotForm):
    """So much written off."""

    why = forms.CharField(max_length=200, label="What happened")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_quantity("How much")
        self.order_fields(["quantity"])


class CountForm(SureForm, _LotForm):
    """What really lies there, against what the book said when the form was opened."""

    book = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    why = forms.CharField(max_length=200, label="Why it differs, as far as you know")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_quantity("What lies there", least=0)
        self.fields["book"].initial = self.lot.on_hand
        self.fields["seen"].initial = lambda: last_movement(self.lot)
        self.order_fields(["quantity"])

    def clean(self) -> Cleaned:
        """What may have a digit too many is asked about."""
        cleaned = super().clean() or {}
        if not self.errors:
            doubts = count_doubts(cleaned["quantity"], cleaned["book"], self.lot.item.unit)
            self.ask_unless_sure(doubts, words="Yes, so many")
        return cleaned


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


class CostForm(_LotForm):
    """What a receipt cost in the end."""

    book = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.currency = studio_currency()
        paid = paid_minor([self.lot.pk]).get(self.lot.pk, 0)
        self.fields["book"].initial = paid
        self.fields["paid"] = MoneyField(
            currency=self.currency,
            label="What it cost in all",
            initial=self.currency.from_minor(paid),
            help_text="With freight and duty. The difference goes to what is left, and to what was used of it already.",
        )
        self.fields["why"] = forms.CharField(max_length=200, label="Why, such as the invoice or the credit")

    def costs(self) -> CorrectedCost:
        """What is said of the lot."""
        paid = self.currency.to_minor(self.cleaned_data["paid"])
        return CorrectedCost(lot=self.lot, seen_minor=self.cleaned_data["book"], paid_minor=paid)


class SplitForm(_LotForm):
    """A remnant with its real size."""

    width = LengthField(most_mm=3000, label="Across the cloth")
    length = LengthField(most_mm=50_000, label="Along the grain")


class OffcutForm(_LotForm):
    """Rests of a coil or of one bone, by their lengths in tenths of a millimetre."""

    lengths = forms.CharField(
        max_length=200,
        label="How long each rest is",
        help_text="In mm or with units, one a rest: 312 170 or 9 1/2in. What was issued is taken back first.",
    )

    def clean_lengths(self) -> list[int]:
        try:
            return bone_lengths(self.cleaned_data["lengths"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


class CutForm(OffcutForm):
    """Bones that are cut from a coil or from longer bones: how long, how many of each, in which form."""

    count = forms.IntegerField(min_value=1, max_value=100_000)
    form = forms.TypedChoiceField(
        coerce=BoneForm,
        choices=[(form.value, form.words.capitalize()) for form in BoneForm if form is not BoneForm.COIL],
        label="Their ends",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        is_coil = self.lot.item.bone_form is BoneForm.COIL
        lengths, count = self.fields["lengths"], self.fields["count"]
        lengths.label = "Length of each" if is_coil else "Lengths that come of one bone"
        lengths.help_text = "In mm or with units, several where several are cut: 200 225 or 9 1/2in."
        count.label = "How many of each" if is_coil else "How many bones are cut"
        self.fields["form"].help_text = "Tips are issued apart."


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
