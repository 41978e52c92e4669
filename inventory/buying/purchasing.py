"""Use cases of buying: draft an order, place it, receive it in parts, close or cancel it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid4

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Max, Q
from django.utils import timezone

from inventory.buying.charges import bear, home_minor, shares
from inventory.ground.findings import refuse
from inventory.ground.measures import pack_bases, quantity_text
from inventory.ground.money import currency_of, nearest
from inventory.ground.wording import day_text
from inventory.models import Lot, Offer, OrderNewDay, Posting, PurchaseLine, PurchaseOrder, Shelf, Supplier
from inventory.stock.ledger import MOST, Act, Arrival, receive
from inventory.suppliers.terms import expected_on, offers_on, postage_minor

__all__ = [
    "Arrived",
    "OrderCost",
    "OrderWish",
    "cancel",
    "close_line",
    "draft_order",
    "keep_lines",
    "order_cost",
    "place",
    "take_in",
    "write_new_day",
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
    """What came of a line, in base units, as one lot.

    `price_minor` is what the invoice asks for a pack, in the supplier's minor units; None: as ordered.
    """

    line: PurchaseLine
    quantity: int
    price_minor: int | None = None
    dye_lot: str = ""
    is_raw: bool = False
    place: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderCost:
    """What an order costs, in minor units of the supplier's currency."""

    goods_minor: int
    postage_minor: int

    @property
    def total_minor(self) -> int:
        """Goods and postage."""
        return self.goods_minor + self.postage_minor


def order_cost(order: PurchaseOrder, lines: Iterable[PurchaseLine]) -> OrderCost:
    """Return what an order of these lines costs; a draft's postage is what the supplier asks today."""
    goods = sum(line.amount_minor for line in lines)
    is_draft = order.state == State.DRAFT
    return OrderCost(
        goods_minor=goods, postage_minor=postage_minor(order.supplier, goods) if is_draft else order.postage_minor
    )


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
    draft = _locked(order, State.DRAFT)
    if draft.version != version:
        raise refuse(
            "order.changed-meanwhile", str(order), "The order was changed in another window.", "Open it again."
        )
    offered = offers_on(timezone.localdate()).filter(supplier=draft.supplier_id)
    draft.lines.filter(Q(offer__in=offered) | Q(pk__in=dropped)).delete()
    _add_lines(draft, wishes)
    if not draft.lines.exists():
        raise refuse("order.empty", str(order), "An order needs a line.", "Cancel it if nothing is wanted.")
    PurchaseOrder.objects.filter(pk=draft.pk).update(version=version + 1)


@transaction.atomic
def place(order: PurchaseOrder, *, on: date) -> None:
    """Count a draft as ordered: it is expected from then on.

    Raises:
        Refused: no draft any more, or the goods' value is below what the supplier takes.
    """
    draft = _locked(order, State.DRAFT)
    cost = order_cost(draft, draft.lines.all())
    supplier = draft.supplier
    if supplier.minimum_order_minor is not None and cost.goods_minor < supplier.minimum_order_minor:
        money = currency_of(draft.currency)
        raise refuse(
            "order.below-minimum",
            str(order),
            f"The goods are worth {money.from_minor(cost.goods_minor)} {draft.currency}; {supplier} takes orders from "
            f"{money.from_minor(supplier.minimum_order_minor)}.",
            "Add to it, or order elsewhere.",
        )
    PurchaseOrder.objects.filter(pk=draft.pk).update(
        state=State.PLACED,
        placed_on=on,
        expected_on=expected_on(supplier, ordered_on=on),
        rate_millionths=supplier.rate_millionths,
        postage_minor=cost.postage_minor,
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
        freight_minor, duty_minor: in the studio's currency, charged with this delivery; borne by the whole order, each
            part its share (`inventory.reckoning.landed_cost.borne`), also by what came before.
        takes_more: more came than was ordered, and is kept and paid at the line's price.

    The price of a line that comes in parts at one price adds up to the line's price over all parts.

    Raises:
        Refused: the order is not open, nothing came, more than is outstanding, a day before the order was placed, or a
            line of another order.
    """
    came = [arrival for arrival in arrived if arrival.quantity]
    if not came:
        raise refuse("order.nothing-came", str(order), "Nothing is said to have come.", "Say how much came of a line.")
    with transaction.atomic():
        # The order is locked first: a form that is sent twice finds here what it has done.
        locked = PurchaseOrder.objects.select_for_update().get(pk=order.pk)
        if (done := _taken_in(act.key, locked, came)) is not None:
            return done
        locked = _locked(order, State.PLACED, State.PARTLY)
        lines = {line.pk: line for line in locked.lines.select_related("item__material")}
        if any(arrival.line.pk not in lines for arrival in came):
            raise refuse("order.other-line", str(order), "A line of another order is among these.")
        if locked.placed_on and act.day and act.day < locked.placed_on:
            raise refuse(
                "order.before-placed", "when", f"It was placed on {day_text(locked.placed_on)}, after that day."
            )
        for arrival in came:
            outstanding = lines[arrival.line.pk].outstanding
            if arrival.quantity > outstanding and not takes_more:
                raise refuse(
                    "order.more-came",
                    str(arrival.line.item),
                    f"{quantity_text(arrival.quantity, arrival.line.item.unit)} are more than the "
                    f"{quantity_text(outstanding, arrival.line.item.unit)} still to come.",
                    "Check the unit; or tick that more came, and is kept and paid.",
                )
        values = _values(locked, lines, came)
        locked.charged_minor += freight_minor + duty_minor
        PurchaseOrder.objects.filter(pk=order.pk).update(charged_minor=locked.charged_minor)
        before, charges = shares(locked, lines.values(), [(arrival.line.pk, arrival.quantity) for arrival in came])
        posting = receive(
            act,
            [
                Arrival(
                    item=lines[arrival.line.pk].item,
                    quantity=arrival.quantity,
                    value_minor=value + charge,
                    facts={
                        "supplier": order.supplier,
                        "purchase_line": lines[arrival.line.pk],
                        "charges_minor": charge,
                        "dye_lot": arrival.dye_lot,
                        "state": Lot.State.RAW if arrival.is_raw else Lot.State.READY,
                        "place": arrival.place,
                        "note": arrival.note,
                    },
                )
                for arrival, value, charge in zip(came, values, charges, strict=True)
            ],
        )
        bear(act, locked, before)
        for arrival in came:
            PurchaseLine.objects.filter(pk=arrival.line.pk).update(received=F("received") + arrival.quantity)
        _settle(order)
    return posting


@transaction.atomic
def close_line(line: PurchaseLine, *, on: date, by: User | None = None) -> None:
    """Expect nothing more of a line: the supplier cannot send the rest. What came bears its freight and duty.

    The order then came on the day on which the last of it did; where nothing came of any line, it is cancelled.
    """
    order = _locked(line.order, State.PLACED, State.PARTLY)
    PurchaseLine.objects.filter(pk=line.pk).update(is_closed=True)
    bear(Act(key=uuid4(), by=by, day=on), order, shares(order, order.lines.all())[0])
    _settle(order)


@transaction.atomic
def write_new_day(order: PurchaseOrder, day: date, *, by: User | None, on: date, why: str = "") -> None:
    """Expect an open order on another day, and write into its diary who said so; the day that stands already is left.

    Raises:
        Refused: the order is not open, or the day has passed.
    """
    locked = _locked(order, State.PLACED, State.PARTLY)
    if day < on:
        raise refuse(
            "order.new-day-passed",
            "day",
            f"{day_text(day)} has passed.",
            "Write the day on which it is to come; if it came, receive it.",
        )
    if day != locked.expected_on:
        OrderNewDay.objects.create(order=locked, at=timezone.now(), by=by, was=locked.expected_on, day=day, why=why)
        PurchaseOrder.objects.filter(pk=locked.pk).update(
            expected_on=day, first_expected_on=locked.first_expected_on or locked.expected_on
        )
    order.refresh_from_db()


@transaction.atomic
def cancel(order: PurchaseOrder) -> None:
    """Cancel an order of which nothing has come. Raises Refused where something has."""
    locked = _locked(order, State.DRAFT, State.PLACED)
    PurchaseOrder.objects.filter(pk=locked.pk).update(state=State.CANCELLED)
    order.refresh_from_db()


def _taken_in(key: UUID, order: PurchaseOrder, came: Sequence[Arrived]) -> Posting | None:
    """The delivery that the same form posted before; refused where its figures were others."""
    done = Posting.objects.filter(key=key).first()
    if done is None:
        return None
    posted = done.movements.filter(lot__purchase_line__order=order).values_list("lot__purchase_line", "quantity")
    if sorted(posted) != sorted((arrival.line.pk, arrival.quantity) for arrival in came):
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
        price = offer.price_minor(wish.packs)
        quantity = pack_bases(offer.pack_thousandths, offer.pack_unit, offer.item.unit, packs=wish.packs)
        if max(wish.packs * price, quantity) > MOST:
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
            quantity=quantity,
            price_minor=price,
            wanted_dye_lot=wish.wanted_dye_lot,
            why=wish.why,
        )


def _values(order: PurchaseOrder, lines: Mapping[int, PurchaseLine], came: Sequence[Arrived]) -> list[int]:
    """What the goods that came cost in the studio's money, so that all parts of a line at one price add up to it."""
    before = {pk: line.received for pk, line in lines.items()}
    values = []
    for arrival in came:
        line = lines[arrival.line.pk]
        price = line.price_minor if arrival.price_minor is None else arrival.price_minor
        if not 0 <= line.packs * price <= MOST:
            raise refuse("order.price", str(line.item), "That is no price that can be kept.", "Check the invoice.")
        worth, so_far = home_minor(order, line.packs * price), before[line.pk]
        values.append(
            nearest(worth * (so_far + arrival.quantity), line.quantity) - nearest(worth * so_far, line.quantity)
        )
        before[line.pk] = so_far + arrival.quantity
    return values


def _settle(order: PurchaseOrder) -> None:
    """Bring the state in line with what has come; closed whole before anything came, it was cancelled."""
    is_waiting = any(line.outstanding for line in order.lines.all())
    last_came = Lot.objects.filter(purchase_line__order=order).aggregate(day=Max("received_on"))["day"]
    facts: dict[str, object]
    if last_came is None:
        facts = {"state": State.PLACED if is_waiting else State.CANCELLED}
    elif is_waiting:
        facts = {"state": State.PARTLY}
    else:
        facts = {"state": State.RECEIVED, "received_on": last_came}
    PurchaseOrder.objects.filter(pk=order.pk).update(**facts)
    order.refresh_from_db()


def _locked(order: PurchaseOrder, *states: PurchaseOrder.State) -> PurchaseOrder:
    """The order as it is now, locked until the transaction ends. Raises Refused where it stands otherwise."""
    locked = PurchaseOrder.objects.select_for_update().get(pk=order.pk)
    if locked.state not in states:
        raise refuse(
            "order.wrong-state",
            str(order),
            f"This order is {locked.state_words.lower()}; that can only be done while it is "
            f"{' or '.join(state.label.lower() for state in states)}.",
        )
    return locked
