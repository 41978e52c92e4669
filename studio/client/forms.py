"""Forms of what passes between the maker and the client: fittings, changes, payments, lower prices, photographs."""

from datetime import datetime
from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.findings import Finding
from inventory.ground.money import Currency
from inventory.ground.site.fields import DayField, PhotoField, must_be_believable
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.ground.site.sure_forms import SureForm
from inventory.ground.wording import minor_text, named_text, percent_text
from studio.client.delivery import MOST_NAMED, Invoice, expected_invoice, neither_ticked_nor_logged
from studio.client.fittings import doubts_of
from studio.defaults import studio_defaults
from studio.jobs.fields import MinorField, MinutesField
from studio.models import Fitting, Job, Payment
from studio.money.bills import tax_of
from studio.money.standing import Bill, Standing

__all__ = [
    "ChangeForm",
    "CreditForm",
    "DeliverForm",
    "FittingForm",
    "HeldForm",
    "PaymentForm",
    "PhotoForm",
    "ReverseForm",
]

_LOCAL = "%Y-%m-%dT%H:%M"
AS_AGREED = "As quoted, with changes, less the discount."


class FittingForm(forms.Form):
    """An appointment. What speaks against it is asked about once; for that very time it can then be planned all the same."""

    kind = forms.ChoiceField(choices=Fitting.Kind.choices, label="What for")
    at = forms.DateTimeField(
        label="When",
        input_formats=[_LOCAL],
        widget=forms.DateTimeInput(format=_LOCAL, attrs={"type": "datetime-local"}),
    )
    minutes = MinutesField(label="How long", initial=studio_defaults().calendar.fitting_minutes)
    notes = forms.CharField(required=False, label="To mind", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, job: Job, fitting: Fitting | None = None, **kwargs: Any) -> None:
        self.job, self.fitting = job, fitting
        if fitting is not None:
            at: datetime = timezone.localtime(fitting.at)
            kwargs["initial"] = {"kind": fitting.kind, "at": at, "minutes": fitting.minutes, "notes": fitting.notes}
        super().__init__(*args, **kwargs)
        if fitting is not None:
            self.fields["kind"].disabled = True

    def clean_at(self) -> datetime:
        at: datetime = self.cleaned_data["at"]
        must_be_believable(at.date())
        return at

    def clean_minutes(self) -> int:
        minutes: int = self.cleaned_data["minutes"]
        if not 0 < minutes <= 600:
            raise forms.ValidationError("A fitting takes from 1 minute to 10 hours.")
        return minutes

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if self.errors or (found := self._doubts(cleaned)) == ():
            return cleaned
        this_time = f"{cleaned['at'].isoformat()} {cleaned['minutes']}"
        if self.data.get("all_the_same") != this_time:
            said = " ".join(doubt.message for doubt in found)
            self.add_error("at", f"{said} Choose another time, or tick below that it is meant so.")
            self.data = {name: value for name, value in self.data.items() if name != "all_the_same"}
            self.fields["all_the_same"] = forms.BooleanField(
                required=False,
                label="Plan it all the same",
                widget=forms.CheckboxInput(attrs={"value": this_time}),
            )
        return cleaned

    def _doubts(self, cleaned: Cleaned) -> tuple[Finding, ...]:
        if self.fitting is not None and (cleaned["at"], cleaned["minutes"]) == (self.fitting.at, self.fitting.minutes):
            return ()  # only other words
        return doubts_of(
            self.job, kind=cleaned["kind"], at=cleaned["at"], minutes=cleaned["minutes"], moved=self.fitting
        )


class HeldForm(forms.Form):
    """What a fitting found."""

    held_on = DayField(label="Held on", initial=timezone.localdate)
    notes = forms.CharField(required=False, label="Notes", widget=forms.Textarea(attrs={"rows": 3}))
    alterations = forms.CharField(required=False, label="To alter", widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, fitting: Fitting, **kwargs: Any) -> None:
        job = fitting.job
        initial: dict[str, object] = {"notes": fitting.notes, "alterations": fitting.alterations}
        if fitting.held_on:
            initial["held_on"] = fitting.held_on
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        if fitting.kind == Fitting.Kind.TOILE:
            is_signed = job.toile_signed_on is not None and job.toile_signed_on == fitting.held_on
            self.fields["signs_toile"] = forms.BooleanField(
                required=False,
                initial=is_signed,
                label="The toile is signed off",
                help_text="Client and maker are content with it: the cloth may be cut by it.",
            )


class ChangeForm(SureForm):
    """A change with its price; hands over `net_minor` with its sign."""

    what = forms.CharField(max_length=160, label="What changes")
    sense = forms.ChoiceField(
        choices=[("more", "It costs more"), ("less", "It costs less")], initial="more", label="The price"
    )
    minutes = MinutesField(required=False, label="Time that it adds", initial=0)
    agreed_on = DayField(label="Agreed on", initial=timezone.localdate)

    def __init__(self, *args: Any, currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["net"] = MinorField(currency=currency, label="By how much, without tax")
        self.order_fields(["what", "sense", "net"])

    def clean_minutes(self) -> int:
        minutes: int = self.cleaned_data["minutes"] or 0
        return minutes

    @property
    def net_minor(self) -> int:
        """Below zero where it costs less."""
        net: int = self.cleaned_data["net"]
        return -net if self.cleaned_data["sense"] == "less" else net


class PaymentForm(SureForm, KeyForm):
    """A payment; what is due next stands there."""

    what = forms.ChoiceField(
        choices=[
            *((what.value, what.label) for what in Payment.What if what is not Payment.What.REFUND),
            (Payment.What.REFUND.value, "Money back; the price stays"),
        ],
        label="What it is",
    )

    def __init__(self, *args: Any, currency: Currency, owed: Bill, is_cancelled: bool, **kwargs: Any) -> None:
        is_deposit = owed.deposit_due_minor > 0
        due = owed.deposit_due_minor if is_deposit else max(0, owed.balance_minor)
        what = Payment.What.DEPOSIT if is_deposit else Payment.What.BALANCE
        if is_cancelled:
            # Nothing is owed any more; how much goes back is between maker and client.
            due, what = 0, Payment.What.REFUND
        kwargs["initial"] = {"what": what}
        super().__init__(*args, **kwargs)
        self.fields["amount"] = MinorField(currency=currency, label="How much", initial=due or None)
        self.fields["fee"] = MinorField(currency=currency, required=False, label="Fee that it took", initial=0)
        self.fields["day"] = DayField(label="When", initial=timezone.localdate)
        self.fields["note"] = forms.CharField(
            required=False, max_length=160, label="Note", help_text="How it was paid, or why it goes back."
        )


class CreditForm(SureForm, KeyForm):
    """A lower price, said as the studio says its prices."""

    def __init__(self, *args: Any, currency: Currency, standing: Standing, with_tax: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        label = f"Lower by how much, {'with' if with_tax else 'without'} tax"
        hint = "Its tax is in it." if with_tax else "Its tax comes off with it."
        self.fields["amount"] = MinorField(currency=currency, label=label, help_text=hint)
        self.fields["why"] = forms.CharField(max_length=160, label="Why", help_text="What the client is told.")
        self.fields["day"] = DayField(label="When", initial=timezone.localdate)
        self.fields["pays_back"] = forms.BooleanField(
            required=False,
            initial=standing.due_minor == 0,
            label="What was paid beyond the new price goes back to the client now",
            help_text="A receipt is written for it. Without the tick it is only taken off what is due.",
        )


class ReverseForm(forms.Form):
    """Why something is taken back."""

    why = forms.CharField(max_length=160, label="What was wrong")


class PhotoForm(forms.Form):
    """A photograph with its words; the file leaves under a name of its own."""

    photo = PhotoField()
    words = forms.CharField(max_length=120, required=False, label="What it shows")


class DeliverForm(SureForm):
    """What was invoiced; hands over an `Invoice`."""

    on = DayField(label="Handed over on", initial=timezone.localdate)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.job = job
        self.currency = job.currency
        expected = expected_invoice(job)
        for name, label, hint, initial in (
            ("discount", "Discount given since the quote", "Without tax.", 0),
            ("net", "Invoiced, without tax", f"{AS_AGREED} {self._tax_words(expected.net_minor)}", expected.net_minor),
            (
                "fee",
                "Fees that payments really took",
                "Fees of payments that come later are added to it.",
                expected.fee_minor,
            ),
            ("extras", "Costs beside material and time", "Postage, a model, travel.", expected.extras_minor),
        ):
            self.fields[name] = MinorField(currency=self.currency, label=label, help_text=hint, initial=initial)
        if undone := neither_ticked_nor_logged(job):
            self.fields["undone"] = forms.ChoiceField(
                choices=[("done", "They were done: their planned time counts"), ("undone", "They stay undone")],
                widget=forms.RadioSelect,
                label=f"Neither ticked nor logged: {named_text(undone, most=MOST_NAMED)}",
            )

    def clean(self) -> Cleaned:
        """A discount that the net does not show yet is put into it, and the form is shown once more."""
        cleaned = super().clean() or {}
        if self.errors or not cleaned["discount"]:
            return cleaned
        before, after = expected_invoice(self.job), expected_invoice(self.job, discount_minor=cleaned["discount"])
        if cleaned["net"] == before.net_minor and after.net_minor >= 0:
            self.data = dict(self.data.items()) | {"net": f"{self.currency.from_minor(after.net_minor):f}"}
            self.fields["net"].help_text = f"{AS_AGREED} {self._tax_words(after.net_minor)}"
            net = minor_text(after.net_minor, self.currency.code)
            self.add_error("net", f"With that discount it is {net}. It stands here now; look at it and deliver again.")
        return cleaned

    def _tax_words(self, net_minor: int) -> str:
        """The tax, which nobody types: it follows from the quote's rate."""
        share = percent_text(self.job.revision.snapshot.rates.tax_share)
        return (
            f"Tax follows from it, {share} by the quote: {minor_text(tax_of(self.job, net_minor), self.currency.code)}."
        )

    @property
    def stays_undone(self) -> bool:
        """Whether what was neither ticked nor logged was left out."""
        return bool(self.cleaned_data.get("undone") == "undone")

    @property
    def invoice(self) -> Invoice:
        """The amounts as they were entered."""
        cleaned = self.cleaned_data
        return Invoice(
            net_minor=cleaned["net"],
            fee_minor=cleaned["fee"],
            discount_minor=cleaned["discount"],
            extras_minor=cleaned["extras"],
        )
