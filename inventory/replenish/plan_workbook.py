"""A plan as a workbook: the orders line by line, and what comes late."""

from decimal import Decimal
from itertools import chain

from inventory.ground.sheets import SheetBook
from inventory.replenish.plan_json import PrintedPlan

__all__ = ["plan_workbook"]


def plan_workbook(plan: PrintedPlan) -> bytes:
    """Return an XLSX with the sheets Orders, Suppliers and Late, from the printed plan alone."""
    book = SheetBook()
    book.sheet(
        "Orders",
        ["Supplier", "Order by", "Material", "Packs", "Quantity", "Price of a pack", "Amount", "Why"],
        (
            [
                order.supplier,
                order.order_by.isoformat(),
                line.material,
                line.packs,
                line.quantity,
                line.unit_price,
                line.amount,
                line.why,
            ]
            for order in plan.orders
            for line in order.lines
        ),
    )
    book.sheet(
        "Suppliers",
        ["Supplier", "Goods", "Postage", f"Total {plan.currency}"],
        chain(([order.supplier, order.goods, order.postage, order.total] for order in plan.orders), [_together(plan)]),
    )
    book.sheet(
        "Late",
        ["Material", "Quantity", "Needed on", "Job", "Days late"],
        ([row.material, row.quantity, row.date.isoformat(), row.job, row.late_days] for row in plan.shortages),
    )
    return book.data()


def _together(plan: PrintedPlan) -> list[str | Decimal]:
    """The last row of the suppliers' sheet."""
    goods = sum((order.goods for order in plan.orders), Decimal(0))
    postage = sum((order.postage for order in plan.orders), Decimal(0))
    return ["Together", goods, postage, goods + postage]
