"""Use cases of buying: draft an order, place it, receive it in parts, close or cancel it."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Max, Q
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.measures import pack_bases, quantity_text
from inventory.ground.money import currency_of, nearest
from inventory.ground.wording import day_text
from inventory.models import Lot, Offer, Posting, PurchaseLine, PurchaseOrder, Shelf, Supplier
from inventory.reckoning.landed_cost import spread
from inventory.shelf.settings import studio_currency
from inventory.stock.ledger import MOST, Act, Arrival, receive
from inventory.suppliers.terms import expected_on, home_amount, offers_on, postage_minor, price_minor

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
def draft_order(
    supplier: Supplier, wishes: Sequence[OrderWish], *, user: User | None, on: date, key: UUID | None = None
) -> PurchaseOrder:
    """Make a draft, once per `key`; nothing is bought before it is placed.

    Raises:
        Refused: no line, or one below the least that its offer sells.
    """
    if not wishes:
        raise refuse("order.empty", str(supplier), "An order needs a line.", "Add what you want to buy.")
    # One at a time, so that numbers follow each other and a form that is sent twice finds what it made.
    Shelf.objects.select_for_update().get(pk=1)
    if key and (known := PurchaseOrder.objects.filter(key=key).first()) is not None:
        return known
    number = (PurchaseOrder.objects.aggregate(last=Max("number"))["last"] or 0) + 1
    order = PurchaseOrder.objects.create(
        number=number,
        supplier=supplier,
        currency=supplier.currency,
        rate_millionths=supplier.rate_millionths,
        made_on=on,
        expected_on=expected_on(supplier, ordered_on=on),
        made_by=user,
        **({"key": key} if key else {}),
    )
    _add_lines(order, wishes)
    return order


@transaction.atomic
def keep_lines(
    order: PurchaseOrder, wishes: Sequence[OrderWish], *, version: int, dropped: Collection[int] = ()
) -> None:
    """Put other lines into a draft. Lines whose offer is not among today's stay, unless they are `dropped`.

    Raises:
        Refused: no draft any more, changed in another window, or without a line.
    """
    row = _locked(order, State.DRAFT)
    if row.version != version:
        raise refuse(
            "order.changed-meanwhile", str(order), "The order was changed in another window.", "Open it again."
        )
    offered = offers_on(timezone.localdate()).filter(supplier=row.supplier_id)
    row.lines.filter(Q(offer__in=offered) | Q(pk__in=dropped)).delete()
    _add_lines(row, wishes)
    if not row.lines.exists():
        raise refuse("order.empty", str(order), "An order needs a line.", "Cancel it if nothing is wanted.")
    PurchaseOrder.objects.filter(pk=row.pk).update(version=version + 1)


@transaction.atomic
def place(order: PurchaseOrder, *, on: date) -> None:
    """Count a draft as ordered: it is expected from then on.

    Raises:
        Refused: no draft any more, or the goods' value is below what the supplier takes.
    """
    row = _locked(order, State.DRAFT)
    goods = sum(line.amount_minor for line in row.lines.all())
    supplier = row.supplier
    if supplier.minimum_order_minor is not None and goods < supplier.minimum_order_minor:
        money = currency_of(row.currency)
        raise refuse(
            "order.below-minimum",
            str(order),
            f"The goods are worth {money.from_minor(goods)} {row.currency}; {supplier} takes orders from "
            f"{money.from_minor(supplier.minimum_order_minor)}.",
            "Add to it, or order elsewhere.",
        )
    PurchaseOrder.objects.filter(pk=row.pk).update(
        state=State.PLACED,
        placed_on=on,
        expected_on=expected_on(supplier, ordered_on=on),
        rate_millionths=supplier.rate_millionths,
        postage_minor=postage_minor(supplier, goods),
    )
    order.refresh_from_db()


def take_in(
    act: Act,
    order: PurchaseOrder,
    arrived: Sequence[Arrived],
    *,
    freight_minor: int,
    duty_minor: int,
    takes_more: bool = False,
) -> Posting:
    """Put what came on the shelf, each line as a lot at its landed cost.

    Args:
        freight_minor, duty_minor: in the studio's currency, for this delivery; spread over its lines by value.
        takes_more: more came than was ordered, and is kept and paid at the line's price.

    The price of a line that comes in parts adds up to the line's price over all parts.

    Raises:
        Refused: the order is not open, nothing came, more than is outstanding, a day before the order was placed, or a
            line of another order.
    """
    came = [row for row in arrived if row.quantity]
    if not came:
        raise refuse("order.nothing-came", str(order), "Nothing is said to have come.", "Say how much came of a line.")
    with transaction.atomic():
        # The order is locked first: a form that is sent twice finds here what it has done.
        row = PurchaseOrder.objects.select_for_update().get(pk=order.pk)
        if (done := _taken_in(act.key, row, came)) is not None:
            return done
        row = _locked(order, State.PLACED, State.PARTLY)
        lines = {line.pk: line for line in row.lines.select_related("item__material")}
        if any(entry.line.pk not in lines for entry in came):
            raise refuse("order.other-line", str(order), "A line of another order is among these.")
        if row.placed_on and act.day and act.day < row.placed_on:
            raise refuse("order.before-placed", "when", f"It was placed on {day_text(row.placed_on)}, after that day.")
        for entry in came:
            outstanding = lines[entry.line.pk].outstanding
            if entry.quantity > outstanding and not takes_more:
                raise refuse(
                    "order.more-came",
                    str(entry.line.item),
                    f"{quantity_text(entry.quantity, entry.line.item.unit)} are more than the "
                    f"{quantity_text(outstanding, entry.line.item.unit)} still to come.",
                    "Check the unit; or tick that more came, and is kept and paid.",
                )
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
        for entry in came:
            PurchaseLine.objects.filter(pk=entry.line.pk).update(received=F("received") + entry.quantity)
        _settle(order, act.day or timezone.localdate())
    return posting


@transaction.atomic
def close_line(line: PurchaseLine, *, on: date) -> None:
    """Expect nothing more of a line: the supplier cannot send the rest."""
    row = _locked(line.order, State.PLACED, State.PARTLY)
    PurchaseLine.objects.filter(pk=line.pk).update(is_closed=True)
    _settle(row, on)


@transaction.atomic
def cancel(order: PurchaseOrder) -> None:
    """Cancel an order of which nothing has come. Raises Refused where something has."""
    row = _locked(order, State.DRAFT, State.PLACED)
    PurchaseOrder.objects.filter(pk=row.pk).update(state=State.CANCELLED)
    order.refresh_from_db()


def _taken_in(key: UUID, order: PurchaseOrder, came: Sequence[Arrived]) -> Posting | None:
    """The delivery that the same form posted before; refused where its figures were others."""
    done = Posting.objects.filter(key=key).first()
    if done is None:
        return None
    posted = done.movements.filter(lot__purchase_line__order=order).values_list("lot__purchase_line", "quantity")
    if sorted(posted) != sorted((entry.line.pk, entry.quantity) for entry in came):
        raise refuse(
            "ledger.key-reused",
            str(order),
            "This form was sent before with other figures.",
            "Open it again and repeat.",
        )
    return done


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
        price = price_minor(offer, wish.packs)
        if max(wish.packs * price, pack_bases(offer.pack_thousandths, offer.pack_unit, unit, packs=wish.packs)) > MOST:
            raise refuse(
                "order.too-much", str(offer.item), f"{wish.packs} packs are more than can be kept.", "Check it."
            )
        PurchaseLine.objects.create(
            order=order,
            item=offer.item,
            offer=offer,
            their_code=offer.their_code,
            packs=wish.packs,
            pack_thousandths=offer.pack_thousandths,
            pack_unit=offer.pack_unit,
            quantity=pack_bases(offer.pack_thousandths, offer.pack_unit, unit, packs=wish.packs),
            price_minor=price,
            wanted_dye_lot=wish.wanted_dye_lot,
            why=wish.why,
        )


def _values(order: PurchaseOrder, came: Sequence[tuple[PurchaseLine, int]]) -> list[int]:
    """What the goods that came cost in the studio's money, so that all parts of a line add up to its price."""
    home, theirs = studio_currency(), currency_of(order.currency)
    before = {line.pk: line.received for line, _ in came}
    values = []
    for line, quantity in came:
        whole = home.to_minor(home_amount(line.amount_minor, order.rate_millionths, theirs=theirs, home=home))
        at = before[line.pk]
        values.append(nearest(whole * (at + quantity), line.quantity) - nearest(whole * at, line.quantity))
        before[line.pk] = at + quantity
    return values


def _settle(order: PurchaseOrder, on: date) -> None:
    """Bring the state in line with what has come."""
    lines = list(order.lines.all())
    if any(line.outstanding for line in lines):
        PurchaseOrder.objects.filter(pk=order.pk).update(state=State.PARTLY)
    else:
        PurchaseOrder.objects.filter(pk=order.pk).update(state=State.RECEIVED, received_on=on)
    order.refresh_from_db()


def _locked(order: PurchaseOrder, *states: PurchaseOrder.State) -> PurchaseOrder:
    """The order as it is now, locked until the transaction ends. Raises Refused where it stands otherwise."""
    row = PurchaseOrder.objects.select_for_update().get(pk=order.pk)
    if row.state not in states:
        raise refuse(
            "order.wrong-state",
            str(order),
            f"This order is {row.get_state_display().lower()}; that can only be done while it is "
            f"{' or '.join(state.label.lower() for state in states)}.",
        )
    return row
