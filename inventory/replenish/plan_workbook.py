"""A plan as a workbook: the orders line by line, and what comes late."""

from decimal import Decimal
from typing import Any

from inventory.ground.sheets import SheetBook

__all__ = ["plan_workbook"]


def plan_workbook(document: dict[str, Any]) -> bytes:
    """Return an XLSX with the sheets Orders, Suppliers and Late, from the printed plan alone."""
    book = SheetBook()
    book.sheet(
        "Orders",
        ["Supplier", "Order by", "Material", "Packs", "Quantity", "Price of a pack", "Amount", "Why"],
        (
            [
                order["supplier"],
                order["order_by"],
                line["material"],
                line["packs"],
                Decimal(line["quantity"]),
                Decimal(line["unit_price"]),
                Decimal(line["amount"]),
                line["why"],
            ]
            for order in document["orders"]
            for line in order["lines"]
        ),
    )
    book.sheet(
        "Suppliers",
        ["Supplier", "Goods", "Postage", f"Total {document['currency']}"],
        (
            [order["supplier"], Decimal(order["goods"]), Decimal(order["postage"]), Decimal(order["total"])]
            for order in document["orders"]
        ),
    )
    book.sheet(
        "Late",
        ["Material", "Quantity", "Needed on", "Job", "Days late"],
        (
            [row["material"], Decimal(row["quantity"]), row["date"], row["job"], row["late_days"]]
            for row in document["shortages"]
        ),
    )
    return book.data()
