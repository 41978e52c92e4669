"""A plan as the `reorder` command prints it."""

from decimal import Decimal
from typing import Any

from inventory.findings import findings_document
from inventory.replenish.model import Order, Plan

__all__ = ["plan_document"]


def plan_document(plan: Plan) -> dict[str, Any]:
    """Return the plan as JSON data: money with the currency's decimals, quantities without needless zeros."""
    problem = plan.problem

    def money(amount: Decimal | None) -> str | None:
        return None if amount is None else f"{problem.currency.round(amount):f}"

    return {
        "as_of": problem.as_of.isoformat(),
        "currency": problem.currency.code,
        "orders": [_order(order, money) for order in plan.orders],
        "shortages": [
            {
                "material": row.need.material,
                "quantity": _plain(row.quantity),
                "date": row.need.day.isoformat(),
                "job": row.need.job,
                "late_days": row.late_days,
            }
            for row in plan.shortages
        ],
        "total": money(plan.total),
        "holding": money(plan.holding),
        "line_by_line_total": money(plan.line_by_line_total),
        "saving": money(plan.saving),
        "optimal": plan.is_optimal,
        "bound": money(plan.bound),
        "findings": findings_document(plan.findings),
    }


def _order(order: Order, money: Any) -> dict[str, Any]:
    return {
        "supplier": order.supplier.code,
        "order_by": order.order_by.isoformat(),
        "lines": [
            {
                "material": line.offer.material,
                "packs": line.packs,
                "quantity": _plain(line.quantity),
                "unit_price": money(line.unit_price),
                "amount": money(line.amount),
                "why": line.why,
            }
            for line in order.lines
        ],
        "goods": money(order.goods),
        "postage": money(order.postage),
        "total": money(order.goods + order.postage),
    }


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"
