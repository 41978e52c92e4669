"""Forms of a job as a whole: its next stage, its dates, its end."""

from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.site.fields import DayField
from inventory.ground.wording import minor_text
from studio.client.delivery import Invoice, expected_invoice
from studio.jobs.fields import MinorField
from studio.models import Job

__all__ = ["CancelForm", "DatesForm", "DeliverForm", "StageForm"]


class StageForm(forms.Form):
    """The stage that was asked for, and why the cloth is cut all the same."""

    to = forms.CharField(max_length=10, widget=forms.HiddenInput)
    because = forms.CharField(max_length=160, required=False, label="Cut all the same, because")

    def __init__(self, *args: Any, needs_reason: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["because"].required = needs_reason


class DatesForm(forms.Form):
    """When the client wants it, and what was promised."""

    due = DayField(required=False, label="Wanted by the client")
    promised = DayField(required=False, label="Promised")


class CancelForm(forms.Form):
    """Why a job is not made."""

    why = forms.CharField(max_length=160, label="Why it is not made")


class DeliverForm(forms.Form):
    """What was invoiced; hands over an `Invoice`."""

    on = DayField(label="Handed over on", initial=timezone.localdate)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.job = job
        self.currency = job.currency
        expected = expected_invoice(job)
        for name, label, hint, initial in (
            ("discount", "Discount given since the quote", "Without tax.", 0),
            ("net", "Invoiced, without tax", "As quoted, with changes, less the discount.", expected.net_minor),
            ("tax", "Tax on it", "", expected.tax_minor),
            (
                "fee",
                "Fees that payments really took",
                "Fees of payments that come later are added to it.",
                expected.fee_minor,
            ),
            ("extras", "Costs beside material and time", "Postage, a model, travel.", expected.extras_minor),
        ):
            self.fields[name] = MinorField(currency=self.currency, label=label, help_text=hint, initial=initial)

    def clean(self) -> dict[str, Any]:
        """A discount that the amounts do not show yet is put into them, and the form is shown once more."""
        said = super().clean() or {}
        if self.errors or not said["discount"]:
            return said
        before, after = expected_invoice(self.job), expected_invoice(self.job, discount_minor=said["discount"])
        if (said["net"], said["tax"]) == (before.net_minor, before.tax_minor):
            self.data = self.data.copy()
            self.data["net"] = f"{self.currency.from_minor(after.net_minor):f}"
            self.data["tax"] = f"{self.currency.from_minor(after.tax_minor):f}"
            net = minor_text(after.net_minor, self.currency.code)
            self.add_error("net", f"With that discount it is {net}. It stands here now; look at it and deliver again.")
        return said

    @property
    def invoice(self) -> Invoice:
        """What was said."""
        said = self.cleaned_data
        return Invoice(
            net_minor=said["net"],
            tax_minor=said["tax"],
            fee_minor=said["fee"],
            discount_minor=said["discount"],
            extras_minor=said["extras"],
        )
