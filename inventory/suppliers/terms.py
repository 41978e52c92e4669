"""What suppliers ask and when they deliver, as the planning rooms take it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import ceil
from statistics import NormalDist, fmean, pstdev

from django.db.models import Q, QuerySet

from inventory.ground.days import arrival
from inventory.ground.measures import pack_text
from inventory.ground.money import Currency
from inventory.ground.wording import minor_text
from inventory.models import Offer, PurchaseOrder, Supplier

__all__ = [
    "ActualLead",
    "actual_lead",
    "expected_on",
    "home_amount",
    "late_on",
    "offer_words",
    "offers_on",
    "postage_minor",
]

MILLIONTHS = 1_000_000
NINE_IN_TEN = NormalDist().inv_cdf(0.9)
SHOWN_ORDERS = 12


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


def late_on(supplier: Supplier, *, ordered_on: date) -> date:
    """Return the day by which nine in ten orders placed then have come, by the spread that the maker gave."""
    late_days = ceil(supplier.lead_days + NINE_IN_TEN * supplier.lead_spread_days)
    return arrival(ordered_on, late_days, supplier.closed_periods)


def actual_lead(supplier: Supplier) -> ActualLead | None:
    """Return how long a supplier's last received orders really took; None before there are two."""
    orders = PurchaseOrder.objects.filter(supplier=supplier, received_on__isnull=False, placed_on__isnull=False)
    dates = orders.order_by("-received_on").values_list("placed_on", "received_on", "expected_on")[:SHOWN_ORDERS]
    deliveries = [(placed, received, expected) for placed, received, expected in dates if placed and received]
    if len(deliveries) < 2:
        return None
    days = [(received - placed).days for placed, received, _ in deliveries]
    late = sum(received > expected for _, received, expected in deliveries)
    return ActualLead(orders=len(deliveries), mean_days=fmean(days), spread_days=pstdev(days), late=late)


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
