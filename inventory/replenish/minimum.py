"""Suppliers from whom nothing can be ordered: all that they sell comes to less than the least order that they take.

Packs have no limit, so that any price reaches any minimum; but not where the last price of every offer is nothing.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.ground.findings import Finding, warn
from inventory.ground.money import Currency
from inventory.replenish.problem import Offer, Problem, Supplier

__all__ = ["MINIMUM_CODE", "MINIMUM_HINT", "MinimumOutOfReach", "minimum_words", "most_goods", "reachable"]

MINIMUM_CODE = "plan.minimum-out-of-reach"
MINIMUM_HINT = "Correct its prices or its minimum order, or add an offer of another supplier."


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumOutOfReach:
    """A supplier whose minimum order cannot be reached, the most that its goods can come to, and what it sells."""

    supplier: Supplier
    most: Decimal
    materials: frozenset[str]

    def words(self, currency: Currency) -> str:
        """The supplier, its minimum and what can be bought at most, as a clause."""
        minimum = currency.round(self.supplier.minimum_order or Decimal(0))
        return (
            f"{self.supplier.code} takes orders from {minimum} {currency.code}, and all that can be bought there comes "
            f"to {currency.round(self.most)} {currency.code} at most"
        )

    def finding(self, currency: Currency) -> Finding:
        """The warning that nothing is ordered there."""
        return warn(
            MINIMUM_CODE,
            f"supplier {self.supplier.code}",
            f"{self.words(currency)}: nothing is ordered there.",
            "Correct its prices or its minimum order.",
        )


def minimum_words(out_of_reach: Iterable[MinimumOutOfReach], codes: Iterable[str], currency: Currency) -> str:
    """Return why none of these codes is bought from the suppliers that sell one of them; empty where none does."""
    asked = frozenset(codes)
    return "; ".join(row.words(currency) for row in out_of_reach if row.materials & asked)


def most_goods(offers: Iterable[Offer]) -> Decimal | None:
    """Return the most that goods of these offers can be worth, a line of each; None where there is no limit."""
    most = Decimal(0)
    for offer in offers:
        if offer.tiers[-1].price:
            return None
        ends = zip(offer.tiers, offer.tiers[1:], strict=False)
        worth = [
            (following.from_packs - 1) * tier.price
            for tier, following in ends
            if following.from_packs > offer.fewest_packs
        ]
        most += max(worth, default=Decimal(0))
    return most


def reachable(problem: Problem) -> tuple[Problem, tuple[MinimumOutOfReach, ...]]:
    """Return the problem without the offers of suppliers whose minimum order cannot be reached, and those suppliers."""
    offers: dict[str, list[Offer]] = defaultdict(list)
    for offer in problem.offers:
        offers[offer.supplier].append(offer)
    found = []
    for supplier in problem.suppliers:
        sold = offers[supplier.code]
        if not sold or not supplier.minimum_order:
            continue
        most = most_goods(sold)
        if most is not None and most < supplier.minimum_order:
            found.append(
                MinimumOutOfReach(supplier=supplier, most=most, materials=frozenset(offer.material for offer in sold))
            )
    out = {row.supplier.code for row in found}
    if not out:
        return problem, ()
    return replace(problem, offers=tuple(row for row in problem.offers if row.supplier not in out)), tuple(found)
