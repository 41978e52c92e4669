"""Large plans of invented materials: 300 materials at 12 suppliers, 400 dated needs, everything that makes them hard."""

from datetime import date, timedelta
from decimal import Decimal
from random import Random

from inventory.ground.money import currency_of
from inventory.replenish.problem import Demand, Offer, OpenOrder, Problem, Stocked, Supplier, Tier

__all__ = ["CHEAP", "DEAR", "large_plan"]

START = date(2027, 1, 4)
CENT = Decimal("0.01")
PACKS = (1, 5, 10, 25)
# Cents that a unit is worth at the most.
CHEAP, DEAR = 200, 2500


def large_plan(
    seed: int,
    *,
    materials: int = 300,
    suppliers: int = 12,
    needs: int = 400,
    most_offers: int = 5,
    most_worth: int = DEAR,
) -> Problem:
    """Return the plan of a seed; each material is offered by two to `most_offers` suppliers.

    Three in ten materials may be stood in for by a neighbour, a fifth is on its way, half of what is offered has a price
    break, a third of the suppliers ask for a minimum and most waive postage from some value on.
    """
    draw = Random(seed)
    codes = [f"M{place:03}" for place in range(materials)]
    sellers = [_supplier(draw, f"S{place:02}") for place in range(suppliers)]
    worth = {code: Decimal(draw.randint(20, most_worth)) / 100 for code in codes}
    wanted = dict.fromkeys(codes, 0)
    demands = []
    for place in range(needs):
        code, quantity = draw.choice(codes), draw.randint(1, 24)
        wanted[code] += quantity
        day = START + timedelta(days=draw.randint(5, 75))
        demands.append(Demand(material=code, quantity=Decimal(quantity), day=day, job=f"K{place % 60:02}"))
    return Problem(
        currency=currency_of("EUR"),
        as_of=START,
        holding_share_per_year=Decimal("0.18"),
        surplus_days=Decimal(180),
        materials=tuple(
            Stocked(
                code=code,
                unit="m",
                on_hand=Decimal(draw.randint(0, max(1, wanted[code] // 2))),
                safety=Decimal(draw.choice((0, 0, 0, draw.randint(1, 6)))),
                unit_value=worth[code],
                substitutes=(codes[place - 1],) if place and draw.random() < 0.3 else (),
            )
            for place, code in enumerate(codes)
        ),
        needs=tuple(demands),
        open_orders=tuple(
            OpenOrder(
                material=code, quantity=Decimal(draw.randint(1, 20)), day=START + timedelta(days=draw.randint(1, 40))
            )
            for code in draw.sample(codes, materials // 5)
        ),
        offers=tuple(
            _offer(draw, seller.code, code, worth[code])
            for code in codes
            for seller in draw.sample(sellers, draw.randint(2, most_offers))
        ),
        suppliers=tuple(sellers),
    )


def _supplier(draw: Random, code: str) -> Supplier:
    free_from = Decimal(draw.randrange(80, 400, 10))
    return Supplier(
        code=code,
        lead_days=draw.randint(2, 21),
        postage=Decimal(draw.randint(390, 1490)) / 100,
        postage_free_from=free_from if draw.random() < 0.8 else None,
        minimum_order=Decimal(draw.randrange(20, 100, 5)) if draw.random() < 0.35 else None,
    )


def _offer(draw: Random, supplier: str, material: str, worth: Decimal) -> Offer:
    pack = draw.choice(PACKS)
    price = worth * pack * Decimal(draw.randint(85, 125)) / 100
    tiers = [Tier(from_packs=1, price=price.quantize(CENT))]
    if draw.random() < 0.5:
        for packs, share in ((draw.randint(2, 5), 96), (draw.randint(6, 15), 91))[: draw.randint(1, 2)]:
            tiers.append(Tier(from_packs=packs, price=(price * share / 100).quantize(CENT)))
    return Offer(
        supplier=supplier,
        material=material,
        pack=Decimal(pack),
        tiers=tuple(tiers),
        minimum_packs=draw.choice((1, 1, 1, 1, 2, 3)),
    )
