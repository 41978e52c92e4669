"""Use cases of buying: draft an order, place it, receive it in parts, close or cancel it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Max
from django.utils import timezone

from inventory.findings import refuse
from inventory.landed import spread
from inventory.measures import pack_bases
from inventory.models import Lot, Offer, Posting, PurchaseLine, PurchaseOrder, Supplier
from inventory.money import currency_of
from inventory.services.ledger import Act, Arrival, receive
from inventory.services.shelf import studio_currency
from inventory.services.suppliers import expected_on, home_minor, price_minor

__all__ = [
    "Arrived",
    "OrderWish",
    "cancel",
    "close_line",
    "draft_order",
    "keep_lines",
    "place",
    "take_in",
]

State = PurchaseOrder.State


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderWish:
    """Packs of an offer, and why they are bought."""

    offer: Offer
    packs: int
    why: str = ""
    wanted_dye_lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrived:
    """What came of a line, in base units, as one lot."""

    line: PurchaseLine
    quantity: int
    dye_lot: str = ""
    is_raw: bool = False
    place: str = ""
    note: str = ""


@transaction.atomic
def draft_order(supplier: Supplier, wishes: Sequence[OrderWish], *, user: User | None, on: date) -> PurchaseOrder:
    """Make a draft; nothing is bought before it is placed. Raises Refused where a wish is below the offer's least."""
    if not wishes:
        raise refuse("order.empty", str(supplier), "An order needs a line.", "Add what you want to buy.")
    number = (PurchaseOrder.objects.aggregate(last=Max("number"))["last"] or 0) + 1
    order = PurchaseOrder.objects.create(
        number=number,
        supplier=supplier,
        currency=supplier.currency,
        rate_millionths=supplier.rate_millionths,
        made_on=on,
        expected_on=expected_on(supplier, ordered_on=on),
        made_by=user,
    )
    _add_lines(order, wishes)
    return order


@transaction.atomic
def keep_lines(order: PurchaseOrder, wishes: Sequence[OrderWish], *, version: int) -> None:
    """Put other lines into a draft.

    Raises:
        Refused: no draft any more, changed in another window, or without a line.
    """
    _must_be(order, State.DRAFT)
    changed = PurchaseOrder.objects.filter(pk=order.pk, version=version, state=State.DRAFT).update(version=version + 1)
    if not changed:
        raise refuse(
            "order.changed-meanwhile", str(order), "The order was changed in another window.", "Open it again."
        )
    if not wishes:
        raise refuse("order.empty", str(order), "An order needs a line.", "Cancel it if nothing is wanted.")
    order.lines.all().delete()
    _add_lines(order, wishes)


@transaction.atomic
def place(order: PurchaseOrder, *, on: date) -> None:
    """Count a draft as ordered: it is expected from then on.

    Raises:
        Refused: no draft any more, or the goods' value is below what the supplier takes.
    """
    _must_be(order, State.DRAFT)
    goods = sum(line.amount_minor for line in order.lines.all())
    supplier = order.supplier
    if supplier.minimum_order_minor is not None and goods < supplier.minimum_order_minor:
        money = currency_of(order.currency)
        raise refuse(
            "order.below-minimum",
            str(order),
            f"The goods are worth {money.from_minor(goods)} {order.currency}; {supplier} takes orders from "
            f"{money.from_minor(supplier.minimum_order_minor)}.",
            "Add to it, or order elsewhere.",
        )
    is_free = supplier.postage_free_from_minor is not None and goods >= supplier.postage_free_from_minor
    PurchaseOrder.objects.filter(pk=order.pk, state=State.DRAFT).update(
        state=State.PLACED,
        placed_on=on,
        expected_on=expected_on(supplier, ordered_on=on),
        rate_millionths=supplier.rate_millionths,
        postage_minor=0 if is_free else supplier.postage_minor,
    )
    order.refresh_from_db()


def take_in(
    act: Act,
    order: PurchaseOrder,
    arrived: Sequence[Arrived],
    *,
    freight_minor: int,
    duty_minor: int,
) -> Posting:
    """Put what came on the shelf, each line as a lot at its landed cost.

    Args:
        freight_minor, duty_minor: in the studio's currency, for this delivery; spread over its lines by value.

    The price of a line that comes in parts adds up to the line's price over all parts.

    Raises:
        Refused: the order is not open, nothing came, or a line of another order.
    """
    came = [row for row in arrived if row.quantity]
    if not came:
        raise refuse("order.nothing-came", str(order), "Nothing is said to have come.", "Say how much came of a line.")
    with transaction.atomic():
        # The order's lines are locked first: a form that is sent twice finds here what it has done.
        lines = {line.pk: line for line in PurchaseLine.objects.select_for_update().filter(order=order)}
        if (done := Posting.objects.filter(key=act.key).first()) is not None:
            return done
        _must_be(order, State.PLACED, State.PARTLY)
        if any(row.line.pk not in lines for row in came):
            raise refuse("order.other-line", str(order), "A line of another order is among these.")
        values = _values(order, [(lines[row.line.pk], row.quantity) for row in came])
        charges = spread(freight_minor + duty_minor, values)
        posting = receive(
            act,
            [
                Arrival(
                    item=lines[row.line.pk].item,
                    quantity=row.quantity,
                    value_minor=value + charge,
                    facts={
                        "supplier": order.supplier,
                        "purchase_line": lines[row.line.pk],
                        "dye_lot": row.dye_lot,
                        "state": Lot.State.RAW if row.is_raw else Lot.State.READY,
                        "place": row.place,
                        "note": row.note,
                    },
                )
                for row, value, charge in zip(came, values, charges, strict=True)
            ],
        )
        for row in came:
            PurchaseLine.objects.filter(pk=row.line.pk).update(received=F("received") + row.quantity)
        _settle(order, act.day or timezone.localdate())
    return posting


@transaction.atomic
def close_line(line: PurchaseLine, *, on: date) -> None:
    """Expect nothing more of a line: the supplier cannot send the rest."""
    _must_be(line.order, State.PLACED, State.PARTLY)
    PurchaseLine.objects.filter(pk=line.pk).update(is_closed=True)
    _settle(line.order, on)


@transaction.atomic
def cancel(order: PurchaseOrder) -> None:
    """Cancel an order of which nothing has come. Raises Refused where something has."""
    _must_be(order, State.DRAFT, State.PLACED)
    if any(line.received for line in order.lines.all()):
        raise refuse("order.partly-received", str(order), "Some of it has come.", "Close the lines that will not come.")
    PurchaseOrder.objects.filter(pk=order.pk).update(state=State.CANCELLED)
    order.refresh_from_db()


def _add_lines(order: PurchaseOrder, wishes: Sequence[OrderWish]) -> None:
    for wish in wishes:
        offer = wish.offer
        if offer.supplier_id != order.supplier_id:
            raise refuse("order.other-supplier", str(offer), f"{offer.supplier} sells this, not {order.supplier}.")
        if wish.packs < offer.minimum_packs:
            raise refuse(
                "order.below-least",
                str(offer.item),
                f"{wish.packs} packs are fewer than the {offer.minimum_packs} that {offer.supplier} sells.",
                "Order more, or leave the line out.",
            )
        unit = offer.item.material.unit
        PurchaseLine.objects.create(
            order=order,
            item=offer.item,
            offer=offer,
            their_code=offer.their_code,
            packs=wish.packs,
            pack_thousandths=offer.pack_thousandths,
            pack_unit=offer.pack_unit,
            quantity=pack_bases(offer.pack_thousandths, offer.pack_unit, unit, packs=wish.packs),
            price_minor=price_minor(offer, wish.packs),
            wanted_dye_lot=wish.wanted_dye_lot,
            why=wish.why,
        )


def _values(order: PurchaseOrder, came: Sequence[tuple[PurchaseLine, int]]) -> list[int]:
    """What the goods that came cost in the studio's money, so that all parts of a line add up to its price."""
    home, theirs = studio_currency(), currency_of(order.currency)
    before = {line.pk: line.received for line, _ in came}
    values = []
    for line, quantity in came:
        whole = home_minor(line.amount_minor, order.rate_millionths, digits=theirs.digits, home_digits=home.digits)
        at = before[line.pk]
        values.append(_share(whole, at + quantity, line.quantity) - _share(whole, at, line.quantity))
        before[line.pk] = at + quantity
    return values


def _share(whole: int, part: int, of: int) -> int:
    return (2 * whole * part + of) // (2 * of)


def _settle(order: PurchaseOrder, on: date) -> None:
    """Bring the state in line with what has come."""
    lines = list(order.lines.all())
    if any(line.outstanding for line in lines):
        PurchaseOrder.objects.filter(pk=order.pk).update(state=State.PARTLY)
    else:
        PurchaseOrder.objects.filter(pk=order.pk).update(state=State.RECEIVED, received_on=on)
    order.refresh_from_db()


def _must_be(order: PurchaseOrder, *states: PurchaseOrder.State) -> None:
    now = State(PurchaseOrder.objects.values_list("state", flat=True).get(pk=order.pk))
    if now not in states:
        raise refuse(
            "order.wrong-state",
            str(order),
            f"This order is {now.label.lower()}; that can only be done while it is "
            f"{' or '.join(state.label.lower() for state in states)}.",
        )
