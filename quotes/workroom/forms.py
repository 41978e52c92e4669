"""The workroom's settings, yearly costs and standard minutes."""

from dataclasses import dataclass
from typing import Any

from django import forms

from inventory.ground.codec import Document
from inventory.ground.findings import Refused
from inventory.ground.pictures import logo_of
from inventory.ground.site.fields import PictureField
from inventory.ground.site.row_forms import RowForm
from inventory.shelf.pictures import keep_picture
from inventory.shelf.settings import name_workroom, set_currency
from quotes.labour.operations import GROUPS, Operation, OperationRole, StandardTimes
from quotes.labour.standard import from_memory
from quotes.languages.catalogue import LANGUAGES
from quotes.models import Workroom
from quotes.takeoff.drivers import Driver
from quotes.workroom.amount_forms import NamedAmountForm

__all__ = ["MinutesForm", "OperationForm", "ProductiveForm", "WorkroomForm", "YearlyCostForm"]


class WorkroomForm(RowForm[Workroom]):
    """Who the workroom is, how its offers are set, currency, unit and how long a quote holds."""

    class Meta:
        model = Workroom
        fields = (
            "legal_name",
            "email",
            "phone",
            "registration_number",
            "tax_number",
            "payment_details",
            "language",
            "paper",
            "length_unit",
            "quote_valid_days",
            "lead_weeks",
            "bench_days",
        )
        widgets = {"payment_details": forms.Textarea(attrs={"rows": 3})}
        labels = {
            "legal_name": "Legal name, where it is another",
            "payment_details": "How clients pay: bank, account, what to name",
            "language": "Clients are written to in",
            "paper": "Paper",
            "length_unit": "Lengths shown in",
            "quote_valid_days": "Quotes hold for (days)",
            "lead_weeks": "A piece without a due date takes (weeks)",
            "bench_days": "Materials must be there before it is due (days)",
        }

    logo = PictureField(logo_of, required=False, label="Logo on offers")
    no_logo = forms.BooleanField(required=False, label="No logo any more")
    name = forms.CharField(max_length=120)
    address = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}))
    currency = forms.CharField(
        max_length=3,
        help_text="ISO 4217, such as EUR, GBP or JPY; for quotes from now on. It stays once stock has moved.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        shelf = self.instance.shelf
        for code, language in LANGUAGES.items():
            self.fields[f"terms_{code}"] = forms.CharField(
                required=False,
                max_length=4000,
                widget=forms.Textarea(attrs={"rows": 4}),
                label=f"Own terms, {language}",
                initial=self.instance.terms.get(code, ""),
                help_text="Left empty, offers carry the usual ones.",
            )
        self.initial = {"name": shelf.name, "address": shelf.address, "currency": shelf.currency, **self.initial}
        if self.instance.logo_id is None:
            del self.fields["no_logo"]
        self.order_fields(["name", "address", "logo", "no_logo", "currency"])

    def clean_currency(self) -> str:
        try:
            return set_currency(str(self.cleaned_data["currency"]).upper(), dry_run=True)
        except Refused as refusal:
            raise forms.ValidationError(str(refusal)) from None

    def save(self, commit: bool = True) -> Workroom:
        cleaned = self.cleaned_data
        set_currency(cleaned["currency"])
        name_workroom(cleaned["name"], cleaned["address"])
        self.instance.terms = {code: terms for code in LANGUAGES if (terms := cleaned[f"terms_{code}"].strip())}
        if cleaned["logo"] is not None:
            self.instance.logo = keep_picture(cleaned["logo"])
        elif cleaned.get("no_logo"):
            self.instance.logo = None
        return super().save(commit)


class ProductiveForm(RowForm[Workroom]):
    """How many hours of a year are sold."""

    class Meta:
        model = Workroom
        fields = ("productive_weeks", "hours_per_week", "productive_percent")
        labels = {
            "productive_weeks": "Weeks worked in a year",
            "hours_per_week": "Hours in a week",
            "productive_percent": "Of these at the table (%)",
        }


class YearlyCostForm(NamedAmountForm):
    """One yearly cost; a set of them stands on the overhead page."""

    kind = "A cost"
    amount_label = "A year"


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow:
    """An operation's fields in the table: set-up, and minutes of each unit with the unit's words."""

    operation: Operation
    setup: forms.BoundField
    units: list[tuple[str, forms.BoundField]]
    is_from_memory: bool


class MinutesForm(forms.Form):
    """The table of standard minutes: set-up and minutes per unit of each operation, speed, allowance."""

    stitches_per_min = forms.FloatField(min_value=50, max_value=5000, label="Stitches a minute")
    guiding_factor = forms.FloatField(min_value=1, max_value=5, label="Guided lines take longer, times")
    allowance_percent = forms.FloatField(min_value=0, max_value=100, label="Allowance (%)")

    def __init__(self, data: Any = None, *, times: StandardTimes) -> None:
        self.times = times
        super().__init__(
            data,
            initial={
                "stitches_per_min": times.stitches_per_min,
                "guiding_factor": times.guiding_factor,
                "allowance_percent": round(times.allowance_share * 100, 4),
            },
        )
        for operation in times.operations:
            self.fields[f"{operation.code}.setup"] = _minutes(operation.setup_min, f"{operation.name}, set-up")
            for driver, minutes in operation.unit_min.items():
                if minutes:
                    words = f"{operation.name}, a unit of {Driver(driver).words}"
                    self.fields[f"{operation.code}.{driver}"] = _minutes(minutes, words)

    def rows(self) -> list[OperationRow]:
        """The operations for the page's table."""
        memory = from_memory(self.times)
        return [
            OperationRow(
                operation=operation,
                setup=self[f"{operation.code}.setup"],
                units=[
                    (Driver(driver).words, self[f"{operation.code}.{driver}"])
                    for driver, minutes in operation.unit_min.items()
                    if minutes
                ],
                is_from_memory=operation.code in memory,
            )
            for operation in self.times.operations
        ]

    def document(self, document: Document) -> Document:
        """The table's document with what was said put in; call after `is_valid`."""
        cleaned = self.cleaned_data
        operations = []
        for operation in document["operations"]:
            units = {
                driver: cleaned.get(f"{operation['code']}.{driver}", minutes)
                for driver, minutes in operation["unit_min"].items()
            }
            operations.append({**operation, "setup_min": cleaned[f"{operation['code']}.setup"], "unit_min": units})
        return {
            **document,
            "stitches_per_min": cleaned["stitches_per_min"],
            "guiding_factor": cleaned["guiding_factor"],
            "allowance_share": cleaned["allowance_percent"] / 100,
            "operations": operations,
        }


class OperationForm(forms.Form):
    """An operation of the workroom's own, timed by one driver."""

    code = forms.RegexField(r"^[A-Z][A-Z0-9]{1,11}$", label="Short code", help_text="Capital letters and digits: LACE.")
    name = forms.CharField(max_length=80, label="Operation", help_text="“Lace laid over the top edge”.")
    group = forms.ChoiceField(label="Belongs to", choices=[(group, group) for group in GROUPS], initial="making")
    driver = forms.ChoiceField(
        label="Counted by", choices=[(driver.value, driver.words) for driver in Driver if "stitch" not in driver.value]
    )
    setup_min = forms.FloatField(min_value=0, max_value=6000, initial=0, label="Minutes to set up")
    unit_min = forms.FloatField(min_value=0, max_value=6000, label="Minutes a unit")
    role = forms.ChoiceField(
        label="Takes part as",
        required=False,
        choices=[(role.value, role.words.capitalize()) for role in OperationRole],
        help_text="What it is to the rules of the bench: a channel waits for the waist tape.",
    )

    @property
    def operation(self) -> Document:
        """The operation as the table of standard minutes has it; call after `is_valid`."""
        cleaned = self.cleaned_data
        return {
            "code": cleaned["code"],
            "name": cleaned["name"],
            "group": cleaned["group"],
            "setup_min": cleaned["setup_min"],
            "unit_min": {cleaned["driver"]: cleaned["unit_min"]},
            "role": cleaned["role"],
        }


def _minutes(value: float, words: str) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"aria-label": words})
    return forms.FloatField(min_value=0, max_value=6000, initial=value, label=words, widget=widget)
