"""A plan as the `reorder` command prints it, and the fingerprint of the problem that it answers."""

import datetime
import hashlib
import json
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal

from inventory.ground.findings import Finding
from inventory.ground.money import Currency
from inventory.replenish.problem import Order, Plan, Problem
from inventory.replenish.watch import Watch

__all__ = [
    "PrintedExpectation",
    "PrintedLine",
    "PrintedOrder",
    "PrintedPlan",
    "PrintedReview",
    "PrintedShortage",
    "printed_plan",
    "problem_fingerprint",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedLine:
    """Packs of one material, what they hold in its stock unit, and why."""

    material: str
    packs: int
    quantity: Decimal
    unit_price: Decimal
    amount: Decimal
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedOrder:
    """One order to one supplier; `order_by` is the last day on which it is still in time."""

    supplier: str
    order_by: datetime.date
    lines: tuple[PrintedLine, ...]
    goods: Decimal
    postage: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedShortage:
    """A part of a need that comes late."""

    material: str
    quantity: Decimal
    date: datetime.date
    job: str
    late_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedExpectation:
    """What is used of a material in a week, known work included, and the reserve that is kept beyond known work."""

    material: str
    per_week: Decimal
    reserve: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPlan:
    """A plan: money rounded to the currency's decimals, quantities without needless zeros.

    Attributes:
        line_by_line_total: what it would cost material by material; None where that would break a rule or come later.
        bound: no plan that is as early costs less.
    """

    as_of: datetime.date
    currency: str
    orders: tuple[PrintedOrder, ...]
    shortages: tuple[PrintedShortage, ...]
    total: Decimal
    holding: Decimal
    line_by_line_total: Decimal | None
    saving: Decimal | None
    optimal: bool
    bound: Decimal
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedReview(PrintedPlan):
    """What is best ordered at one review of several, when the next one is, and what use is expected."""

    next_review: datetime.date
    expected: tuple[PrintedExpectation, ...]


def printed_plan(plan: Plan) -> PrintedPlan:
    """Return the plan as it is printed; that of a review with what it expects."""
    problem, money, watched = plan.problem, plan.problem.currency.round, plan.watched
    printed = PrintedPlan(
        as_of=problem.as_of,
        currency=problem.currency.code,
        orders=tuple(_order(order, problem.currency) for order in plan.orders),
        shortages=tuple(
            PrintedShortage(
                material=row.need.material,
                quantity=_bare(row.quantity),
                date=row.need.day,
                job=row.need.job,
                late_days=row.late_days,
            )
            for row in plan.shortages
        ),
        total=money(plan.total),
        holding=money(plan.holding),
        line_by_line_total=None if plan.line_by_line_total is None else money(plan.line_by_line_total),
        saving=None if plan.saving is None else money(plan.saving),
        optimal=plan.is_optimal,
        bound=money(plan.bound),
        findings=tuple(plan.findings),
    )
    if watched is None:
        return printed
    return PrintedReview(
        **{entry.name: getattr(printed, entry.name) for entry in fields(printed)},
        next_review=watched.next_review,
        expected=tuple(
            PrintedExpectation(material=row.material, per_week=_bare(row.per_week), reserve=_bare(row.reserve))
            for row in watched.expected
        ),
    )


def problem_fingerprint(problem: Problem, watch: Watch) -> str:
    """Return a text that is the same as long as everything in the problem, and how the shelf is watched, is."""
    return hashlib.sha256(json.dumps([problem, watch], default=_as_json, sort_keys=True).encode()).hexdigest()


def _as_json(value: object) -> object:
    """What JSON does not know: a row by its fields, a number or a day as text."""
    return {field.name: getattr(value, field.name) for field in fields(value)} if is_dataclass(value) else str(value)


def _order(order: Order, currency: Currency) -> PrintedOrder:
    return PrintedOrder(
        supplier=order.supplier.code,
        order_by=order.order_by,
        lines=tuple(
            PrintedLine(
                material=line.offer.material,
                packs=line.packs,
                quantity=_bare(line.quantity),
                unit_price=currency.round(line.unit_price),
                amount=currency.round(line.amount),
                why=line.why,
            )
            for line in order.lines
        ),
        goods=currency.round(order.goods),
        postage=currency.round(order.postage),
        total=currency.round(order.goods + order.postage),
    )


def _bare(number: Decimal) -> Decimal:
    return Decimal(f"{number.normalize():f}")
