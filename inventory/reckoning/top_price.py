"""Up to which price something is worth buying at a fair or in a shop: what it would cost, sent by who sells it cheapest."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from inventory.reckoning.landed_cost import spread

__all__ = ["Quoted", "TopPrice", "top_prices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quoted:
    """What an offer asks for enough packs: base units that they hold, and minor units of the studio's currency.

    `goods` is the same in the supplier's own minor units, by which it asks for postage.
    """

    supplier: int
    packs: int
    quantity: int
    amount: int
    goods: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TopPrice:
    """The cheapest offer of an item, and its share of that supplier's postage, in minor units."""

    quoted: Quoted
    postage: int

    @property
    def together(self) -> int:
        """What its packs cost with their share of postage."""
        return self.quoted.amount + self.postage


def top_prices(offers: Mapping[int, Sequence[Quoted]], postage: Callable[[int, int], int]) -> dict[int, TopPrice]:
    """Return the top price of each item that somebody offers.

    The cheapest offer of an item is the one that asks the least for a base unit, the first of several. What is cheapest at
    one supplier is sent together: its postage is shared by value.

    Args:
        offers: by item.
        postage: what a supplier asks for sending goods of a value in its own minor units, in those of the studio.

    >>> cord = Quoted(supplier=1, packs=1, quantity=10, amount=300, goods=300)
    >>> busk = Quoted(supplier=1, packs=2, quantity=2, amount=900, goods=900)
    >>> [price.together for price in top_prices({1: [cord], 2: [busk]}, lambda supplier, goods: 400).values()]
    [400, 1200]
    """
    cheapest = {item: min(rows, key=lambda one: one.amount / one.quantity) for item, rows in offers.items() if rows}
    by_supplier: dict[int, list[int]] = {}
    for item, quoted in cheapest.items():
        by_supplier.setdefault(quoted.supplier, []).append(item)
    found = {}
    for supplier, items in by_supplier.items():
        amounts = [cheapest[item].amount for item in items]
        asked = postage(supplier, sum(cheapest[item].goods for item in items))
        for item, share in zip(items, spread(asked, amounts), strict=True):
            found[item] = TopPrice(quoted=cheapest[item], postage=share)
    return {item: found[item] for item in cheapest}
