"""Use cases of what an order cost beside and beyond its prices: freight and duty over all its parts, invoices that come later."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import uuid5

from django.db import transaction
from django.db.models import F, Max

from inventory.ground.findings import refuse
from inventory.ground.money import currency_of
from inventory.models import Lot, Movement, Posting, PurchaseLine, PurchaseOrder
from inventory.reckoning.landed_cost import OrderedLine, borne
from inventory.shelf.settings import studio_currency
from inventory.stock.correcting import CorrectedCost, correct_costs, paid_minor
from inventory.stock.posting import Act
from inventory.suppliers.terms import home_amount

__all__ = ["OrderCosts", "bear", "correct_order", "goods_minor", "home_minor", "last_cost", "received_lots", "shares"]

State = PurchaseOrder.State


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderCosts:
    """What an order cost in the end, in minor units of the studio's currency.

    Attributes:
        goods: by lot that came, what its goods cost, >= 0.
        charged_minor: freight and duty of the whole order, >= 0.
        seen: `last_cost` when that was looked at.
    """

    goods: Mapping[int, int]
    charged_minor: int
    seen: int


def home_minor(order: PurchaseOrder, amount_minor: int) -> int:
    """Return an amount of the supplier's minor units in the studio's, at the order's rate, half up."""
    home = studio_currency()
    return home.to_minor(
        home_amount(amount_minor, order.rate_millionths, theirs=currency_of(order.currency), home=home)
    )


def received_lots(order: PurchaseOrder) -> list[Lot]:
    """Return the lots that came of an order, in their order, each with its item, material and line."""
    lots = Lot.objects.filter(purchase_line__order=order, from_lot__isnull=True)
    return list(lots.select_related("item__material", "purchase_line").order_by("pk"))


def goods_minor(lots: Iterable[Lot]) -> dict[int, int]:
    """Return by lot what its goods cost without freight and duty of its order, in the studio's minor units."""
    charges = {lot.pk: lot.charges_minor for lot in lots}
    return {lot: paid - charges[lot] for lot, paid in paid_minor(charges).items()}


def shares(
    order: PurchaseOrder, lines: Iterable[PurchaseLine], coming: Sequence[tuple[int, int]] = ()
) -> tuple[dict[int, int], list[int]]:
    """Return what is borne of the freight and duty charged so far: by each lot that came, and by what is coming.

    Args:
        coming: lines by their keys, each with the base units that come now, in their order.
    """
    receipts = Movement.objects.filter(posting__kind=Posting.Kind.RECEIPT, lot__purchase_line__order=order)
    came: dict[int, list[tuple[int | None, int]]] = {}
    for pk, lot, quantity in receipts.order_by("id").values_list("lot__purchase_line", "lot", "quantity"):
        came.setdefault(pk, []).append((lot, quantity))
    for pk, quantity in coming:
        came.setdefault(pk, []).append((None, quantity))
    ordered = list(lines)
    parts = borne(
        order.charged_minor,
        [
            OrderedLine(
                value=home_minor(order, line.amount_minor),
                ordered=line.quantity,
                came=tuple(quantity for _, quantity in came.get(line.pk, ())),
                is_closed=line.is_closed,
            )
            for line in ordered
        ],
    )
    by_lot: dict[int, int] = {}
    now: dict[int, list[int]] = {}
    for line, bears in zip(ordered, parts, strict=True):
        for (known, _), part in zip(came.get(line.pk, ()), bears, strict=True):
            if known is None:
                now.setdefault(line.pk, []).append(part)
            else:
                by_lot[known] = part
    return by_lot, [now[pk].pop(0) for pk, _ in coming]


def bear(act: Act, order: PurchaseOrder, by_lot: Mapping[int, int]) -> None:
    """Post where lots that came bear another share of the charges than before; the act is that which changed them."""
    lots = received_lots(order)
    more = _shared_anew(lots, by_lot)
    if any(more.values()):
        why = f"{order}: freight and duty shared anew"[:200]
        shared = Act(key=uuid5(act.key, "charges"), by=act.by, why=why, day=act.day)
        correct_costs(shared, _costs(lots, paid_minor(lot.pk for lot in lots), more))


@transaction.atomic
def correct_order(act: Act, order: PurchaseOrder, cost: OrderCosts) -> Posting:
    """Post what an order cost in the end, as an invoice or a credit says that comes after the goods.

    Raises:
        Refused: nothing of the order has come, other lots than its own, it was corrected since, or as `correct_costs` does.
    """
    locked = PurchaseOrder.objects.select_for_update().get(pk=order.pk)
    if (done := Posting.objects.filter(key=act.key, kind=Posting.Kind.CORRECTION).first()) is not None:
        return done
    lots = received_lots(locked)
    if not lots:
        raise refuse("order.nothing-came", str(order), "Nothing of it has come.", "Say what it cost when it comes.")
    if cost.goods.keys() != {lot.pk for lot in lots}:
        raise refuse("order.other-line", str(order), "More of it came since.", "Open it again and look.")
    if last_cost(locked) != cost.seen:
        raise refuse("ledger.cost-changed", str(order), "Its cost was corrected since.", "Open it again and look.")
    paid, was = paid_minor(lot.pk for lot in lots), goods_minor(lots)
    locked.charged_minor = cost.charged_minor
    PurchaseOrder.objects.filter(pk=order.pk).update(charged_minor=cost.charged_minor)
    more = _shared_anew(lots, shares(locked, locked.lines.all())[0])
    for lot in lots:
        more[lot.pk] += cost.goods[lot.pk] - was[lot.pk]
    return correct_costs(act, _costs(lots, paid, more))


def last_cost(order: PurchaseOrder) -> int:
    """Return the number of the last movement that said what an order cost, 0 where nothing of it has come."""
    said = Movement.objects.filter(
        lot__purchase_line__order=order, posting__kind__in=(Posting.Kind.RECEIPT, Posting.Kind.CORRECTION)
    )
    return said.aggregate(last=Max("pk"))["last"] or 0


def _shared_anew(lots: Iterable[Lot], by_lot: Mapping[int, int]) -> dict[int, int]:
    """Keep what each of these lots bears now; by lot, how much more that is than before."""
    more = {lot.pk: by_lot.get(lot.pk, lot.charges_minor) - lot.charges_minor for lot in lots}
    for pk, difference in more.items():
        if difference:
            Lot.objects.filter(pk=pk).update(charges_minor=F("charges_minor") + difference)
    return more


def _costs(lots: Iterable[Lot], paid: Mapping[int, int], more: Mapping[int, int]) -> list[CorrectedCost]:
    return [CorrectedCost(lot=lot, seen_minor=paid[lot.pk], paid_minor=paid[lot.pk] + more[lot.pk]) for lot in lots]
