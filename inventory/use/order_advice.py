"""Advice for one item that is kept in stock: when to order again, and how much at once is cheapest over a year."""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from inventory.ground.measures import pack_bases
from inventory.ground.money import currency_of
from inventory.models import Offer, StockItem
from inventory.replenish.economic import EconomicQuantity, economic_quantity
from inventory.replenish.forecast import reorder_point
from inventory.shelf.settings import shelf
from inventory.suppliers.terms import expected_on, home_amount, offers_on
from inventory.use.expected_use import UNKNOWN_LEAD, expectations

__all__ = ["Advice", "advice"]

DAYS_A_YEAR = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Base units of an item.

    Attributes:
        reorder_at: stock and open orders at which to order again.
        per_week: what use is expected to be.
        offer, packs, economic: what to order at once where postage makes many small orders dear; None where no supplier
            asks postage.
    """

    reorder_at: int
    per_week: Decimal
    safety: int
    lead_days: int
    rule: str
    offer: Offer | None
    packs: int
    economic: EconomicQuantity | None


def advice(item: StockItem, *, on: date) -> Advice | None:
    """Return advice for an item that is kept and used; None for one that is bought for the job, or never used."""
    if item.policy == StockItem.Policy.AS_NEEDED:
        return None
    offers = list(offers_on(on).filter(item=item))
    leads = [
        ((expected_on(offer.supplier, ordered_on=on) - on).days, offer.supplier.lead_spread_days) for offer in offers
    ]
    lead = min(leads, default=UNKNOWN_LEAD)
    expected = expectations([item], leads={item.code: lead}, on=on)[item.pk]
    if not expected.use:
        return None
    per_week = Decimal(expected.use) * 7 / expected.horizon_days
    at = reorder_point(mean=float(per_week), lead=lead[0] / 7, safety=expected.safety)
    best = min(
        (choice for offer in offers if (choice := _at_once(offer, item, per_week)) is not None),
        key=lambda choice: choice[1].yearly_cost,
        default=None,
    )
    return Advice(
        reorder_at=round(at),
        per_week=per_week,
        safety=expected.safety,
        lead_days=lead[0],
        rule=expected.rule,
        offer=best[0] if best else None,
        packs=int(best[1].quantity.quantize(Decimal(1), rounding=ROUND_HALF_UP)) if best else 0,
        economic=best[1] if best else None,
    )


def _at_once(offer: Offer, item: StockItem, per_week: Decimal) -> tuple[Offer, EconomicQuantity] | None:
    """The economic quantity of one offer, in packs, in the studio's money."""
    settings, supplier = shelf(), offer.supplier
    home, theirs = currency_of(settings.currency), currency_of(supplier.currency)
    pack = pack_bases(offer.pack_thousandths, offer.pack_unit, item.unit)
    if not supplier.postage_minor or not pack or not settings.holding_percent_per_year:
        return None

    def at_home(minor: int) -> Decimal:
        return home_amount(minor, supplier.rate_millionths, theirs=theirs, home=home)

    tiers = [(tier.from_packs, at_home(tier.price_minor)) for tier in offer.tiers]
    if any(price <= 0 for _, price in tiers):
        return None
    fewest = max(offer.minimum_packs, offer.tiers[0].from_packs)
    per_year = Fraction(per_week) * DAYS_A_YEAR / 7 / pack
    return offer, economic_quantity(
        per_year=Decimal(per_year.numerator) / per_year.denominator,
        order_cost=at_home(supplier.postage_minor),
        holding_share=Decimal(settings.holding_percent_per_year) / 100,
        tiers=[(fewest, at_home(offer.price_minor(fewest))), *(tier for tier in tiers if tier[0] > fewest)],
    )
