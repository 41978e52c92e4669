"""Line by line: each material on its own, as a maker would order without looking at the whole; for comparison."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from math import ceil

from inventory.replenish.problem import Offer, Problem, Stocked

__all__ = ["line_by_line_total"]

Dated = Sequence[tuple[date, Decimal]]


def line_by_line_total(problem: Problem, *, lateness: Decimal) -> Decimal | None:
    """Return goods + postage + holding of the cheapest offer in time per material, without substitutes.

    Ties go to the shorter lead, then the supplier's code. None where that would break a minimum order, cannot meet a
    need, or comes later than `lateness` (Σ quantity × late days).
    """
    offers: dict[str, list[Offer]] = defaultdict(list)
    for offer in problem.offers:
        offers[offer.material].append(offer)
    needs: dict[str, list[tuple[date, Decimal]]] = defaultdict(list)
    for need in problem.needs:
        needs[need.material].append((need.day, need.quantity))
    coming: dict[str, list[tuple[date, Decimal]]] = defaultdict(list)
    for order in problem.open_orders:
        coming[order.material].append((order.day, order.quantity))
    goods: dict[str, Decimal] = defaultdict(Decimal)
    holding, late = Decimal(0), Decimal(0)
    for row in problem.materials:
        chosen = _cheapest(problem, row, offers[row.code], sorted(needs[row.code]), sorted(coming[row.code]))
        if chosen is None:
            return None
        supplier, line_goods, line_holding, line_late = chosen
        if supplier:
            goods[supplier] += line_goods
        holding += line_holding
        late += line_late
    if late > lateness:
        return None
    total = Decimal(0)
    for code, value in goods.items():
        supplier_row = problem.supplier(code)
        if supplier_row.minimum_order is not None and value < supplier_row.minimum_order:
            return None
        total += value + supplier_row.postage_on(value)
    return total + problem.currency.round(holding)


def _cheapest(
    problem: Problem, row: Stocked, offers: Sequence[Offer], needs: Dated, coming: Dated
) -> tuple[str, Decimal, Decimal, Decimal] | None:
    """Supplier, goods, holding and lateness of one material; no supplier where stock is enough, None where none is."""
    stock = row.on_hand + sum((quantity for _, quantity in coming), Decimal(0))
    total = sum((quantity for _, quantity in needs), Decimal(0))
    short_at_end = max(Decimal(0), total + row.safety - stock)
    rate = problem.holding_per_unit(row)
    choices = []
    if not short_at_end:
        choices.append((_late(needs, row.on_hand, coming, None, Decimal(0)), Decimal(0), 0, "", Decimal(0), Decimal(0)))
    for offer in offers:
        supplier = problem.supplier(offer.supplier)
        arrival = problem.arrival(supplier)
        least = max(ceil(_short(needs, row.on_hand, coming, arrival, short_at_end) / offer.pack), offer.fewest_packs)
        for packs in {least, *(tier.from_packs for tier in offer.tiers if tier.from_packs > least)}:
            bought = packs * offer.pack
            late = _late(needs, row.on_hand, coming, arrival, bought)
            goods = packs * offer.price(packs)
            kept = rate * (bought - short_at_end)
            choices.append((late, goods + kept, supplier.lead_days, supplier.code, goods, kept))
    if not choices:
        return None
    late, _, _, code, goods, kept = min(choices)
    return code, goods, kept, late


def _short(needs: Dated, on_hand: Decimal, coming: Dated, arrival: date, short_at_end: Decimal) -> Decimal:
    """The quantity worth buying: what is short in the end, or more where it is short at a need from the arrival on."""
    worst, used = short_at_end, Decimal(0)
    for day, quantity in needs:
        used += quantity
        there = on_hand + sum((amount for when, amount in coming if when <= max(day, arrival)), Decimal(0))
        worst = max(worst, used - there)
    return worst


def _late(needs: Dated, on_hand: Decimal, coming: Dated, arrival: date | None, bought: Decimal) -> Decimal:
    """Σ quantity × late days where needs are served in the order of their days."""
    sources = [(date.min, on_hand), *coming, *([] if arrival is None else [(arrival, bought)])]
    days = [day for day, _ in sorted(sources)]
    amounts = [amount for _, amount in sorted(sources)]
    late, place = Decimal(0), 0
    for day, quantity in needs:
        left = quantity
        while left:
            while place < len(amounts) and not amounts[place]:
                place += 1
            if place == len(amounts):
                return Decimal("Infinity")
            taken = min(left, amounts[place])
            left -= taken
            amounts[place] -= taken
            late += taken * max(0, (days[place] - day).days)
    return late
