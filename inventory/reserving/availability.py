"""What is there, what of it is free, what is coming, and whether work can start."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate
from typing import NamedTuple

from django.db.models import F, QuerySet, Sum

from inventory.ground.days import arrival
from inventory.models import Lot, PurchaseLine, PurchaseOrder, StockItem
from inventory.reserving.lying import lost_in_wash, lying
from inventory.reserving.reservations import Ask, Wish, active_lines, ask_of, firm_lines, open_reservations, starts_on
from inventory.suppliers.terms import expected_on, lateness

__all__ = [
    "Arriving",
    "Availability",
    "Lack",
    "OnOrder",
    "availability",
    "coming",
    "lacks",
    "lacks_of_all",
    "lacks_of_work",
    "on_order",
    "washes_off",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Arriving:
    """What an order line still brings: on `expected_on` if it may be counted on, else the day when it should have come."""

    item: int
    quantity: int
    expected_on: date
    order: int
    late_days: int = 0
    is_draft: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OnOrder:
    """What open orders bring, soonest first: what may be counted on, and what is later than its supplier's orders are."""

    coming: list[Arriving]
    overdue: list[Arriving]


@dataclass(frozen=True, slots=True, kw_only=True)
class Availability:
    """Base units of an item. `free` may be below zero: then more is promised than lies there.

    `washes_off` is what raw cloth will lose; what work needs is told in ready cloth. `crumbs` are rests that no job can
    use, `largest` is the largest piece that one can. `arriving` is what may be counted on of open orders, `overdue` what
    is too late for it.
    """

    on_hand: int
    washes_off: int
    crumbs: int
    largest: int
    firm: int
    soft: int
    arriving: tuple[Arriving, ...]
    overdue: tuple[Arriving, ...]

    @property
    def usable(self) -> int:
        """What lies there that work can use."""
        return self.on_hand - self.washes_off - self.crumbs

    @property
    def free(self) -> int:
        """What nobody has asked for."""
        return self.usable - self.firm - self.soft

    @property
    def has_pieces(self) -> bool:
        """Whether it lies there in more than one piece, so that the largest says more than the sum."""
        return self.largest < self.usable + self.crumbs

    @property
    def on_order(self) -> int:
        """What may be counted on of open orders."""
        return sum(arriving.quantity for arriving in self.arriving)

    @property
    def late(self) -> int:
        """What is on order and too late to be counted on."""
        return sum(arriving.quantity for arriving in self.overdue)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """What a wish would be short of on the day the work starts, and when it would be there.

    `order` brings it; it is late by `late_days`, and where it is too late to be counted on, `there_on` is None.
    """

    wish: Wish
    quantity: int
    there_on: date | None
    order: int | None
    late_days: int = 0
    is_of_one_lot: bool = False  # there is enough, but not in one lot


def availability(items: Collection[int], *, on: date) -> dict[int, Availability]:
    """Return the availability of items by id, in four queries however many they are, and one more where an order is late."""
    kept: dict[tuple[int, bool], int] = defaultdict(int)
    lines = active_lines(on=on).filter(item__in=items)
    for item, is_firm, total in (
        lines.values_list("item", "reservation__is_firm").annotate(total=Sum(F("quantity") - F("issued"))).order_by()
    ):
        kept[item, is_firm] = total
    ordered = on_order(items, on=on)
    arriving, overdue = _by_item(ordered.coming), _by_item(ordered.overdue)
    there = lying(items)
    return {
        pk: Availability(
            on_hand=on_hand,
            washes_off=there[pk].washes_off,
            crumbs=there[pk].crumbs,
            largest=there[pk].largest,
            firm=kept[pk, True],
            soft=kept[pk, False],
            arriving=tuple(arriving[pk]),
            overdue=tuple(overdue[pk]),
        )
        for pk, on_hand in StockItem.objects.filter(pk__in=items).values_list("pk", "on_hand")
    }


def washes_off(items: Collection[int] | QuerySet[StockItem] | None = None) -> dict[int, int]:
    """Return what the raw lots of items will lose in the wash, in whole mm rounded up, by item."""
    raw = Lot.objects.filter(state=Lot.State.RAW, on_hand__gt=0, remnant_width_mm__isnull=True)
    if items is not None:
        raw = raw.filter(item__in=items)
    raw_amounts = (
        raw.values_list("item", "item__material__shrinkage_permille").annotate(total=Sum("on_hand")).order_by()
    )
    return {item: lost_in_wash(total, permille) for item, permille, total in raw_amounts}


def coming(items: Collection[int] | None = None, *, on: date) -> list[Arriving]:
    """Return what may be counted on of open orders, soonest first; see `on_order`."""
    return on_order(items, on=on).coming


def on_order(items: Collection[int] | None = None, *, on: date, with_drafts: bool = True) -> OnOrder:
    """Return what open orders still bring, in one query, and one more where any of them is late.

    A late order counts on its expected day and the days within which nine in ten of its supplier's orders come; once
    those have passed it does not count before a new day is written. A draft counts as if it were placed today, so that
    nothing is ordered twice; it brings nothing that one may count on.
    """
    due = _due_lines() if items is None else _due_lines().filter(item__in=items)
    if not with_drafts:
        due = due.exclude(order__state=PurchaseOrder.State.DRAFT)
    lines = list(due.select_related("order__supplier").order_by("id"))
    late = {line.order.supplier_id: line.order.supplier for line in lines if line.order.days_late(on=on)}
    late_days = lateness(late.values()) if late else {}
    counted: list[Arriving] = []
    overdue: list[Arriving] = []
    for line in lines:
        order = line.order
        day = _counted_on(order, late_days.get(order.supplier_id, 0), on=on)
        arriving = Arriving(
            item=line.item_id,
            quantity=line.outstanding,
            expected_on=day or order.expected_on,
            order=order.number,
            late_days=order.days_late(on=on),
            is_draft=order.state == PurchaseOrder.State.DRAFT,
        )
        (overdue if day is None else counted).append(arriving)
    return OnOrder(coming=sorted(counted, key=_by_day), overdue=sorted(overdue, key=_by_day))


def _by_day(arriving: Arriving) -> date:
    return arriving.expected_on


def _counted_on(order: PurchaseOrder, late_days: int, *, on: date) -> date | None:
    """The day on which an order may be counted on; None once it is later than its supplier's orders are."""
    if order.state == PurchaseOrder.State.DRAFT:
        return expected_on(order.supplier, ordered_on=on)
    if not order.days_late(on=on):
        return order.expected_on
    day = arrival(order.expected_on, late_days, order.supplier.closed_periods)
    return day if day >= on else None


def lacks(wishes: Sequence[Wish], *, start: date, reference: str = "", on: date) -> list[Lack]:
    """Return what one piece of work is short of on the day it starts; see `lacks_of_all`."""
    return lacks_of_all([Ask(wishes=wishes, start=start, reference=reference)], on=on)[0]


def lacks_of_work(references: Collection[str], *, on: date) -> dict[str, list[Lack]]:
    """Return what work is short of, by its reference, on the day that it needs its materials, today at the earliest.

    In six queries however many they are, and one more where an order is late; work that nothing is kept for is left out.
    """
    reservations = open_reservations(references)
    asks = [ask_of(reservation, start=starts_on(reservation, on=on)) for reservation in reservations.values()]
    return dict(zip(reservations, lacks_of_all(asks, on=on), strict=True))


def lacks_of_all(asks: Sequence[Ask], *, on: date) -> list[list[Lack]]:
    """Return what each piece of work is short of on the day it starts, in the order given, in three queries, and one
    more where an order is late.

    Firm work that needs the item no later goes before. Quotes that are merely out do not compete, nor do the asks with
    each other: each is looked at by itself.
    """
    items = {wish.item.pk for ask in asks for wish in ask.wishes}
    claims = _claims(items)
    ordered = on_order(items, on=on, with_drafts=False)
    arrivals, overdue = _by_item(ordered.coming), _by_item(ordered.overdue)
    least: dict[int, int] = {}
    for wish in (wish for ask in asks for wish in ask.wishes if wish.quantity):
        least[wish.item.pk] = min(wish.quantity, least.get(wish.item.pk, wish.quantity))
    there = lying(items, asked=least)

    def look(pk: int, ask: Ask) -> _Look:
        by_lot: dict[int | None, int] = defaultdict(int)
        for claim in claims[pk]:
            if claim.needed_by <= ask.start and claim.reference != ask.reference:
                by_lot[claim.lot] += claim.quantity
        return _Look(
            left=there[pk].usable - sum(by_lot.values()),
            crumbs=there[pk].crumbs,
            largest_lot=max((holds - by_lot[lot] for lot, holds in there[pk].lots.items()), default=0),
            come=[arrival for arrival in arrivals[pk] if arrival.expected_on <= ask.start],
            later=[arrival for arrival in arrivals[pk] if arrival.expected_on > ask.start],
            overdue=overdue[pk],
        )

    return [_missing(ask, {pk: look(pk, ask) for pk in {wish.item.pk for wish in ask.wishes}}) for ask in asks]


class _Claim(NamedTuple):
    """What firm work still takes of an item, from a lot where it is kept from one."""

    lot: int | None
    reference: str
    needed_by: date
    quantity: int


def _claims(items: Collection[int]) -> dict[int, list[_Claim]]:
    """By item."""
    claims: dict[int, list[_Claim]] = defaultdict(list)
    lines = firm_lines().filter(item__in=items).annotate(left=F("quantity") - F("issued"))
    for item, *claim in lines.values_list("item", "lot", "reservation__reference", "reservation__needed_by", "left"):
        claims[item].append(_Claim(*claim))
    return claims


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """An item as one piece of work finds it, in base units: what others leave, rests, the best lot, what comes when."""

    left: int
    crumbs: int
    largest_lot: int
    come: list[Arriving]
    later: list[Arriving]
    overdue: list[Arriving]


def _missing(ask: Ask, looks: Mapping[int, _Look]) -> list[Lack]:
    taken: dict[int, int] = defaultdict(int)
    missing = []
    for wish in ask.wishes:
        look = looks[wish.item.pk]
        by_start = look.left + sum(arrival.quantity for arrival in look.come) - taken[wish.item.pk]
        short = min(wish.quantity, max(0, wish.quantity - by_start))
        if short:
            missing.append(_short(wish, short, by_start, look))
        elif wish.needs_one_lot and wish.quantity > max(
            look.largest_lot, *(arrival.quantity for arrival in look.come), 0
        ):
            missing.append(Lack(wish=wish, quantity=0, there_on=None, order=None, is_of_one_lot=True))
        taken[wish.item.pk] += wish.quantity
    return missing


def _short(wish: Wish, short: int, by_start: int, look: _Look) -> Lack:
    """What is short, with the order that brings it; where crumbs would make it up, it is a lot that is wanting."""
    brought = zip(look.later, accumulate(arrival.quantity for arrival in look.later), strict=True)
    enough = next((arrival for arrival, sum_so_far in brought if by_start + sum_so_far >= wish.quantity), None)
    if enough is None and wish.needs_one_lot and by_start + look.crumbs >= wish.quantity:
        return Lack(wish=wish, quantity=0, there_on=None, order=None, is_of_one_lot=True)
    waited_for = enough or next(iter(look.overdue), None)
    return Lack(
        wish=wish,
        quantity=short,
        there_on=enough.expected_on if enough else None,
        order=waited_for.order if waited_for else None,
        late_days=waited_for.late_days if waited_for else 0,
    )


def _due_lines() -> QuerySet[PurchaseLine]:
    return PurchaseLine.objects.filter(
        order__state__in=[PurchaseOrder.State.DRAFT, PurchaseOrder.State.PLACED, PurchaseOrder.State.PARTLY],
        is_closed=False,
        received__lt=F("quantity"),
    )


def _by_item(arrivals: Iterable[Arriving]) -> dict[int, list[Arriving]]:
    by_item: dict[int, list[Arriving]] = defaultdict(list)
    for arriving in arrivals:
        by_item[arriving.item].append(arriving)
    return by_item
