"""The first day's forms: who logs in, what the workroom is, what an hour must bring. They stand in one form of the page."""

import os
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth.forms import BaseUserCreationForm
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import password_validators_help_texts

from inventory.ground.money import Currency, currency_of
from inventory.ground.site.fields import FactField, MoneyField
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.keyed_forms import Cleaned
from quotes.defaults import desk_defaults
from quotes.languages.catalogue import LANGUAGES
from quotes.models import Workroom
from quotes.pricing.wished import Wish, wished_rates
from studio.first_day.opening import Opening
from studio.first_day.starter_list import starter_list
from studio.first_day.time_zone import zones

__all__ = ["RoomForm", "WishForm", "user_form"]

MONTHS = 12
MOST_ONE_IS = Decimal(1_000_000)


def user_form(data: Any = None) -> "BaseUserCreationForm[User]":
    """The form of the first user; the password is looked at as everywhere."""
    form: BaseUserCreationForm[User] = BaseUserCreationForm(data)
    form.fields["username"].help_text = "What you log in with."
    form.fields["password1"].help_text = " ".join(password_validators_help_texts())
    form.fields["password2"].label, form.fields["password2"].help_text = "Password, once more", ""
    return form


def _currency(data: Mapping[str, str] | None) -> Currency:
    """The currency that amounts are read in; the starter list's while none is said that there is."""
    try:
        return currency_of(str((data or {}).get("currency", "")).strip().upper())
    except ValueError:
        return currency_of(starter_list().currency)


class RoomForm(forms.Form):
    """Hands over what the workroom is called and how it reckons; call `opening` after `is_valid`."""

    name = forms.CharField(max_length=120, label="Name of the workroom")
    currency = forms.CharField(
        max_length=3,
        initial=starter_list().currency,
        help_text="Such as EUR or JPY.",
    )
    length_unit = forms.ChoiceField(
        label="Lengths shown in",
        choices=list(Workroom._meta.get_field("length_unit").choices or ()),
        initial=Workroom._meta.get_field("length_unit").default,
    )
    time_zone = forms.ChoiceField(
        label="Time zone",
        choices=lambda: [(name, name) for name in zones()],
        help_text="By which days begin and end. STUDIO_TIME_ZONE says another one later.",
    )
    language = forms.ChoiceField(label="Clients are written to in", choices=list(LANGUAGES.items()))
    has_starter_list = forms.BooleanField(
        required=False,
        initial=True,
        label="Begin with a starter list of materials, from memory",
        help_text="So that you can quote at once. Each price is marked until you say another or the first receipt does.",
    )

    def __init__(self, data: Mapping[str, str] | None = None) -> None:
        super().__init__(data)
        starter = starter_list()
        self.fields["one_is"] = FactField(
            most=MOST_ONE_IS,
            decimals=6,
            required=False,
            label=f"One {starter.currency} is about",
            help_text="In your currency: starter prices are so many times the number. Empty for a rough figure from memory.",
        )
        self.fields["time_zone"].initial = settings.TIME_ZONE
        # What the environment says is said there.
        self.fields["time_zone"].disabled = bool(os.environ.get("STUDIO_TIME_ZONE", "").strip())

    def clean_currency(self) -> str:
        code = str(self.cleaned_data["currency"]).upper()
        try:
            return currency_of(code).code
        except ValueError:
            raise forms.ValidationError(f"{code} is no ISO 4217 currency code.") from None

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        starter, code = starter_list(), cleaned.get("currency")
        needs_figure = cleaned.get("has_starter_list") and code and code not in starter.one_is
        if needs_figure and not cleaned.get("one_is") and "one_is" not in self.errors:
            self.add_error(
                "one_is",
                f"Say roughly how much one {starter.currency} is in {code}, or begin without the starter list.",
            )
        return cleaned

    def opening(self, wish: Wish) -> Opening:
        """What was said, with what an hour must bring."""
        return Opening(wish=wish, **self.cleaned_data)


class WishForm(forms.Form):
    """Hands over what a year is to bring, and the `rates` that bring it; `currency` is a field of the form beside it."""

    income_per = forms.ChoiceField(label="each", choices=[("year", "year"), ("month", "month")])
    productive_weeks = forms.IntegerField(
        label="Weeks a year", min_value=1, max_value=52, initial=desk_defaults().workroom.productive_weeks
    )
    hours_per_week = forms.IntegerField(
        label="Hours a week", min_value=1, max_value=100, initial=desk_defaults().workroom.hours_per_week
    )
    productive_percent = forms.IntegerField(
        label="At the table",
        min_value=1,
        max_value=100,
        initial=desk_defaults().workroom.productive_percent,
    )

    def __init__(self, data: Mapping[str, str] | None = None) -> None:
        super().__init__(data)
        self.currency = _currency(data)
        self.fields["income"] = MoneyField(
            currency=self.currency,
            label="You wish to earn",
        )
        self.fields["overhead"] = MoneyField(
            currency=self.currency,
            label="Overhead a month",
            help_text="Rent, power, insurance, machines, bank: what comes whatever is made. 0 for none.",
        )
        for name in ("income", "overhead"):
            # The currency may still change on the page.
            del self.fields[name].widget.attrs["data-unit"]
        self.fields["productive_percent"].widget.attrs["data-unit"] = "%"

    def clean_income(self) -> Decimal:
        income: Decimal = self.cleaned_data["income"]
        if income == 0:
            raise forms.ValidationError("Say what you wish to earn: an income of 0 gives no rate.")
        return income

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if not self.errors:
            with RefusalsOn(self, fields={"income": "income", "hours": "productive_weeks"}):
                self.rates = wished_rates(self.wish, self.currency)
        return cleaned

    @property
    def wish(self) -> Wish:
        """What was said, by the year; call after `is_valid`."""
        cleaned = self.cleaned_data
        return Wish(
            income_per_year=cleaned["income"] * (MONTHS if cleaned["income_per"] == "month" else 1),
            overhead_per_year=cleaned["overhead"] * MONTHS,
            weeks=cleaned["productive_weeks"],
            hours_per_week=cleaned["hours_per_week"],
            productive_share=Decimal(cleaned["productive_percent"]) / 100,
        )
