"""The joint order in words: what to buy from whom, why, what it saves, and what waits without it."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from inventory.buying.reordering import question
from inventory.ground.findings import Finding
from inventory.ground.measures import amount_text
from inventory.ground.wording import day_text, money_text
from inventory.models import KeptPlan, StockItem, Supplier
from inventory.replenish.explained_plan import ExplainedLine, ExplainedOrder, ExplainedPlan

__all__ = ["ReorderPage", "reorder_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLine:
    """A line with its reasons."""

    code: str
    what: str
    packs: str
    amount: str
    reasons: list[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedOrder:
    """An order to one supplier."""

    supplier: str
    order_by: str
    is_urgent: bool
    goods: str
    postage: str
    topping_up: str
    lines: list[PlannedLine]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWait:
    """Known work that may wait for a later order."""

    code: str
    what: str
    quantity: str
    job: str
    needed: str
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedUse:
    """What is expected of a material, and why."""

    code: str
    what: str
    per_week: str
    reserve: str
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderPage:
    """The page; `kept` None before the first plan.

    Attributes:
        next_orders: supplier, about when, and the material that begins the order.
    """

    kept: KeptPlan | None
    is_stale: bool
    orders: list[PlannedOrder]
    sums: list[tuple[str, str, str]]
    shortages: list[tuple[str, str, str, str]]
    findings: list[Finding]
    is_proven: bool
    next_review: str = ""
    waiting: list[PlannedWait] = field(default_factory=list)
    next_orders: list[tuple[str, str, str]] = field(default_factory=list)
    expected: list[PlannedUse] = field(default_factory=list)


def reorder_page(kept: KeptPlan | None, *, on: date) -> ReorderPage:
    """Return the page of a kept plan, held against the books as they stand."""
    if kept is None:
        return ReorderPage(kept=None, is_stale=False, orders=[], sums=[], shortages=[], findings=[], is_proven=True)
    plan = kept.plan
    codes = {line.material for order in plan.orders for line in order.lines}
    codes |= {row.material for row in plan.waiting} | {row.material for row in plan.expected}
    codes |= {row.material for row in plan.shortages} | {row.material for row in plan.next_orders}
    codes |= {finding.where for finding in plan.findings}
    items = {item.code: item for item in StockItem.objects.filter(code__in=codes).select_related("material")}
    suppliers = dict(Supplier.objects.values_list("code", "name"))

    def money(amount: Decimal) -> str:
        return money_text(amount, plan.currency)

    return ReorderPage(
        kept=kept,
        is_stale=kept.ordered_at is None and question(on=on).fingerprint != kept.question,
        orders=[
            PlannedOrder(
                supplier=suppliers.get(order.supplier, order.supplier),
                order_by=day_text(order.order_by),
                is_urgent=order.order_by <= on,
                goods=money(order.goods),
                postage=f"{money(order.postage)} postage" if order.postage else "postage free",
                topping_up=_topping_up(order, money),
                lines=[
                    PlannedLine(
                        code=line.material,
                        what=str(items[line.material]),
                        packs=f"{line.packs} × {line.pack}",
                        amount=money(line.amount),
                        reasons=_reasons(line, items[line.material], plan.rules.get(line.material)),
                    )
                    for line in order.lines
                ],
            )
            for order in plan.orders
        ],
        sums=_sums(plan, money),
        shortages=[
            (
                str(items[shortage.material]),
                _amount(shortage.quantity, items[shortage.material]),
                shortage.job,
                f"{shortage.late_days} days late",
            )
            for shortage in plan.shortages
        ],
        findings=[
            replace(finding, where=str(items.get(finding.where, finding.where)))
            for finding in plan.findings
            if finding.code != "plan.late"
        ],
        is_proven=plan.optimal,
        next_review=day_text(plan.next_review),
        waiting=[
            PlannedWait(
                code=row.material,
                what=str(items[row.material]),
                quantity=_amount(row.quantity, items[row.material]),
                job=row.job,
                needed=day_text(row.day),
                until=day_text(row.until),
            )
            for row in plan.waiting
        ],
        next_orders=[
            (suppliers.get(row.supplier, row.supplier), day_text(row.about), str(items[row.material]))
            for row in plan.next_orders
        ],
        expected=[
            PlannedUse(
                code=row.material,
                what=str(items[row.material]),
                per_week=_amount(row.per_week, items[row.material]),
                reserve=_amount(row.reserve, items[row.material]),
                rule=plan.rules.get(row.material, ""),
            )
            for row in plan.expected
        ],
    )


def _amount(amount: Decimal, item: StockItem) -> str:
    return amount_text(amount, item.unit)


def _reasons(line: ExplainedLine, item: StockItem, rule: str | None) -> list[tuple[str, str]]:
    waiting = ", ".join(line.waiting)
    washed = ", once it is washed" if item.material.is_cloth and item.material.shrinkage_permille else ""
    reasons = [
        ("Why", line.why),
        ("Formula", f"{line.packs} packs of {line.pack} at {line.unit_price}"),
        ("Brings", f"{line.quantity} {item.unit.value}{washed}"),
        ("Without it", f"{waiting} would wait." if waiting else "No work would wait."),
    ]
    if rule is not None:
        reasons.append(("Forecast", rule))
    return reasons


def _sums(plan: ExplainedPlan, money: Callable[[Decimal], str]) -> list[tuple[str, str, str]]:
    sums = [
        ("Together", money(plan.total), "Goods and postage, and what holding the surplus costs."),
        ("Of it holding", money(plan.holding), "What is bought beyond needs and reserve, as long as it lies."),
    ]
    if plan.saving is not None and plan.line_by_line_total is not None:
        sums.append(
            (
                "Line by line",
                money(plan.line_by_line_total),
                "Each material on its own from the cheapest offer in time, then postage.",
            )
        )
        sums.append(("Saved by ordering jointly", money(plan.saving), "Line by line less together."))
    if not plan.optimal:
        sums.append(("No plan costs less than", money(plan.bound), "Time ran out before the best was proven."))
    return sums


def _topping_up(order: ExplainedOrder, money: Callable[[Decimal], str]) -> str:
    topping_up = order.topping_up
    if topping_up is None or not topping_up.goods_more:
        return ""
    return (
        f"Topped up to free postage: to have along what reaches it costs {money(topping_up.goods_more)} more than to buy it "
        f"later, {money(topping_up.postage_saved)} postage saved."
    )
