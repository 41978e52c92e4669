"""The forms of a supplier and of an offer."""

import re
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from inventory.ground.codec import plain
from inventory.ground.materials import StockUnit
from inventory.ground.measures import buying_units, exact_bases, pack_amount
from inventory.ground.money import Currency, currency_of
from inventory.ground.rec20 import UNITS
from inventory.ground.site.fields import DayField, FactField, MoneyField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.row_forms import RowChoice, RowForm
from inventory.models import Offer, PriceBreak, StockItem, Supplier

__all__ = ["OfferForm", "SupplierForm"]

TIERS = 4
MOST_PERIODS = 20
_PERIOD = re.compile(r"(\d{4}-\d{2}-\d{2})\s*(?:to|–|-|/)\s*(\d{4}-\d{2}-\d{2})")


class SupplierForm(RowForm[Supplier]):
    """Who, in which currency, how fast, at what postage."""

    closed_weeks = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        label="Closed",
        help_text="A line each: 2027-08-02 to 2027-08-20.",
    )

    class Meta:
        model = Supplier
        fields = ("name", "code", "email", "currency", "lead_days", "lead_spread_days", "note", "is_retired")
        labels = {
            "code": "Short name",
            "lead_days": "An order takes (days)",
            "lead_spread_days": "give or take (days)",
            "is_retired": "No longer bought from",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, home: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        supplier = self.instance
        self.home = home
        if supplier.pk is None:
            self.fields["currency"].initial = home
        else:
            self.fields["code"].disabled = True
            self.fields["currency"].disabled = True
            closed = supplier.closed_periods
            self.fields["closed_weeks"].initial = "\n".join(f"{first} to {last}" for first, last in closed)
        currency = self._currency(supplier.currency or home)
        for name, label in (
            ("postage", "Postage"),
            ("postage_free_from", "Free from goods of"),
            ("minimum_order", "Takes orders from"),
        ):
            amount = getattr(supplier, f"{name}_minor")
            self.fields[name] = MoneyField(
                currency=currency,
                required=False,
                label=label,
                initial=None if amount is None else currency.from_minor(amount),
            )
        self.fields["rate"] = FactField(
            most=Decimal(1_000_000),
            decimals=6,
            required=False,
            label=f"One of it costs, in {home}",
            help_text=f"Empty where the supplier sells in {home}.",
            initial=Decimal(supplier.rate_millionths) / 1_000_000,
        )
        self.order_fields(
            ["name", "code", "email", "currency", "rate", "lead_days", "lead_spread_days", "closed_weeks"]
        )

    def _currency(self, known: str) -> Currency:
        """The currency that money is read in: for a new supplier the one that is being said."""
        chosen = str(self.data.get("currency", "")).upper() if self.instance.pk is None else ""
        try:
            return currency_of(chosen or known)
        except ValueError:
            return currency_of(known)

    def clean_currency(self) -> str:
        code = str(self.cleaned_data["currency"]).upper()
        try:
            currency_of(code)
        except ValueError:
            raise forms.ValidationError(f"{code} is no ISO 4217 currency code.") from None
        return code

    def clean_closed_weeks(self) -> list[tuple[date, date]]:
        periods = []
        for line in self.cleaned_data["closed_weeks"].splitlines():
            if not line.strip():
                continue
            match = _PERIOD.fullmatch(line.strip())
            try:
                first, last = (date.fromisoformat(part) for part in match.groups()) if match else (None, None)
            except ValueError:
                first = last = None
            if first is None or last is None or last < first or (last - first).days > 120:
                raise forms.ValidationError(f"“{line.strip()[:40]}” is no period: write 2027-08-02 to 2027-08-20.")
            periods.append((first, last))
        if len(periods) > MOST_PERIODS:
            raise forms.ValidationError(f"At most {MOST_PERIODS} periods are kept: take the past ones out.")
        return periods

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        currency = cleaned.get("currency")
        if currency and currency != self.home and not cleaned.get("rate"):
            self.add_error("rate", f"Say what one {currency} costs in {self.home}.")
        return cleaned

    def save(self, commit: bool = True) -> Supplier:
        cleaned, supplier = self.cleaned_data, self.instance
        currency = currency_of(cleaned["currency"])
        supplier.closed = plain(cleaned["closed_weeks"])
        supplier.rate_millionths = 1_000_000 if supplier.currency == self.home else round(cleaned["rate"] * 1_000_000)
        supplier.postage_minor = currency.to_minor(currency.round(cleaned["postage"] or Decimal(0)))
        for name in ("postage_free_from", "minimum_order"):
            amount = cleaned[name]
            setattr(supplier, f"{name}_minor", None if amount is None else currency.to_minor(currency.round(amount)))
        return super().save(commit)


class ItemChoice(RowChoice[StockItem]):
    """Items that are bought still; a bone by its form too, also by its own."""

    def label_from_instance(self, item: StockItem) -> str:
        """Such as “Spiral steel 5 mm, 250 mm, cut and tipped”."""
        return f"{item.material.name}, {item.apart_words}" if item.bone_form else str(item)


class OfferForm(RowForm[Offer]):
    """A pack, its price and its breaks."""

    item = ItemChoice(StockItem.objects.filter(material__is_retired=False).select_related("material"), label="What")

    class Meta:
        model = Offer
        fields = ("item", "their_code", "minimum_packs", "valid_from", "valid_until")
        labels = {"minimum_packs": "Sold from (packs)", "valid_from": "From", "valid_until": "Until"}
        field_classes = {"valid_from": DayField, "valid_until": DayField}

    def __init__(self, *args: Any, supplier: Supplier, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.supplier = supplier
        offer = self.instance
        codes = dict.fromkeys(code for unit in StockUnit for code in buying_units(unit))
        self.fields["pack"] = FactField(
            most=Decimal(100_000),
            decimals=3,
            label="A pack holds",
            initial=pack_amount(offer.pack_thousandths) if offer.pk else Decimal(1),
        )
        self.fields["pack_unit"] = forms.ChoiceField(
            choices=[("", "as it is counted"), *((code, UNITS[code].name) for code in codes)],
            required=False,
            label="of",
            initial=offer.pack_unit,
        )
        currency = currency_of(supplier.currency)
        for at in range(TIERS):
            tier = offer.tiers[at] if at < len(offer.tiers) else None
            if at:
                self.fields[f"from_{at}"] = forms.IntegerField(
                    required=False,
                    min_value=2,
                    max_value=1_000_000,
                    label="or, from so many packs",
                    initial=tier and tier.from_packs,
                )
            self.fields[f"price_{at}"] = MoneyField(
                currency=currency,
                required=not at,
                label="Price of a pack" if not at else "each costs",
                initial=tier and currency.from_minor(tier.price_minor),
            )
        self.order_fields(["item", "their_code", "pack", "pack_unit", "price_0"])

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        item = cleaned["item"]
        code = cleaned["pack_unit"] = cleaned["pack_unit"] or item.unit.rec20_code
        if code not in buying_units(item.unit):
            self.add_error(
                "pack_unit", f"{item} is counted by {item.unit.value}; it is not sold by {UNITS[code].name}."
            )
            return cleaned
        bases = exact_bases(round(cleaned["pack"] * 1000), code, item.unit)
        if bases < 1 or (item.unit is not StockUnit.METRE and bases.denominator != 1):
            self.add_error("pack", "A pack holds a millimetre or one piece at least, and whole pieces.")
        currency = currency_of(self.supplier.currency)
        tiers = {1: cleaned["price_0"]}
        for at in range(1, TIERS):
            start, price = cleaned.get(f"from_{at}"), cleaned.get(f"price_{at}")
            if (start is None) != (price is None):
                self.add_error(f"price_{at}", "A price break needs both a number of packs and a price.")
            elif start in tiers:
                self.add_error(f"from_{at}", f"Two prices begin at {start} packs.")
            elif start is not None:
                tiers[start] = price
        cleaned["breaks"] = [
            PriceBreak(from_packs=start, price_minor=currency.to_minor(price)) for start, price in sorted(tiers.items())
        ]
        return cleaned

    def save(self, commit: bool = True) -> Offer:
        cleaned, offer = self.cleaned_data, self.instance
        offer.supplier, offer.breaks = self.supplier, plain(cleaned["breaks"])
        offer.pack_thousandths, offer.pack_unit = round(cleaned["pack"] * 1000), cleaned["pack_unit"]
        saved: Offer = super().save(commit)
        return saved
