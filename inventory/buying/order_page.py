"""An order's page: lines, sums, what has come, and what it costs landed against the price that quotes take."""

from dataclasses import dataclass
from datetime import date

from inventory.buying.purchasing import OrderCost, order_cost
from inventory.ground.measures import pack_text, quantity_text
from inventory.ground.wording import day_text, late_text, minor_text, unit_cost_text
from inventory.models import OrderNewDay, PurchaseLine, PurchaseOrder
from inventory.stock.correcting import landed_receipts

__all__ = ["LandedPrice", "LineRow", "OrderPage", "landed_prices", "order_page"]


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
    """The order as text.

    Attributes:
        late: where it should have come; empty where it need not yet.
        diary: what days were written for it, the newest first.
        charged: its freight and duty so far, empty for none.
    """

    lines: list[LineRow]
    goods: str
    postage: str
    total: str
    cost: OrderCost
    charged: str
    late: str
    diary: list[tuple[OrderNewDay, str]]
    can_receive: bool
    has_come: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LandedPrice:
    """What a stock unit of a line cost landed, and what quotes take for it."""

    material: str
    code: str
    landed: str
    listed: str
    change: str


def order_page(order: PurchaseOrder, *, on: date, home: str) -> OrderPage:
    """Return an order's page; `home` is the code of the studio's currency, in which freight and duty are told."""
    lines = list(order.lines.select_related("item__material"))
    cost = order_cost(order, lines)

    def money(minor: int) -> str:
        return minor_text(minor, order.currency)

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
        goods=money(cost.goods_minor),
        postage=money(cost.postage_minor),
        total=money(cost.total_minor),
        cost=cost,
        charged=minor_text(order.charged_minor, home) if order.charged_minor else "",
        late=late_text(order.days_late(on=on)),
        diary=[(row, f"Expected {day_text(row.day)} instead of {day_text(row.was)}.") for row in _new_days(order)],
        can_receive=order.is_open,
        has_come=any(line.received for line in lines),
    )


def _new_days(order: PurchaseOrder) -> list[OrderNewDay]:
    return list(order.new_days.select_related("by")) if order.first_expected_on else []


def landed_prices(order: PurchaseOrder, *, home: str) -> list[LandedPrice]:
    """Return, per line that has come, what it cost landed against the price that new quotes take, in `home`'s money."""
    prices = []
    for row in reversed(landed_receipts(lot__purchase_line__order=order)):
        item = row.receipt.item
        landed = row.unit_cost(home)
        prices.append(
            LandedPrice(
                material=f"{row.receipt.item}, {day_text(row.receipt.day)}",
                code=item.material.code,
                landed=unit_cost_text(round(landed, 4), home),
                listed="none yet" if item.unit_cost is None else unit_cost_text(item.unit_cost, home),
                change=f"{item.dearer_by(landed) * 100:+.1f} %".replace("-", "−"),
            )
        )
    return prices
