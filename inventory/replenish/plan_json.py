"""A plan as the `reorder` command prints it, and the fingerprint of the problem that it answers."""

import hashlib
import json
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any

from inventory.ground.findings import findings_document
from inventory.replenish.problem import Order, Plan, Problem

__all__ = ["plan_document", "problem_fingerprint"]


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


def problem_fingerprint(problem: Problem) -> str:
    """Return a text that is the same as long as everything in the problem is."""
    return hashlib.sha256(json.dumps(problem, default=_as_json, sort_keys=True).encode()).hexdigest()


def _as_json(value: object) -> object:
    """What JSON does not know: a row by its fields, a number or a day as text."""
    return {field.name: getattr(value, field.name) for field in fields(value)} if is_dataclass(value) else str(value)


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
