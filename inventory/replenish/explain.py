"""What a plan's parts are worth: which work waits without a line, and what topping up to free postage costs and brings."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.findings import Refused
from inventory.replenish.flow import shortages
from inventory.replenish.model import Order, OrderLine, Plan, Problem
from inventory.replenish.plan import concerned, make_plan

__all__ = ["ToppedUp", "topping_up", "waiting_without"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToppedUp:
    """An order that reaches free postage, against the plan in which it could not.

    Attributes:
        goods_more: what all orders cost more in goods and holding than without the threshold.
        postage_saved: what is paid less in postage.
        saving: postage saved less goods more; above zero, or the plan would not top up.
    """

    supplier: str
    goods_more: Decimal
    postage_saved: Decimal

    @property
    def saving(self) -> Decimal:
        """What topping up brings in all."""
        return self.postage_saved - self.goods_more


def waiting_without(plan: Plan, line: OrderLine) -> tuple[str, ...]:
    """Return the jobs that would wait, or never be served, were this line left out; empty where none would."""
    problem = concerned(plan.problem, {line.offer.material})
    bought: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for order in plan.orders:
        for other in order.lines:
            if other is not line:
                bought[other.offer.material, other.offer.supplier] += other.quantity
    without = _late_jobs(problem, bought)
    already = {row.need.job for row in plan.shortages}
    return tuple(job for job in without if job not in already)


def topping_up(plan: Plan, order: Order, *, seconds: float) -> ToppedUp | None:
    """Return what it costs and brings that an order reaches free postage; None where it pays postage or has no threshold."""
    supplier = order.supplier
    if supplier.postage_free_from is None or order.postage or not supplier.postage:
        return None
    problem = replace(
        plan.problem,
        suppliers=tuple(
            replace(row, postage_free_from=None) if row.code == supplier.code else row for row in plan.problem.suppliers
        ),
    )
    try:
        other = make_plan(problem, seconds=seconds)
    except Refused:
        return None
    return ToppedUp(
        supplier=supplier.code,
        goods_more=_goods(plan) - _goods(other),
        postage_saved=_postage(other) - _postage(plan),
    )


def _late_jobs(problem: Problem, bought: Mapping[tuple[str, str], Decimal]) -> list[str]:
    """Jobs that come late with what is bought, earliest first; where it does not reach, those served last wait."""
    bare = replace(problem, materials=tuple(replace(row, safety=Decimal(0)) for row in problem.materials))
    left = bare
    waiting: list[str] = []
    while (late := shortages(left, bought)) is None:
        # The last need that is left is the one that the rest can do without.
        last = max((need for need in left.needs if need.quantity), key=lambda need: need.day)
        waiting.insert(0, last.job)
        left = replace(left, needs=tuple(need for need in left.needs if need is not last))
    return list(dict.fromkeys([*(row.need.job for row in late), *waiting]))


def _goods(plan: Plan) -> Decimal:
    return sum((order.goods for order in plan.orders), Decimal(0)) + plan.holding


def _postage(plan: Plan) -> Decimal:
    return sum((order.postage for order in plan.orders), Decimal(0))
