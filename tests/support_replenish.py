"""Plans to buy by, small enough to try every order, and a checker that knows nothing of the solver."""

import itertools
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from decimal import Decimal
from math import ceil
from typing import Any

from scipy.optimize import linprog

from inventory.replenish.problem import Problem

__all__ = ["brute_force", "checked", "document", "served_lateness"]

START = date(2027, 1, 4)


def document(**changes: Any) -> dict[str, Any]:
    """A small plan, as its file says it: one bone, one tape, two suppliers."""
    plain: dict[str, Any] = {
        "currency": "EUR",
        "as_of": "2027-01-04",
        "holding_share_per_year": "0.18",
        "materials": [
            {"code": "STEEL", "unit": "m", "on_hand": "3", "safety": "2", "unit_value": "3.10"},
            {"code": "TAPE", "unit": "m", "on_hand": "0", "safety": "0", "unit_value": "0.90"},
        ],
        "needs": [
            {"material": "STEEL", "quantity": "7", "date": "2027-01-20", "job": "K1"},
            {"material": "TAPE", "quantity": "2", "date": "2027-01-18", "job": "K1"},
        ],
        "open_orders": [{"material": "STEEL", "quantity": "1", "date": "2027-01-15"}],
        "offers": [
            {"supplier": "A", "material": "STEEL", "pack": "5", "breaks": [{"from_packs": 1, "price": "16.00"}]},
            {"supplier": "B", "material": "STEEL", "pack": "1", "breaks": [{"from_packs": 1, "price": "3.60"}]},
            {"supplier": "B", "material": "TAPE", "pack": "10", "breaks": [{"from_packs": 1, "price": "7.00"}]},
        ],
        "suppliers": [
            {"code": "A", "lead_days": 5, "postage": "6.00", "postage_free_from": "40.00"},
            {"code": "B", "lead_days": 10, "postage": "4.50"},
        ],
    }
    return {**plain, **changes}


def served_lateness(problem: Problem, bought: Mapping[tuple[str, str], Decimal]) -> float | None:
    """The least Σ quantity × late days by a general linear program; None where a need or safety is out of reach."""
    sources = [(row.code, None, row.on_hand) for row in problem.materials]
    sources += [(row.material, row.day, row.quantity) for row in problem.open_orders]
    sources += [
        (code, problem.arrival(problem.supplier(supplier)), quantity) for (code, supplier), quantity in bought.items()
    ]
    serving = {row.code: {row.code, *row.substitutes} for row in problem.materials}
    arcs = [
        (n, s)
        for n, need in enumerate(problem.needs)
        for s, source in enumerate(sources)
        if source[0] in serving[need.material]
    ]
    costs = [0 if sources[s][1] is None else max(0, (sources[s][1] - problem.needs[n].day).days) for n, s in arcs]
    equal = [[1.0 if n == index else 0.0 for n, _ in arcs] for index in range(len(problem.needs))]
    wanted = [float(need.quantity) for need in problem.needs]
    upper = [[1.0 if s == index else 0.0 for _, s in arcs] for index in range(len(sources))]
    most = [float(source[2]) for source in sources]
    for row in problem.materials:
        upper.append([1.0 if sources[s][0] == row.code else 0.0 for _, s in arcs])
        most.append(float(sum((source[2] for source in sources if source[0] == row.code), Decimal(0)) - row.safety))
    if min(most) < 0 or (not arcs and any(wanted)):
        return None
    if not arcs:
        return 0.0
    answer = linprog(costs, A_ub=upper, b_ub=most, A_eq=equal, b_eq=wanted)
    return round(answer.fun, 6) if answer.status == 0 else None


def money(problem: Problem, packs: Mapping[int, int]) -> Decimal | None:
    """Goods + postage + holding of so many packs of each offer, by hand; None where a rule of the offers is broken.

    Holding as without substitutes: what is bought beyond needs and safety that stock and open orders leave open.
    """
    goods: dict[str, Decimal] = defaultdict(Decimal)
    bought: dict[str, Decimal] = defaultdict(Decimal)
    for place, count in packs.items():
        offer = problem.offers[place]
        if not count:
            continue
        prices = [tier.price for tier in offer.tiers if tier.from_packs <= count]
        if count < offer.minimum_packs or not prices:
            return None
        goods[offer.supplier] += count * prices[-1]
        bought[offer.material] += count * offer.pack
    total = Decimal(0)
    for code, value in goods.items():
        supplier = problem.supplier(code)
        if supplier.minimum_order is not None and value < supplier.minimum_order:
            return None
        is_free = supplier.postage_free_from is not None and value >= supplier.postage_free_from
        total += value + (Decimal(0) if is_free else supplier.postage)
    holding = Decimal(0)
    for row in problem.materials:
        stock = row.on_hand + sum(
            (order.quantity for order in problem.open_orders if order.material == row.code), Decimal(0)
        )
        need = sum((need.quantity for need in problem.needs if need.material == row.code), Decimal(0))
        beyond = bought[row.code] - max(Decimal(0), need + row.safety - stock)
        rate = problem.holding_share_per_year * problem.surplus_days / 365 * row.unit_value
        holding += rate * max(Decimal(0), beyond)
    return total + problem.currency.round(holding)


def brute_force(problem: Problem) -> tuple[float, Decimal] | None:
    """Least lateness and then least money over every choice of packs; None where nothing serves."""
    best: tuple[float, Decimal] | None = None
    for counts in itertools.product(*(range(most + 1) for most in _most(problem))):
        packs = dict(enumerate(counts))
        cost = money(problem, packs)
        if cost is None or (best is not None and best[0] == 0 and cost >= best[1]):
            continue
        bought: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
        for place, count in packs.items():
            if count:
                offer = problem.offers[place]
                bought[offer.material, offer.supplier] += count * offer.pack
        late = served_lateness(problem, bought)
        if late is not None and (best is None or (late, cost) < best):
            best = (late, cost)
    return best


def _most(problem: Problem) -> Iterator[int]:
    for offer in problem.offers:
        row = problem.material(offer.material)
        wanted = sum((need.quantity for need in problem.needs), Decimal(0)) + row.safety
        supplier = problem.supplier(offer.supplier)
        threshold = max(supplier.minimum_order or Decimal(0), supplier.postage_free_from or Decimal(0))
        fill = ceil(threshold / min(tier.price for tier in offer.tiers))
        yield max(ceil(wanted / offer.pack), offer.minimum_packs, offer.tiers[-1].from_packs) + fill


def checked(problem: Problem, printed: Mapping[str, Any]) -> None:
    """Assert that a printed plan keeps every rule and adds up."""
    bought: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    total = Decimal(0)
    for order in printed["orders"]:
        supplier = problem.supplier(order["supplier"])
        goods = Decimal(0)
        for line in order["lines"]:
            fitting = [
                offer
                for offer in problem.offers
                if (offer.supplier, offer.material) == (supplier.code, line["material"])
                and offer.pack * line["packs"] == Decimal(line["quantity"])
                and line["packs"] >= offer.fewest_packs
                and offer.price(line["packs"]) == Decimal(line["unit_price"])
            ]
            assert fitting, line
            assert Decimal(line["amount"]) == line["packs"] * Decimal(line["unit_price"])
            assert line["why"]
            goods += Decimal(line["amount"])
            bought[line["material"], supplier.code] += Decimal(line["quantity"])
        assert Decimal(order["goods"]) == goods
        assert goods >= (supplier.minimum_order or 0)
        assert Decimal(order["postage"]) == supplier.postage_on(goods)
        assert Decimal(order["total"]) == goods + Decimal(order["postage"])
        assert date.fromisoformat(order["order_by"]) >= problem.as_of
        total += Decimal(order["total"])
    assert Decimal(printed["total"]) == total + Decimal(printed["holding"])
    assert Decimal(printed["bound"]) <= Decimal(printed["total"])
    late = served_lateness(problem, bought)
    assert late is not None
    said = sum(Decimal(row["quantity"]) * row["late_days"] for row in printed["shortages"])
    assert abs(float(said) - late) < 1e-6
    if printed["saving"] is not None:
        assert Decimal(printed["saving"]) >= 0
        assert Decimal(printed["line_by_line_total"]) - Decimal(printed["total"]) == Decimal(printed["saving"])


def day(after: int) -> str:
    """A day so many days after the start, as a file says it."""
    return (START + timedelta(days=after)).isoformat()
