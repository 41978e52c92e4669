"""Known work that could wait for a dearer supplier, and is cheaper ordered now: its last chance with the one who is slow."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from math import ceil

from inventory.replenish.problem import Offer, Problem, Supplier, Waiting

__all__ = ["last_chances"]


def last_chances(problem: Problem, waiting: Mapping[str, Sequence[Waiting]], *, next_review: date) -> dict[str, date]:
    """Return the codes whose waiting work is better ordered now, with the day of the last of it.

    That is where a supplier who is surely in time today will not be at the next review, and what all such work saves
    there, against the cheapest goods that will still be, is more than a postage of its own.

    Args:
        waiting: by code, the work that is not there yet and for which somebody is in time at the next review.
    """
    offers: dict[str, list[Offer]] = defaultdict(list)
    for offer in problem.offers:
        offers[offer.material].append(offer)
    suppliers = {row.code: row for row in problem.suppliers}
    serving = {row.code: (row.code, *row.substitutes) for row in problem.materials}
    found: dict[str, date] = {}
    for supplier in problem.suppliers:
        days: dict[str, date] = {}
        goods = saved = Decimal(0)
        for code, rows in waiting.items():
            own = [offer for offer in offers[code] if offer.supplier == supplier.code]
            lost = [row for row in rows if _is_lost(row, supplier, today=problem.as_of, next_review=next_review)]
            if not own or not lost:
                continue
            quantity, last = sum((row.quantity for row in lost), Decimal(0)), max(row.day for row in lost)
            later = [
                offer
                for served in serving[code]
                for offer in offers[served]
                if next_review + timedelta(days=suppliers[offer.supplier].latest_days) <= last
            ]
            now = _least(own, quantity)
            if later and (less := _least(later, quantity) - now) > 0:
                days[code] = last
                goods, saved = goods + now, saved + less
        if saved > supplier.postage_on(goods) and goods >= (supplier.minimum_order or 0):
            for code, day in days.items():
                found[code] = max(day, found.get(code, day))
    return found


def _is_lost(row: Waiting, supplier: Supplier, *, today: date, next_review: date) -> bool:
    lead = timedelta(days=supplier.latest_days)
    return today + lead <= row.day < next_review + lead


def _least(offers: Iterable[Offer], quantity: Decimal) -> Decimal:
    """The least that so much costs in packs of one of the offers."""
    counted = [(offer, max(offer.fewest_packs, ceil(quantity / offer.pack))) for offer in offers]
    return min(packs * offer.price(packs) for offer, packs in counted)
