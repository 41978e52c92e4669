"""What is short and not on order, as if it were ordered today: from whom it would come cheapest, and when."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import ceil

from inventory.ground.measures import exact_bases
from inventory.ground.money import Currency, currency_of
from inventory.models import Offer, Supplier
from inventory.shelf.settings import studio_currency
from inventory.suppliers.terms import expected_on, home_amount, offers_on

__all__ = ["OrderedToday", "ordered_today"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedToday:
    """An order of today that nobody has placed yet: `cost` of the goods in the studio's money, without postage."""

    supplier: Supplier
    cost: Decimal
    there_on: date


def ordered_today(short: Mapping[int, int], *, on: date) -> dict[int, OrderedToday]:
    """Return the cheapest offer of each item that somebody offers, whole packs counted, in two queries.

    Of offers that cost the same the one that comes first counts.

    Args:
        short: by item id, so many base units, of cloth as it is once washed; each > 0.
    """
    home = studio_currency()
    cheapest: dict[int, OrderedToday] = {}
    for offer in offers_on(on).filter(item__in=short).order_by("supplier__code", "pk"):
        order = OrderedToday(
            supplier=offer.supplier,
            cost=_cost(offer, short[offer.item_id], home),
            there_on=expected_on(offer.supplier, ordered_on=on),
        )
        best = cheapest.get(offer.item_id)
        if best is None or (order.cost, order.there_on) < (best.cost, best.there_on):
            cheapest[offer.item_id] = order
    return cheapest


def _cost(offer: Offer, quantity: int, home: Currency) -> Decimal:
    """What as many packs cost as leave so much once it is washed."""
    supplier, material = offer.supplier, offer.item.material
    pack = exact_bases(offer.pack_thousandths, offer.pack_unit, offer.item.unit)
    ready = pack * (1000 - material.shrinkage_permille) / 1000
    packs = max(offer.minimum_packs, ceil(quantity / ready))
    price = home_amount(
        offer.price_minor(packs), supplier.rate_millionths, theirs=currency_of(supplier.currency), home=home
    )
    return packs * price
