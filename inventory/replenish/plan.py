"""From a problem to the plan: least lateness first, then the cheapest packs, then exact money and reasons."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import ROUND_FLOOR, Decimal

from inventory.ground.findings import Finding, refuse, warn
from inventory.replenish.flow import least_lateness, shortages
from inventory.replenish.joint import Packs, joint_packs
from inventory.replenish.minimum import reachable
from inventory.replenish.parts import Parts
from inventory.replenish.problem import Demand, Offer, OpenOrder, Order, OrderLine, Plan, Problem, Stocked, Supplier
from inventory.replenish.single import line_by_line_total

__all__ = ["make_plan"]

SECONDS = 6.0
PATIENCE = 8.0
"""So many times as long is searched once more where a busy machine found no plan at all: a late plan beats none."""


def make_plan(problem: Problem, *, seconds: float = SECONDS) -> Plan:
    """Return the joint order that covers all needs with the least lateness and then the least cost.

    Where something is worth having along, that decides with cost; there is then no comparison line by line. The plan's
    problem is without the offers of suppliers whose minimum order cannot be reached.

    Raises:
        Refused: a need or a safety that nothing can ever meet; no plan found in time.
    """
    asked = problem
    problem, out_of_reach = reachable(asked)
    lateness = least_lateness(problem, out_of_reach)
    joint = joint_packs(problem, lateness=lateness, seconds=seconds)
    if joint is None:
        joint = joint_packs(problem, lateness=lateness, seconds=PATIENCE * seconds)
    if joint is None:
        raise refuse("plan.no-answer", "file", "No plan was found in time.", "Plan fewer materials at once.")
    bought: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for place, packs in joint.packs.items():
        offer = problem.offers[place]
        bought[offer.material, offer.supplier] += packs * offer.pack
    late = shortages(problem, bought)
    if late is None:
        raise refuse(
            "plan.no-answer", "file", "The plan that was found does not hold.", "Plan fewer materials at once."
        )
    holding = _holding(problem, joint)
    orders = _orders(problem, joint, bought)
    plan = Plan(
        problem=problem,
        orders=orders,
        shortages=late,
        holding=holding,
        line_by_line_total=None if problem.ahead else line_by_line_total(asked, lateness=lateness),
        is_optimal=joint.is_optimal,
        cost=joint.cost,
        bound=Decimal(0),
        findings=[
            *(row.finding(problem.currency) for row in out_of_reach),
            *(_late_finding(row.need.material, row.need.job, row.late_days) for row in late),
        ],
    )
    if joint.is_optimal:
        return replace(plan, bound=plan.total)
    # Worth is no money of this order: where it counts, what is proven is how much better an order can be.
    least = float(plan.total) - (joint.cost - joint.bound) if problem.ahead else joint.bound
    floor = Decimal(least).quantize(problem.currency.minor_unit, rounding=ROUND_FLOOR)
    return replace(plan, bound=min(plan.total, floor))


def _holding(problem: Problem, joint: Packs) -> Decimal:
    """Return the holding of all that is bought beyond needs and safety, rounded once."""
    by_code: dict[str, Decimal] = defaultdict(Decimal)
    for place, packs in joint.packs.items():
        offer = problem.offers[place]
        by_code[offer.material] += packs * offer.pack
    rates = {row.code: problem.holding_per_unit(row) for row in problem.materials if row.code in by_code}
    total = Decimal(0)
    for code, quantity in by_code.items():
        total += rates[code] * max(Decimal(0), quantity - joint.wanted.get(code, Decimal(0)))
    return problem.currency.round(total)


def _orders(problem: Problem, joint: Packs, bought: Mapping[tuple[str, str], Decimal]) -> tuple[Order, ...]:
    lines: dict[str, list[OrderLine]] = defaultdict(list)
    reasons = _Reasons(problem, joint, bought)
    parts = Parts(problem)
    for place in sorted(joint.packs):
        offer = problem.offers[place]
        lines[offer.supplier].append(OrderLine(offer=offer, packs=joint.packs[place], why=reasons.of(offer)))
    return tuple(
        Order(
            supplier=supplier,
            order_by=_order_by(parts, supplier, bought),
            lines=tuple(sorted(lines[supplier.code], key=lambda line: (line.offer.material, line.offer.pack))),
        )
        for supplier in sorted(problem.suppliers, key=lambda row: row.code)
        if lines[supplier.code]
    )


class _Reasons:
    """Says what a line is for, in words with its numbers."""

    def __init__(self, problem: Problem, joint: Packs, bought: Mapping[tuple[str, str], Decimal]) -> None:
        self.wanted = joint.wanted
        self.rows = {row.code: row for row in problem.materials}
        self.total: dict[str, Decimal] = defaultdict(Decimal)
        for (code, _), quantity in bought.items():
            self.total[code] += quantity
        self.needs: dict[str, list[Demand]] = defaultdict(list)
        for need in problem.needs:
            if need.quantity:
                self.needs[need.material].append(need)
        self.coming: dict[str, list[OpenOrder]] = defaultdict(list)
        for order in problem.open_orders:
            self.coming[order.material].append(order)

    def _uncovered(self, row: Stocked) -> list[Demand]:
        """The needs from the first one on that stock and open orders do not cover; all where they cover all."""
        needs = sorted(self.needs[row.code], key=lambda need: need.day)
        used = Decimal(0)
        for place, need in enumerate(needs):
            used += need.quantity
            came = (order.quantity for order in self.coming[row.code] if order.day <= need.day)
            if used > row.on_hand + sum(came, Decimal(0)):
                return needs[place:]
        return needs

    def of(self, offer: Offer) -> str:
        row = self.rows[offer.material]
        needs = self._uncovered(row)
        wanted = self.wanted.get(row.code, Decimal(0))
        jobs = list(dict.fromkeys(need.job for need in needs if need.job))
        first = min((need.day for need in needs), default=None)
        words = []
        if wanted:
            words.append(f"{wanted.normalize():f} {row.unit} wanted beyond stock and open orders")
            if first is not None:
                words.append(f"first short on {first}" + (f" for {', '.join(jobs[:3])}" if jobs else ""))
            if row.safety:
                words.append(f"{row.safety.normalize():f} kept as safety")
        elif first is not None:
            words.append(f"in time for {first}, before open orders come")
        beyond = self.total[row.code] - wanted
        if beyond > 0:
            words.append(f"{beyond.normalize():f} {row.unit} beyond that: whole packs, a price break or free postage")
        return "; ".join(words) + "."


def _order_by(parts: Parts, supplier: Supplier, bought: Mapping[tuple[str, str], Decimal]) -> date:
    """The last day on which an order to this supplier brings nothing later than the plan does."""
    part = parts.of(code for code, name in bought if name == supplier.code)
    arrivals = part.arrivals

    def lateness(arrival: date) -> Decimal:
        late = shortages(part, bought, {**arrivals, supplier.code: arrival})
        return Decimal("Infinity") if late is None else sum((row.quantity * row.late_days for row in late), Decimal(0))

    least = lateness(arrivals[supplier.code])
    days = sorted({need.day for need in part.needs if need.quantity and need.day > arrivals[supplier.code]})
    # Days before place `low` hold; those from `high` on do not.
    low, high = 0, len(days)
    while low < high:
        middle = (low + high) // 2
        low, high = (middle + 1, high) if lateness(days[middle]) <= least else (low, middle)
    last = days[low - 1] if low else arrivals[supplier.code]
    return last - timedelta(days=supplier.lead_days)


def _late_finding(material: str, job: str, late_days: int) -> Finding:
    return warn(
        "plan.late",
        f"need of {material} for {job or 'no job'}",
        f"It comes {late_days} days late whatever is ordered.",
        "Ask the supplier for a faster way, or move the date.",
    )
