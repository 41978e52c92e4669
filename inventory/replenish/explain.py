"""What a plan's parts are worth: which work waits without a line, and what topping up to free postage costs and brings."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from time import monotonic

from inventory.replenish.flow import shortages
from inventory.replenish.joint import Packs, joint_packs
from inventory.replenish.parts import Parts
from inventory.replenish.problem import Order, OrderLine, Plan, Problem, Shortage

__all__ = ["ToppedUp", "topping_up", "toppings_up", "waiting_without"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToppedUp:
    """An order that reaches free postage, against the plan in which it could not.

    Attributes:
        goods_more: what all orders cost more in goods and holding than without the threshold, less what the goods that
            are had along are worth.
        postage_saved: what is paid less in postage.
        saving: postage saved less goods more; above zero, or the plan would not top up.
    """

    goods_more: Decimal
    postage_saved: Decimal
    saving: Decimal


def waiting_without(plan: Plan) -> dict[OrderLine, tuple[str, ...]]:
    """Return, by line, the jobs that would wait or never be served were it left out; empty where none would."""
    parts = Parts(plan.problem)
    already = {row.need.job for row in plan.shortages}
    bought: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for order in plan.orders:
        for line in order.lines:
            bought[line.offer.material, line.offer.supplier] += line.quantity
    waiting = {}
    for order in plan.orders:
        for line in order.lines:
            pair = line.offer.material, line.offer.supplier
            without = _late_jobs(parts.of([line.offer.material]), {**bought, pair: bought[pair] - line.quantity})
            waiting[line] = tuple(job for job in without if job not in already)
    return waiting


def topping_up(plan: Plan, order: Order, *, seconds: float) -> ToppedUp | None:
    """Return what it costs and brings that an order reaches free postage.

    None where it pays postage or has no threshold, and where the best plan without the threshold is not proven in time.
    """
    supplier = order.supplier
    if supplier.postage_free_from is None or order.postage or not supplier.postage:
        return None
    problem = replace(
        plan.problem,
        suppliers=tuple(
            replace(row, postage_free_from=None) if row.code == supplier.code else row for row in plan.problem.suppliers
        ),
    )
    lateness = sum((row.quantity * row.late_days for row in plan.shortages), Decimal(0))
    other = joint_packs(problem, lateness=lateness, seconds=seconds)
    if other is None or not other.is_optimal:
        return None
    goods = _goods_by_supplier(problem, other)
    postage = sum((problem.supplier(code).postage_on(value) for code, value in goods.items()), Decimal(0))
    postage_saved = postage - sum((order.postage for order in plan.orders), Decimal(0))
    goods_more = problem.currency.round(Decimal(plan.cost - other.cost)) + postage_saved
    return ToppedUp(goods_more=goods_more, postage_saved=postage_saved, saving=postage_saved - goods_more)


def toppings_up(plan: Plan, *, seconds: float) -> dict[str, ToppedUp]:
    """Return what topping up costs and brings, by supplier: the orders that only just reach free postage first.

    Args:
        seconds: for all of them together; what is not told by then is left out.
    """
    end = monotonic() + seconds
    reaching = [order for order in plan.orders if order.supplier.postage_free_from is not None and not order.postage]
    found = {}
    for order in sorted(reaching, key=lambda order: order.goods - (order.supplier.postage_free_from or 0)):
        left = end - monotonic()
        if left > 0 and (topped := topping_up(plan, order, seconds=left)) is not None:
            found[order.supplier.code] = topped
    return found


def _late_jobs(problem: Problem, bought: Mapping[tuple[str, str], Decimal]) -> list[str]:
    """Jobs that come late with what is bought, earliest first; where it does not reach, those served last wait."""
    bare = replace(problem, materials=tuple(replace(row, safety=Decimal(0)) for row in problem.materials))
    # The last need that is left is the one that the rest can do without.
    last_first = sorted((need for need in bare.needs if need.quantity), key=lambda need: need.day, reverse=True)

    def late_without(count: int) -> tuple[Shortage, ...] | None:
        dropped = {id(need) for need in last_first[:count]}
        return shortages(replace(bare, needs=tuple(need for need in bare.needs if id(need) not in dropped)), bought)

    if (late := late_without(0)) is not None:
        return list(dict.fromkeys(row.need.job for row in late))
    # Without the first `low` it does not reach, without the first `high` it does.
    low, high = 0, len(last_first)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if late_without(middle) is None else (low, middle)
    late = late_without(high) or ()
    waiting = [need.job for need in reversed(last_first[:high])]
    return list(dict.fromkeys([*(row.need.job for row in late), *waiting]))


def _goods_by_supplier(problem: Problem, joint: Packs) -> dict[str, Decimal]:
    goods: dict[str, Decimal] = defaultdict(Decimal)
    for place, packs in joint.packs.items():
        offer = problem.offers[place]
        goods[offer.supplier] += packs * offer.price(packs)
    return goods
