"""An order's page: lines, sums, what has come, and what it costs landed against the price that quotes take."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.measures import amount_of, pack_text, quantity_text
from inventory.ground.money import currency_of
from inventory.ground.wording import day_text, minor_text, unit_cost_text
from inventory.models import Movement, Posting, PurchaseLine, PurchaseOrder
from inventory.shelf.settings import shelf
from inventory.suppliers.terms import postage_minor

__all__ = ["LandedPrice", "LineRow", "OrderPage", "landed_prices", "order_page"]

State = PurchaseOrder.State


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """A line as text."""

    line: PurchaseLine
    packs: str
    quantity: str
    price: str
    amount: str
    received: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPage:
    """The order as text; `late_days` where it should have come."""

    lines: list[LineRow]
    goods: str
    postage: str
    total: str
    late_days: int
    can_receive: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LandedPrice:
    """What a stock unit of a line cost landed, and what quotes take for it."""

    material: str
    code: str
    landed: str
    listed: str
    change: str


def order_page(order: PurchaseOrder, *, on: date) -> OrderPage:
    """Return an order's page."""
    lines = list(order.lines.select_related("item__material"))
    goods = sum(line.amount_minor for line in lines)
    postage = order.postage_minor
    if order.state == State.DRAFT:
        postage = postage_minor(order.supplier, goods)

    def money(minor: int) -> str:
        return minor_text(minor, order.currency)

    is_open = order.state in (State.PLACED, State.PARTLY)
    return OrderPage(
        lines=[
            LineRow(
                line=line,
                packs=f"{line.packs} × {pack_text(line.pack_thousandths, line.pack_unit)}",
                quantity=quantity_text(line.quantity, line.item.unit),
                price=money(line.price_minor),
                amount=money(line.amount_minor),
                received=quantity_text(line.received, line.item.unit) if line.received else "",
            )
            for line in lines
        ],
        goods=money(goods),
        postage=money(postage),
        total=money(goods + postage),
        late_days=max(0, (on - order.expected_on).days) if is_open else 0,
        can_receive=is_open,
    )


def landed_prices(order: PurchaseOrder) -> list[LandedPrice]:
    """Return, per line that has come, what it cost landed against the price that new quotes take."""
    home = shelf().currency
    currency = currency_of(home)
    rows = (
        Movement.objects.filter(posting__kind=Posting.Kind.RECEIPT, lot__purchase_line__order=order)
        .select_related("item__material")
        .order_by("id")
    )
    found = []
    for row in rows:
        material = row.item.material
        each = currency.from_minor(row.value_minor) / amount_of(row.quantity, row.item.unit)
        share = each / material.unit_cost - 1 if material.unit_cost else Decimal(0)
        found.append(
            LandedPrice(
                material=f"{row.item}, {day_text(row.day)}",
                code=material.code,
                landed=unit_cost_text(round(each, 4), home),
                listed=unit_cost_text(material.unit_cost, home),
                change=f"{share * 100:+.1f} %".replace("-", "−"),
            )
        )
    return found
