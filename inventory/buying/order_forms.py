"""The forms of an order: from whom, packs of each offer, and what came of it."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils import timezone

from inventory.buying.charges import OrderCosts, goods_minor, last_cost, received_lots
from inventory.buying.purchasing import Arrived, OrderWish
from inventory.ground.measures import pack_text
from inventory.ground.money import Currency, currency_of
from inventory.ground.site.fields import DayField, MoneyField, QuantityField
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.models import Offer, PurchaseLine, PurchaseOrder, Supplier
from inventory.suppliers.terms import home_amount, offer_words, offers_on

__all__ = ["NewDayForm", "NewOrderForm", "OrderCostForm", "OrderLinesForm", "ReceiveOrderForm"]


class NewOrderForm(forms.Form):
    """From whom."""

    supplier = forms.ModelChoiceField(Supplier.objects.filter(is_retired=False), to_field_name="code", label="From")


class OrderLinesForm(KeyForm):
    """Packs of each of a supplier's offers; an empty field orders none."""

    lines = forms.CharField(widget=forms.HiddenInput, initial="1")

    def __init__(self, *args: Any, supplier: Supplier, order: PurchaseOrder | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lines = order.lines.select_related("item__material") if order else []
        kept = {line.offer_id or -line.pk: line for line in lines}
        self.fields["version"] = forms.IntegerField(
            widget=forms.HiddenInput, initial=order.version if order else 1, min_value=1, max_value=10**6
        )
        self.offers = list(offers_on(timezone.localdate()).filter(supplier=supplier))
        self.kept = kept
        # Lines whose offer is gone stay as they are, or are dropped.
        offered = {offer.pk for offer in self.offers}
        self.fixed = [line for pk, line in kept.items() if pk not in offered]
        for line in self.fixed:
            self.fields[f"drop_{line.pk}"] = forms.BooleanField(
                required=False, label=f"Leave out {line.packs} packs of {line.item}, which are not offered today"
            )
        for offer in self.offers:
            known = kept.get(offer.pk)
            self.fields[f"packs_{offer.pk}"] = forms.IntegerField(
                required=False, min_value=0, max_value=100_000, label=str(offer.item), initial=known and known.packs
            )
            self.fields[f"dye_{offer.pk}"] = forms.CharField(
                required=False,
                max_length=60,
                label=f"Dye lot of {offer.item}",
                initial=known.wanted_dye_lot if known else "",
            )

    def rows(self) -> Iterator[tuple[Offer, str, str, BoundField, BoundField]]:
        """Offers with their pack, prices and fields."""
        for offer in self.offers:
            yield offer, *offer_words(offer), self[f"packs_{offer.pk}"], self[f"dye_{offer.pk}"]

    def fixed_rows(self) -> Iterator[BoundField]:
        """Fields of the lines whose offer is gone."""
        for line in self.fixed:
            yield self[f"drop_{line.pk}"]

    def dropped(self) -> list[int]:
        """Lines that are left out although their offer is gone."""
        return [line.pk for line in self.fixed if self.cleaned_data[f"drop_{line.pk}"]]

    def wishes(self) -> list[OrderWish]:
        """What is ordered; a line that a plan made keeps its reason."""
        cleaned = self.cleaned_data
        return [
            OrderWish(
                offer=offer,
                packs=cleaned[f"packs_{offer.pk}"],
                wanted_dye_lot=cleaned[f"dye_{offer.pk}"],
                why=self.kept[offer.pk].why if offer.pk in self.kept else "",
            )
            for offer in self.offers
            if cleaned[f"packs_{offer.pk}"]
        ]


class NewDayForm(forms.Form):
    """On which day an open order is to come now, and what the supplier says."""

    day = DayField(label="New day")
    why = forms.CharField(required=False, max_length=200, label="What the supplier says")


class ReceiveOrderForm(KeyForm):
    """How much came of each line, of which dye lot, at which price, and what was charged beside the goods."""

    def __init__(self, *args: Any, order: PurchaseOrder, currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order = order
        # All lines, so that a form that is sent twice reads the same.
        self.lines = list(order.lines.filter(is_closed=False).select_related("item__material", "order"))
        self.fields["received_on"] = DayField(label="When", initial=timezone.localdate, has_come=True)
        theirs = currency_of(order.currency)
        is_first = order.state == PurchaseOrder.State.PLACED
        postage = order.postage_minor if is_first else 0
        self.fields["freight"] = MoneyField(
            currency=currency,
            label="Postage and freight",
            initial=home_amount(postage, order.rate_millionths, theirs=theirs, home=currency),
            help_text="Charged now. The whole order bears it, by value: what is still to come takes its share then.",
        )
        self.fields["duty"] = MoneyField(
            currency=currency,
            label="Duty and charges",
            initial=currency.from_minor(0),
            help_text="What does not come back, such as tax that you cannot reclaim.",
        )
        for line in self.lines:
            self.fields[f"quantity_{line.pk}"] = QuantityField(
                stock_unit=line.item.unit, required=False, least=0, label="How much came", initial=line.outstanding
            )
            self.fields[f"price_{line.pk}"] = MoneyField(
                currency=theirs, label="Price of a pack, invoiced", initial=theirs.from_minor(line.price_minor)
            )
            self.fields[f"dye_{line.pk}"] = forms.CharField(
                required=False, max_length=60, label="Dye or colour lot", initial=line.wanted_dye_lot
            )
            self.fields[f"place_{line.pk}"] = forms.CharField(
                required=False, max_length=60, label="Place", initial=line.item.place
            )
            if line.item.material.is_cloth:
                self.fields[f"raw_{line.pk}"] = forms.BooleanField(
                    required=False,
                    label="Raw: to be washed before it is cut",
                    initial=bool(line.item.material.shrinkage_permille),
                )
        self.fields["more"] = forms.BooleanField(
            required=False, label="More came than was ordered: it is kept and paid"
        )
        self.fields["accepted"] = forms.BooleanField(
            required=False, label="Other dye lots than wanted: seen and accepted"
        )

    def rows(self) -> Iterator[tuple[PurchaseLine, str, list[BoundField], BoundField | None]]:
        """Lines with their pack and their fields."""
        for line in self.lines:
            raw = self[f"raw_{line.pk}"] if f"raw_{line.pk}" in self.fields else None
            fields = [self[f"{name}_{line.pk}"] for name in ("quantity", "price", "dye", "place")]
            yield line, pack_text(line.pack_thousandths, line.pack_unit), fields, raw

    def clean_received_on(self) -> Any:
        day = self.cleaned_data["received_on"]
        if self.order.placed_on and day < self.order.placed_on:
            raise forms.ValidationError("That is before the order was placed.")
        return day

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if not cleaned.get("accepted"):
            for line in self.lines:
                dye_lot = cleaned.get(f"dye_{line.pk}", "")
                if cleaned.get(f"quantity_{line.pk}") and line.wanted_dye_lot and dye_lot != line.wanted_dye_lot:
                    self.add_error(
                        f"dye_{line.pk}",
                        f"{dye_lot or 'No dye lot'} is not the {line.wanted_dye_lot} that was wanted: send it back, "
                        "or tick that it is accepted.",
                    )
        return cleaned

    def arrived(self) -> list[Arrived]:
        """What came."""
        cleaned, theirs = self.cleaned_data, currency_of(self.order.currency)
        return [
            Arrived(
                line=line,
                quantity=cleaned[f"quantity_{line.pk}"] or 0,
                price_minor=theirs.to_minor(cleaned[f"price_{line.pk}"]),
                dye_lot=cleaned[f"dye_{line.pk}"],
                place=cleaned[f"place_{line.pk}"],
                is_raw=cleaned.get(f"raw_{line.pk}", False),
                note="Another dye lot than wanted: seen and accepted."
                if line.wanted_dye_lot and cleaned[f"dye_{line.pk}"] != line.wanted_dye_lot
                else "",
            )
            for line in self.lines
        ]


class OrderCostForm(KeyForm):
    """What the lots of an order and its freight and duty cost in the end."""

    seen = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, order: PurchaseOrder, currency: Currency, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.currency = currency
        self.lots = received_lots(order)
        self.fields["seen"].initial = last_cost(order)
        paid = goods_minor(self.lots)
        for lot in self.lots:
            self.fields[f"goods_{lot.pk}"] = MoneyField(
                currency=currency, label=f"{lot.item}, {lot}", initial=currency.from_minor(paid[lot.pk])
            )
        self.fields["charged"] = MoneyField(
            currency=currency,
            label="Freight and duty of the whole order",
            initial=currency.from_minor(order.charged_minor),
            help_text="Borne by all its lines, by value.",
        )
        self.fields["why"] = forms.CharField(max_length=200, label="Why, such as the invoice or the credit")

    def costs(self) -> OrderCosts:
        """What is said."""
        cleaned, minor = self.cleaned_data, self.currency.to_minor
        return OrderCosts(
            goods={lot.pk: minor(cleaned[f"goods_{lot.pk}"]) for lot in self.lots},
            charged_minor=minor(cleaned["charged"]),
            seen=cleaned["seen"],
        )
