"""An order to a supplier on paper, as a workbook and as text."""

import csv
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from io import StringIO
from pathlib import Path

from inventory.buying.order_page import order_page
from inventory.ground.measures import pack_amount, quantity_text
from inventory.ground.money import currency_of
from inventory.ground.rec20 import UNITS
from inventory.ground.sheets import Cell, SheetBook, disarmed
from inventory.ground.typesetting import typeset
from inventory.ground.wording import day_text
from inventory.models import PurchaseOrder, Shelf

__all__ = ["OrderFacts", "order_csv", "order_facts", "order_pdf", "order_workbook"]

_TEMPLATE = Path(__file__).with_name("purchase_order.typ")
_HEADER = ("Article", "What", "Packs", "Pack", "Unit", "Quantity", "Price", "Amount", "Dye lot")
_NO_FIGURES = ("", "", "", "", "")
"""Packs to price of a row that is a sum."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLineFacts:
    """A line: numbers for tables, words for paper."""

    article: str
    what: str
    packs: int
    pack: str
    unit: str
    quantity: str
    price: str
    amount: str
    price_text: str
    amount_text: str
    dye_lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFacts:
    """All that an order's papers show."""

    workroom: str
    address: list[str]
    supplier: str
    number: int
    dated: str
    day: str
    expected: str
    currency: str
    lines: list[OrderLineFacts]
    goods: str
    postage: str
    total: str
    sums: list[tuple[str, str]]  # what, and the number alone


def order_facts(order: PurchaseOrder, shelf: Shelf) -> OrderFacts:
    """Return what an order's papers show, from the order alone: later prices do not change it."""
    currency = currency_of(order.currency)
    page = order_page(order, on=order.made_on, home=shelf.currency)
    day = order.placed_on or order.made_on
    return OrderFacts(
        workroom=shelf.name,
        address=shelf.address.splitlines(),
        supplier=order.supplier.name,
        number=order.number,
        dated=day_text(day),
        day=day.isoformat(),
        expected=day_text(order.expected_on),
        currency=order.currency,
        lines=[
            OrderLineFacts(
                article=row.line.their_code,
                what=str(row.line.item),
                packs=row.line.packs,
                pack=f"{pack_amount(row.line.pack_thousandths):f}",
                unit=UNITS[row.line.pack_unit].name,
                quantity=quantity_text(row.line.quantity, row.line.item.unit),
                price=f"{currency.from_minor(row.line.price_minor):f}",
                amount=f"{currency.from_minor(row.line.amount_minor):f}",
                price_text=row.price,
                amount_text=row.amount,
                dye_lot=row.line.wanted_dye_lot,
            )
            for row in page.lines
        ],
        goods=page.goods,
        postage=page.postage,
        total=page.total,
        sums=[
            (what, f"{currency.from_minor(minor):f}")
            for what, minor in (
                ("Goods", page.cost.goods_minor),
                ("Postage", page.cost.postage_minor),
                ("Together", page.cost.total_minor),
            )
        ],
    )


def order_pdf(facts: OrderFacts) -> bytes:
    """Return the order as a letter."""
    return typeset(_TEMPLATE.read_bytes(), asdict(facts), dated=date.fromisoformat(facts.day))


def order_workbook(facts: OrderFacts) -> bytes:
    """Return the order as a workbook: its lines, then goods, postage and both together."""
    book = SheetBook()
    rows: list[list[Cell]] = [
        [
            line.article,
            line.what,
            line.packs,
            Decimal(line.pack),
            line.unit,
            line.quantity,
            Decimal(line.price),
            Decimal(line.amount),
            line.dye_lot,
        ]
        for line in facts.lines
    ]
    rows += [["", what, *_NO_FIGURES, Decimal(amount), ""] for what, amount in facts.sums]
    book.sheet(f"Order {facts.number}", _HEADER, rows)
    return book.data()


def order_csv(facts: OrderFacts) -> bytes:
    """Return the order as CSV that no spreadsheet takes for formulas, with the same rows as the workbook."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(_HEADER)
    for line in facts.lines:
        texts = (line.article, line.what, line.unit, line.quantity, line.dye_lot)
        article, what, unit, quantity, dye_lot = (disarmed(text) for text in texts)
        writer.writerow([article, what, line.packs, line.pack, unit, quantity, line.price, line.amount, dye_lot])
    writer.writerows(["", what, *_NO_FIGURES, amount, ""] for what, amount in facts.sums)
    return out.getvalue().encode("utf-8-sig")
