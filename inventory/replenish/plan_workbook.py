"""A plan as a workbook: the orders line by line, and what comes late."""

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
        ([order.supplier, order.goods, order.postage, order.total] for order in plan.orders),
    )
    book.sheet(
        "Late",
        ["Material", "Quantity", "Needed on", "Job", "Days late"],
        ([row.material, row.quantity, row.date.isoformat(), row.job, row.late_days] for row in plan.shortages),
    )
    return book.data()
