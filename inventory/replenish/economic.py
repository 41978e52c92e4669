"""How much to buy at once where every order costs something and what lies on the shelf costs something.

Words: a *tier* is a price for each piece of an order from so many pieces on (all-units discount). *Holding* is what a
piece costs to keep for a year, as a share of its price. Quantities are pieces or packs, whichever the tiers count by;
money is in one currency and unrounded.

Source: Harris, Factory, The Magazine of Management 10(2), 1913, 135–136, 152 (the square root); Heizer and Render,
Operations Management, ch. 12 (quantity discounts).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

__all__ = ["EconomicQuantity", "economic_quantity"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EconomicQuantity:
    """What to order at once, at what price each, and what a year then costs: goods, ordering and holding."""

    quantity: Decimal
    unit_price: Decimal
    yearly_cost: Decimal


def economic_quantity(
    *,
    per_year: Decimal | int,
    order_cost: Decimal,
    holding_share: Decimal,
    tiers: Sequence[tuple[Decimal | int, Decimal]],
) -> EconomicQuantity:
    """Return the cheapest quantity to order at once, unrounded.

    Args:
        per_year: how much is used in a year, > 0.
        order_cost: what one order costs however large it is, >= 0.
        holding_share: what a year of holding costs as a share of the price, > 0.
        tiers: (from quantity >= 1, price each > 0) by rising quantity; the first quantity is the least that is sold.

    Formula: for each tier √(2 · per year · order cost ÷ (share · price)), moved into the tier, which ends one below the
    next; of these the cheapest in goods + ordering + holding of half an order. Ties go to the smaller quantity.

    >>> found = economic_quantity(
    ...     per_year=1000, order_cost=Decimal(10), holding_share=Decimal("0.5"), tiers=[(1, Decimal(1))]
    ... )
    >>> str(found.quantity), str(found.yearly_cost)
    ('200', '1100.0')

    Raises:
        ValueError: an argument outside these limits.
    """
    if not tiers or any(after[0] <= before[0] for before, after in pairwise(tiers)):
        raise ValueError("There is at least one tier, and each begins at a larger quantity than the one before.")
    if min(per_year, holding_share, *(price for _, price in tiers)) <= 0:
        raise ValueError("Yearly use, holding share and prices are more than zero.")
    if order_cost < 0 or tiers[0][0] < 1:
        raise ValueError("An order costs zero or more, and the first tier begins at one or more.")
    candidates = []
    for at, (start, price) in enumerate(tiers):
        holding = holding_share * price
        quantity = (2 * per_year * order_cost / holding).sqrt()
        if at + 1 < len(tiers):
            quantity = min(quantity, Decimal(tiers[at + 1][0] - 1))
        quantity = max(quantity, Decimal(start))
        yearly = per_year * price + per_year * order_cost / quantity + holding * quantity / 2
        candidates.append((yearly, quantity, price))
    yearly, quantity, price = min(candidates)
    return EconomicQuantity(quantity=quantity, unit_price=price, yearly_cost=yearly)
