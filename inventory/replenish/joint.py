"""The joint order: packs of all offers at once, so that goods + postage + holding is least, after lateness.

Exact: price tiers hold for all packs of a line, postage is free from a value of goods, a minimum order binds only where
a supplier is used, and a surplus is what is bought beyond the needs and safety that stock leaves open. What is worth
having along counts with its worth instead of as surplus.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import ceil

from inventory.replenish.blocks import solved_by_blocks
from inventory.replenish.flow import arcs, bought_sources, decimals, least_late, stock_sources
from inventory.replenish.parts import Parts
from inventory.replenish.problem import Ahead, Demand, Offer, Problem, Stocked, Supplier
from inventory.replenish.program import Program

__all__ = ["Packs", "joint_packs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Packs:
    """Packs to buy of each offer, by its place in the problem; `bound` is below the cost of every plan.

    `wanted` is, per code that is bought, how much of it needs and safety call for beyond stock. `cost` is goods, postage
    and holding, less what is worth having along.
    """

    packs: dict[int, int]
    wanted: dict[str, Decimal]
    is_optimal: bool
    cost: float
    bound: float


def joint_packs(problem: Problem, *, lateness: Decimal, seconds: float) -> Packs | None:
    """Return the cheapest packs that come as little late as can be, which is `lateness` in all; None where time runs out.

    What nothing joins is as little late as can be each by itself, so that lateness joins nothing either.

    Cost is in the currency; differences under a thousandth of a minor unit count as none.
    """
    return _Joint(problem, lateness).solved(seconds)


class _Joint:
    """Builds one program."""

    def __init__(self, problem: Problem, lateness: Decimal) -> None:
        self.problem = problem
        self.program = Program()
        self.needs = _by_material_and_day(problem.needs)
        self.materials = {row.code: row for row in problem.materials}
        self.stock: dict[str, Decimal] = defaultdict(Decimal)
        for source in stock_sources(problem):
            self.stock[source.code] += source.quantity or Decimal(0)
        # Needs that a code may serve: its own, and those of codes that list it as a substitute.
        self.servable: dict[str, Decimal] = defaultdict(Decimal)
        self.is_exchanged = {code for row in problem.materials for code in row.substitutes}
        self.is_exchanged |= {row.code for row in problem.materials if row.substitutes}
        for need in self.needs:
            for code in (need.material, *self.materials[need.material].substitutes):
                self.servable[code] += need.quantity
        self.ahead: dict[str, list[Ahead]] = defaultdict(list)
        for more in problem.ahead:
            self.ahead[more.material].append(more)
        # What lies there serves these in time, so that their needs ask nothing of the program.
        self.settled = {row.code for row in problem.materials if self._is_settled(row)}
        self.needs = [need for need in self.needs if need.material not in self.settled]
        self.use: dict[str, dict[int, float]] = defaultdict(dict)
        self.pack_columns: dict[int, list[int]] = defaultdict(list)
        self.bought: dict[str, dict[int, float]] = defaultdict(dict)
        self.wanted_columns: dict[str, int] = {}
        self.offset = 0.0
        self._suppliers()
        self._flows(lateness)
        self._holding()

    def solved(self, seconds: float) -> Packs | None:
        gap = float(self.problem.currency.minor_unit) / 1000
        answer = solved_by_blocks(self.program, seconds=seconds, gap=gap)
        if answer is None:
            return None
        packs = {
            place: count
            for place, columns in self.pack_columns.items()
            if (count := sum(round(answer.values[column]) for column in columns))
        }
        wanted = {code: self._wanted(code) for code in self.bought if code not in self.is_exchanged}
        for code, column in self.wanted_columns.items():
            wanted[code] = round(Decimal(answer.values[column]), 6)
        return Packs(
            packs=packs,
            wanted=wanted,
            is_optimal=answer.is_optimal,
            cost=answer.cost + self.offset,
            bound=answer.bound + self.offset,
        )

    def _suppliers(self) -> None:
        by_supplier: dict[str, list[int]] = defaultdict(list)
        for place, offer in enumerate(self.problem.offers):
            by_supplier[offer.supplier].append(place)
        for supplier in self.problem.suppliers:
            places = by_supplier[supplier.code]
            most_fill = self._most_fill(supplier, places)
            used = self.program.column(cost=float(supplier.postage), high=1.0, whole=True, shared=True)
            goods: dict[int, float] = {}
            for place in places:
                goods |= self._offer(place, supplier, used, most_fill)
            if supplier.minimum_order:
                self.program.row({**goods, used: -float(supplier.minimum_order)}, low=0.0, shared=True)
            if supplier.postage_free_from is not None and supplier.postage:
                free = self.program.column(cost=-float(supplier.postage), high=1.0, whole=True, shared=True)
                self.program.row({free: 1.0, used: -1.0}, high=0.0, shared=True)
                self.program.row({**goods, free: -float(supplier.postage_free_from)}, low=0.0, shared=True)

    def _offer(self, place: int, supplier: Supplier, used: int, most_fill: Fraction | None) -> dict[int, float]:
        """Columns of an offer's packs, a tier each, with their prices; returns what they add to the goods."""
        offer = self.problem.offers[place]
        most = self._most_packs(offer, supplier, most_fill)
        goods: dict[int, float] = {}
        chosen: dict[int, float] = {}
        for tier, following in zip(offer.tiers, [*offer.tiers[1:], None], strict=True):
            low = max(tier.from_packs, offer.minimum_packs)
            high = most if following is None else min(most, following.from_packs - 1)
            if high < low:
                continue
            packs = self.program.column(cost=float(tier.price), high=float(high), whole=True)
            self.pack_columns[place].append(packs)
            self.bought[offer.material][packs] = float(offer.pack)
            goods[packs] = float(tier.price)
            if low == 1 and len(offer.tiers) == 1:
                self.program.row({packs: 1.0, used: -float(high)}, high=0.0)
                continue
            is_chosen = self.program.column(high=1.0, whole=True)
            self.program.row({packs: 1.0, is_chosen: -float(high)}, high=0.0)
            self.program.row({packs: 1.0, is_chosen: -float(low)}, low=0.0)
            chosen[is_chosen] = 1.0
        if chosen:
            self.program.row({**chosen, used: -1.0}, high=0.0)
        return goods

    def _is_settled(self, row: Stocked) -> bool:
        """Whether a code that is not exchanged is served by what lies there: more of it only fills an order up."""
        needed = self.servable[row.code]
        is_enough = row.on_hand >= needed and self.stock[row.code] >= needed + row.safety
        return is_enough and row.code not in self.is_exchanged and row.code not in self.ahead

    def _most_fill(self, supplier: Supplier, places: Iterable[int]) -> Fraction | None:
        """What packs beyond all wants cost at the most, with their holding, exactly; None where nothing tells.

        For free postage no more than the postage; for a minimum no more than the cheapest way to reach it from nothing.
        """
        free_from = supplier.postage_free_from if supplier.postage else None
        if not supplier.minimum_order:
            return Fraction(0) if free_from is None else Fraction(supplier.postage)
        goods = max(supplier.minimum_order, free_from or Decimal(0))
        costs = []
        for place in places:
            offer = self.problem.offers[place]
            for tier in offer.tiers if offer.material in self.settled else ():
                if not tier.price:
                    continue
                packs = max(tier.from_packs, offer.fewest_packs, ceil(goods / tier.price))
                if packs * offer.price(packs) >= goods:
                    costs.append(packs * (Fraction(offer.price(packs)) + self._holding_of_pack(offer)))
        return min(costs, default=None)

    def _holding_of_pack(self, offer: Offer) -> Fraction:
        return Fraction(self.problem.holding_per_unit(self.materials[offer.material])) * Fraction(offer.pack)

    def _most_packs(self, offer: Offer, supplier: Supplier, most_fill: Fraction | None) -> int:
        """More than these are never cheaper: all that may be wanted, the next break, and a fill-up on top."""
        row = self.materials[offer.material]
        there = Decimal(0) if row.code in self.is_exchanged else row.on_hand
        ahead = sum((more.quantity for more in self.ahead.get(row.code, ())), Decimal(0))
        wanted = ceil((max(Decimal(0), self.servable[row.code] + row.safety - there) + ahead) / offer.pack)
        threshold = max(supplier.minimum_order or Decimal(0), supplier.postage_free_from or Decimal(0))
        cheapest = min((tier.price for tier in offer.tiers if tier.price), default=None)
        fill = ceil(threshold / cheapest) if cheapest else 0
        base = max(wanted, offer.fewest_packs, offer.tiers[-1].from_packs)
        if cheapest and most_fill is not None:
            affordable = int(most_fill // (Fraction(cheapest) + self._holding_of_pack(offer)))
            if row.code in self.settled:
                return min(base + fill, affordable)
            fill = min(fill, affordable)
        if row.code in self.settled and not fill:
            return 0
        return base + fill

    def _wanted(self, code: str) -> Decimal:
        """What needs and safety of a code that is not exchanged call for beyond stock and open orders."""
        return max(Decimal(0), self.servable[code] + self.materials[code].safety - self.stock[code])

    def _flows(self, lateness: Decimal) -> None:
        """Rows by which what is there and bought serves all needs, and keeps the safeties."""
        part_of, late_of = self._late_parts(lateness)
        sources = stock_sources(self.problem) + bought_sources(self.problem, None, self.problem.arrivals)
        packs_of: dict[tuple[str, str], dict[int, float]] = defaultdict(dict)
        for place, columns in self.pack_columns.items():
            offer = self.problem.offers[place]
            packs_of[offer.material, offer.supplier] |= dict.fromkeys(columns, float(offer.pack))
        to_need: dict[int, dict[int, float]] = defaultdict(dict)
        from_source: dict[int, dict[int, float]] = defaultdict(dict)
        late: dict[int, dict[int, float]] = defaultdict(dict)
        for index, place in arcs(self.problem, self.needs, sources):
            source, need = sources[place], self.needs[index]
            days = source.late_days(need)
            part = part_of.get(need.material)
            if days and part is None:
                continue
            column = self.program.column(high=float(need.quantity))
            to_need[index][column] = from_source[place][column] = self.use[source.code][column] = 1.0
            if days and part is not None:
                late[part][column] = float(days)
        for index, need in enumerate(self.needs):
            self.program.row(to_need[index], low=float(need.quantity), high=float(need.quantity))
        for place, terms in from_source.items():
            source = sources[place]
            if source.quantity is not None:
                self.program.row(terms, high=float(source.quantity))
            else:
                bought = {column: -pack for column, pack in packs_of[source.code, source.supplier].items()}
                self.program.row({**terms, **bought}, high=0.0)
        # Lateness comes in whole steps of the finest quantity. Less room than half a step makes the solver cut off plans
        # that hold, by its own rounding.
        step = Decimal(1).scaleb(-decimals(self.problem))
        for part, terms in late.items():
            self.program.row(terms, high=float(late_of[part] + step / 2))
        for row in self.problem.materials:
            if row.safety and row.code not in self.settled:
                bought = {column: -pack for column, pack in self.bought[row.code].items()}
                self.program.row({**self.use[row.code], **bought}, high=float(self.stock[row.code] - row.safety))

    def _late_parts(self, lateness: Decimal) -> tuple[dict[str, int], list[Decimal]]:
        """Codes of the parts where something comes late, with the part's number; the least lateness of each part."""
        part_of: dict[str, int] = {}
        late_of: list[Decimal] = []
        if not lateness:
            return part_of, late_of
        parts = Parts(self.problem)
        for row in least_late(self.problem):
            code = row.need.material
            if code not in part_of:
                part_of |= {other.code: len(late_of) for other in parts.of([code]).materials}
                late_of.append(Decimal(0))
            late_of[part_of[code]] += row.quantity * row.late_days
        return part_of, late_of

    def _holding(self) -> None:
        """Holding on what is bought, less on what of it is wanted, per material."""
        for row in self.problem.materials:
            rate = float(self.problem.holding_per_unit(row))
            bought = self.bought[row.code]
            if not bought:
                continue
            for column, pack in bought.items():
                self.program.costs[column] += rate * pack
            if row.code in self.is_exchanged:
                wanted = self._wanted_of_bought(row, rate)
                self._having_along(row, {column: -pack for column, pack in bought.items()} | {wanted: 1.0}, 0.0, rate)
            else:
                fixed = float(self._wanted(row.code))
                self.offset -= rate * fixed
                self._having_along(row, {column: -pack for column, pack in bought.items()}, -fixed, rate)

    def _having_along(self, row: Stocked, taken: dict[int, float], most: float, rate: float) -> None:
        """Columns for what is worth having along, out of what is bought beyond what is wanted; it is no surplus."""
        along = {
            self.program.column(cost=-(more.worth + rate), high=float(more.quantity)): 1.0
            for more in self.ahead.get(row.code, ())
        }
        if along:
            self.program.row(along | taken, high=most)

    def _wanted_of_bought(self, row: Stocked, rate: float) -> int:
        """A column for max(0, use + safety − stock), where the use is the program's own choice."""
        open_after_stock = float(row.safety - self.stock[row.code])
        most = float(self.servable[row.code] + row.safety)
        wanted = self.program.column(cost=-rate, high=most)
        has_any = self.program.column(high=1.0, whole=True)
        slack = abs(open_after_stock) + most
        self.program.row({wanted: 1.0, has_any: -most}, high=0.0)
        use = dict.fromkeys(self.use[row.code], -1.0)
        self.program.row({wanted: 1.0, has_any: slack, **use}, high=open_after_stock + slack)
        if row.code in self.ahead:
            # Its worth must not tempt the program to call for less than it uses.
            self.program.row({wanted: 1.0, **use}, low=open_after_stock)
        self.wanted_columns[row.code] = wanted
        return wanted


def _by_material_and_day(needs: Iterable[Demand]) -> list[Demand]:
    """Needs of one material on one day are one to the program."""
    totals: dict[tuple[str, date], Decimal] = defaultdict(Decimal)
    for need in needs:
        totals[need.material, need.day] += need.quantity
    return [
        Demand(material=code, quantity=quantity, day=day, job="")
        for (code, day), quantity in totals.items()
        if quantity
    ]
