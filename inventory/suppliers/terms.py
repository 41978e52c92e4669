"""What suppliers ask and when they deliver, as the planning rooms take it."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import fmean, pstdev
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce

from inventory.ground.days import arrival
from inventory.ground.measures import BASES_PER_UNIT, exact_bases, pack_text
from inventory.ground.money import Currency
from inventory.ground.wording import minor_text
from inventory.models import Offer, PurchaseLine, PurchaseOrder, StockItem, Supplier
from inventory.reckoning.lateness import LAST_ORDERS, late_within

__all__ = [
    "ActualLead",
    "actual_lead",
    "expected_on",
    "home_amount",
    "late_on",
    "lateness",
    "offer_words",
    "offers_on",
    "postage_minor",
    "ready_pack",
]

MILLIONTHS = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualLead:
    """How long the last orders took, in days, and how often they came later than expected."""

    orders: int
    mean_days: float
    spread_days: float
    late: int


def expected_on(supplier: Supplier, *, ordered_on: date) -> date:
    """Return the day on which an order placed then should come."""
    return arrival(ordered_on, supplier.lead_days, supplier.closed_periods)


def lateness(suppliers: Collection[Supplier]) -> dict[int, int]:
    """Return, by supplier, within how many days after the first expected one nine in ten orders come; in one query.

    From its last received orders; where they are too few, from the spread that the maker gave.
    """
    received = _received(suppliers)
    return {
        supplier.pk: late_within(
            [(order.received_on - order.expected_on).days for order in received[supplier.pk]],
            spread_days=supplier.lead_spread_days,
        )
        for supplier in suppliers
    }


def late_on(supplier: Supplier, *, ordered_on: date) -> date:
    """Return the day by which nine in ten orders placed then have come, by the supplier's own lateness."""
    late_days = supplier.lead_days + lateness([supplier])[supplier.pk]
    return arrival(ordered_on, late_days, supplier.closed_periods)


def actual_lead(supplier: Supplier) -> ActualLead | None:
    """Return how long a supplier's last received orders really took; None before there are two."""
    deliveries = _received([supplier])[supplier.pk][:LAST_ORDERS]
    if len(deliveries) < 2:
        return None
    days = [(order.received_on - order.placed_on).days for order in deliveries]
    late = sum(order.received_on > order.expected_on for order in deliveries)
    return ActualLead(orders=len(deliveries), mean_days=fmean(days), spread_days=pstdev(days), late=late)


class _Received(NamedTuple):
    """The days of an order that has come; `expected_on` as it was first expected, whatever day was written later."""

    placed_on: date
    received_on: date
    expected_on: date


def _received(suppliers: Collection[Supplier]) -> dict[int, list[_Received]]:
    """By supplier, the newest first; an order of which nothing came tells of no delivery."""
    orders = PurchaseOrder.objects.filter(
        Exists(PurchaseLine.objects.filter(order=OuterRef("pk"), received__gt=0)),
        supplier__in=[supplier.pk for supplier in suppliers],
        received_on__isnull=False,
        placed_on__isnull=False,
    ).annotate(first_expected=Coalesce("first_expected_on", "expected_on"))
    received: dict[int, list[_Received]] = defaultdict(list)
    for supplier, *days in orders.order_by("-received_on", "-id").values_list(
        "supplier", "placed_on", "received_on", "first_expected"
    ):
        received[supplier].append(_Received(*days))
    return received


def home_amount(amount_minor: int, rate_millionths: int, *, theirs: Currency, home: Currency) -> Decimal:
    """Return an amount of a supplier's minor units in the studio's currency, half up."""
    return home.round(theirs.from_minor(amount_minor) * rate_millionths / MILLIONTHS)


def offers_on(day: date) -> QuerySet[Offer]:
    """Return the offers that hold on a day, of suppliers that are still bought from."""
    return Offer.objects.filter(
        Q(valid_from__isnull=True) | Q(valid_from__lte=day),
        Q(valid_until__isnull=True) | Q(valid_until__gte=day),
        supplier__is_retired=False,
    ).select_related("supplier", "item__material")


def ready_pack(offer: Offer, item: StockItem) -> Decimal:
    """Return what a pack of an offer of `item` holds once it is washed, in the unit that the item is counted in."""
    bases = exact_bases(offer.pack_thousandths, offer.pack_unit, item.unit)
    return item.material.once_washed(Decimal(bases.numerator) / bases.denominator / BASES_PER_UNIT[item.unit])


def postage_minor(supplier: Supplier, goods_minor: int) -> int:
    """Return the postage on goods of a value, both in the supplier's minor units."""
    free = supplier.postage_free_from_minor
    return 0 if free is not None and goods_minor >= free else supplier.postage_minor


def offer_words(offer: Offer) -> tuple[str, str]:
    """Return an offer's pack and its prices in words."""
    prices = [
        (f"from {tier.from_packs} " if tier.from_packs > 1 else "")
        + minor_text(tier.price_minor, offer.supplier.currency)
        for tier in offer.tiers
    ]
    return pack_text(offer.pack_thousandths, offer.pack_unit), ", ".join(prices)
