"""Where each material usually comes from, what a unit of it costs there, and how long an order to its supplier lasts.

Usual is what is cheapest over the years, with what postage and holding then cost; a single order may well differ.
Sources: Harris, 1913 (the square root); Heizer and Render, Operations Management, ch. 12 (quantity discounts).
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, sqrt

from numpy import array

from inventory.ground.defaults import shelf_defaults
from inventory.replenish.cycle import Cycle, Numbers, joint_cycle
from inventory.replenish.problem import Offer, Problem, Supplier

__all__ = ["WEEKS_PER_YEAR", "Sourcing", "sourcing"]

WEEKS_PER_YEAR = 365 / 7
USUAL_COVER_WEEKS = float(shelf_defaults().use.cover_weeks)
SEED = 1
ROUNDS = 2
LEAST_BEGINS = 0.05  # draws tell no rarer thing reliably


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourcing:
    """The usual way to get what is used.

    Attributes:
        supplier: of each material that is offered, itself or in its stand-in, the supplier that it usually comes from.
        stand_in: of each material that is forecast and that nobody offers, the substitute that is bought in its place.
        unit_cost: of each of them, what a unit costs so, with what lying longer than the cycle adds where a price asks
            for much at once.
        cycle: of each supplier from whom anything that is forecast usually comes, how its orders follow one another.
        begins: of each material that is forecast, how often it begins an order of its supplier; never quite zero.
        holding_per_week: of every material, what a unit costs to hold for a week.
    """

    supplier: Mapping[str, str]
    stand_in: Mapping[str, str]
    unit_cost: Mapping[str, float]
    cycle: Mapping[str, Cycle]
    begins: Mapping[str, float]
    holding_per_week: Mapping[str, float]

    def bought_as(self, material: str) -> str:
        """The material that is bought where this one is used up: itself, or its stand-in."""
        return self.stand_in.get(material, material)

    def cover_weeks(self, material: str) -> float:
        """How many weeks of use an order of a material's usual supplier is to last."""
        cycle = self.cycle.get(self.supplier[material])
        return USUAL_COVER_WEEKS if cycle is None else cycle.cover_weeks


@dataclass(frozen=True, slots=True, kw_only=True)
class _Priced:
    """An offer and what a unit of it costs where an order lasts for a cover."""

    offer: Offer
    unit_cost: float


def sourcing(problem: Problem, weeks: Mapping[str, Numbers], *, review_weeks: int) -> Sourcing:
    """Return where materials usually come from.

    Args:
        weeks: of each material that is forecast, its past use by week.
        review_weeks: the maker looks once in so many weeks.
    """
    per_week = {code: float(series.mean()) for code, series in weeks.items()}
    holding = {
        row.code: float(problem.holding_share_per_year) * float(row.unit_value) / WEEKS_PER_YEAR
        for row in problem.materials
    }
    suppliers = {row.code: row for row in problem.suppliers}
    offers: dict[str, list[Offer]] = defaultdict(list)
    for offer in problem.offers:
        offers[offer.material].append(offer)
    offers |= {
        row.code: replacing
        for row in problem.materials
        if row.code in weeks and row.code not in offers
        if (replacing := [offer for code in row.substitutes for offer in offers.get(code, ())])
    }
    cover = dict.fromkeys(suppliers, USUAL_COVER_WEEKS)
    # Prices depend on how much is bought at once, and that on who sells what at what price: twice round is near enough.
    for _ in range(ROUNDS):
        priced = {
            code: [
                _Priced(
                    offer=offer,
                    unit_cost=_unit_cost(offer, per_week.get(code, 0.0), holding[code], cover[offer.supplier]),
                )
                for offer in rows
            ]
            for code, rows in offers.items()
        }
        chosen = _chosen(priced, suppliers, per_week, holding)
        families = _families(chosen, weeks)
        cycles = {
            name: _cycle(suppliers[name], {code: chosen[code] for code in codes}, weeks, holding, review_weeks)
            for name, codes in families.items()
        }
        cover |= {code: cycle.cover_weeks for code, cycle in cycles.items()}
    return Sourcing(
        supplier={code: row.offer.supplier for code, row in chosen.items()},
        stand_in={code: row.offer.material for code, row in chosen.items() if row.offer.material != code},
        unit_cost={code: row.unit_cost for code, row in chosen.items()},
        cycle=cycles,
        begins={
            code: max(LEAST_BEGINS, share)
            for name, codes in families.items()
            for code, share in zip(codes, cycles[name].begins, strict=True)
        },
        holding_per_week=holding,
    )


def _unit_cost(offer: Offer, per_week: float, holding: float, cover: float) -> float:
    """Price of a unit at the best price for lots that last the cover, or longer where that is cheaper.

    What a lot holds beyond the cover lies for half the time that it lasts longer: h · (x − T)² ÷ 2x a unit, for a lot
    that lasts x weeks.
    """
    pack = float(offer.pack)
    costs = []
    for tier in offer.tiers:
        fewest = max(tier.from_packs, offer.fewest_packs)
        packs = max(fewest, ceil(per_week * cover / pack))
        price = float(offer.price(packs)) / pack
        lasts = packs * pack / per_week if per_week else cover
        costs.append(price + (holding * (lasts - cover) ** 2 / (2 * lasts) if lasts > cover else 0.0))
    return min(costs)


def _chosen(
    priced: Mapping[str, list[_Priced]],
    suppliers: Mapping[str, Supplier],
    per_week: Mapping[str, float],
    holding: Mapping[str, float],
) -> dict[str, _Priced]:
    """The cheapest offers, from as few suppliers as postage makes worth while: one after the other is left out."""

    def cheapest(among: set[str]) -> dict[str, _Priced] | None:
        found = {}
        for code, rows in priced.items():
            at = [row for row in rows if row.offer.supplier in among]
            if not at:
                return None
            found[code] = min(at, key=lambda row: (row.unit_cost, row.offer.supplier))
        return found

    def per_week_of(chosen: Mapping[str, _Priced]) -> float:
        """Goods, and √(2 · postage · holding of a week's use) for each supplier."""
        goods = 0.0
        moved: dict[str, float] = defaultdict(float)
        for code, row in chosen.items():
            goods += per_week.get(code, 0.0) * row.unit_cost
            moved[row.offer.supplier] += per_week.get(code, 0.0) * holding[code]
        return goods + sum(sqrt(2 * float(suppliers[code].postage) * flow) for code, flow in moved.items())

    among = set(suppliers)
    best = cheapest(among) or {}
    cost = per_week_of(best)
    while True:
        tried = [(per_week_of(found), code, found) for code in sorted(among) if (found := cheapest(among - {code}))]
        if not tried or min(tried)[0] >= cost:
            return best
        cost, left_out, best = min(tried, key=lambda row: row[:2])
        among -= {left_out}


def _families(chosen: Mapping[str, _Priced], weeks: Mapping[str, Numbers]) -> dict[str, list[str]]:
    """Codes that are forecast, by the supplier that they usually come from."""
    families: dict[str, list[str]] = defaultdict(list)
    for code, row in chosen.items():
        if code in weeks:
            families[row.offer.supplier].append(code)
    return families


def _cycle(
    supplier: Supplier,
    family: Mapping[str, _Priced],
    weeks: Mapping[str, Numbers],
    holding: Mapping[str, float],
    review_weeks: int,
) -> Cycle:
    goods_per_week = sum(float(weeks[code].mean()) * row.unit_cost for code, row in family.items())

    def order_cost(lasting: float) -> float:
        return float(supplier.postage_on(Decimal(goods_per_week * lasting)))

    return joint_cycle(
        [weeks[code] for code in family],
        holding_per_week=array([holding[row.offer.material] for row in family.values()]),
        order_cost=order_cost,
        review_weeks=review_weeks,
        seed=SEED,
    )
