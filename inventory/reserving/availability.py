"""What is there, what of it is free, what is coming, and whether work can start."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate
from typing import NamedTuple

from django.db.models import F, QuerySet, Sum

from inventory.models import Lot, PurchaseLine, PurchaseOrder, ReservationLine, StockItem
from inventory.reserving.reservations import Ask, Wish, active_lines, ask_of, firm_lines, open_reservations, starts_on
from inventory.suppliers.terms import expected_on

__all__ = [
    "Arriving",
    "Availability",
    "Lack",
    "availability",
    "coming",
    "lacks",
    "lacks_of_all",
    "lacks_of_work",
    "ready_lots",
    "washes_off",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Availability:
    """Base units of an item. `free` may be below zero: then more is promised than lies there.

    `washes_off` is what raw cloth will lose; what work needs is told in ready cloth.
    """

    on_hand: int
    washes_off: int
    firm: int
    soft: int
    on_order: int

    @property
    def free(self) -> int:
        """What nobody has asked for."""
        return self.on_hand - self.washes_off - self.firm - self.soft


@dataclass(frozen=True, slots=True, kw_only=True)
class Arriving:
    """What an order line still brings."""

    item: int
    quantity: int
    expected_on: date
    order: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """What a wish would be short of on the day the work starts, and when it would be there."""

    wish: Wish
    quantity: int
    there_on: date | None
    order: int | None
    is_of_one_lot: bool = False  # there is enough, but not in one lot


def availability(items: Collection[int], *, on: date) -> dict[int, Availability]:
    """Return the availability of items by id, in five queries however many they are."""
    active = active_lines(on=on).filter(item__in=items)
    firm = _by_item(active.filter(reservation__is_firm=True))
    soft = _by_item(active.filter(reservation__is_firm=False))
    due = _due_lines().filter(item__in=items)
    ordered = dict(due.values_list("item").annotate(total=Sum(F("quantity") - F("received"))))
    lost = washes_off(items)
    there = StockItem.objects.filter(pk__in=items).values_list("pk", "on_hand")
    return {
        pk: Availability(
            washes_off=lost.get(pk, 0),
            on_hand=on_hand,
            firm=firm.get(pk, 0),
            soft=soft.get(pk, 0),
            on_order=ordered.get(pk, 0),
        )
        for pk, on_hand in there
    }


def washes_off(items: Collection[int] | QuerySet[StockItem] | None = None) -> dict[int, int]:
    """Return what the raw lots of items will lose in the wash, in whole mm rounded up, by item."""
    raw = Lot.objects.filter(state=Lot.State.RAW, on_hand__gt=0, remnant_width_mm__isnull=True)
    if items is not None:
        raw = raw.filter(item__in=items)
    raw_amounts = (
        raw.values_list("item", "item__material__shrinkage_permille").annotate(total=Sum("on_hand")).order_by()
    )
    return {item: _lost_in_wash(total, permille) for item, permille, total in raw_amounts}


def ready_lots(items: Collection[int]) -> list[tuple[int, int]]:
    """Return the item of each lot of `items` and what it holds once it is washed; no remnants."""
    lots = Lot.objects.filter(item__in=items, on_hand__gt=0, remnant_width_mm__isnull=True)
    holdings = lots.values_list("item", "state", "on_hand", "item__material__shrinkage_permille")
    return [
        (item, on_hand - _lost_in_wash(on_hand, permille) if state == Lot.State.RAW else on_hand)
        for item, state, on_hand, permille in holdings
    ]


def _lost_in_wash(raw: int, shrinkage_permille: int) -> int:
    """In whole mm, rounded up."""
    return -(-raw * shrinkage_permille // 1000)


def coming(items: Collection[int] | None = None, *, on: date, with_drafts: bool = True) -> list[Arriving]:
    """Return what open orders still bring, soonest first; what is late is expected today at the earliest.

    A draft counts as if it were placed today, so that nothing is ordered twice; it brings nothing that one may count on.
    """
    due = _due_lines() if items is None else _due_lines().filter(item__in=items)
    if not with_drafts:
        due = due.exclude(order__state=PurchaseOrder.State.DRAFT)
    arrivals = [
        Arriving(
            item=line.item_id,
            quantity=line.outstanding,
            expected_on=expected_on(line.order.supplier, ordered_on=on)
            if line.order.state == PurchaseOrder.State.DRAFT
            else max(on, line.order.expected_on),
            order=line.order.number,
        )
        for line in due.select_related("order__supplier").order_by("id")
    ]
    return sorted(arrivals, key=lambda arrival: arrival.expected_on)


def lacks(wishes: Sequence[Wish], *, start: date, reference: str = "", on: date) -> list[Lack]:
    """Return what one piece of work is short of on the day it starts; see `lacks_of_all`."""
    return lacks_of_all([Ask(wishes=wishes, start=start, reference=reference)], on=on)[0]


def lacks_of_work(references: Collection[str], *, on: date) -> dict[str, list[Lack]]:
    """Return what work is short of, by its reference, on the day that it needs its materials, today at the earliest.

    In eight queries however many they are; work that nothing is kept for is left out.
    """
    reservations = open_reservations(references)
    asks = [ask_of(reservation, start=starts_on(reservation, on=on)) for reservation in reservations.values()]
    return dict(zip(reservations, lacks_of_all(asks, on=on), strict=True))


def lacks_of_all(asks: Sequence[Ask], *, on: date) -> list[list[Lack]]:
    """Return what each piece of work is short of on the day it starts, in the order given, in five queries.

    Firm work that needs the item no later goes before. Quotes that are merely out do not compete, nor do the asks with
    each other: each is looked at by itself.
    """
    items = {wish.item.pk for ask in asks for wish in ask.wishes}
    claims = _claims(items)
    arrivals: dict[int, list[Arriving]] = defaultdict(list)
    for arrival in coming(items, on=on, with_drafts=False):
        arrivals[arrival.item].append(arrival)
    lots: dict[int, list[Lot]] = defaultdict(list)
    for lot in Lot.objects.filter(item__in=items, on_hand__gt=0, remnant_width_mm__isnull=True):
        lots[lot.item_id].append(lot)
    lost = washes_off(items)
    there = dict(StockItem.objects.filter(pk__in=items).values_list("pk", "on_hand"))

    def look(pk: int, ask: Ask) -> _Look:
        by_lot: dict[int | None, int] = defaultdict(int)
        for claim in claims[pk]:
            if claim.needed_by <= ask.start and claim.reference != ask.reference:
                by_lot[claim.lot] += claim.quantity
        return _Look(
            left=there[pk] - lost.get(pk, 0) - sum(by_lot.values()),
            largest_lot=max((lot.on_hand - by_lot[lot.pk] for lot in lots[pk]), default=0),
            come=[arrival for arrival in arrivals[pk] if arrival.expected_on <= ask.start],
            later=[arrival for arrival in arrivals[pk] if arrival.expected_on > ask.start],
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
    """An item as one piece of work finds it, in base units: what others leave, their best lot, what comes when."""

    left: int
    largest_lot: int
    come: list[Arriving]
    later: list[Arriving]


def _missing(ask: Ask, looks: Mapping[int, _Look]) -> list[Lack]:
    taken: dict[int, int] = defaultdict(int)
    missing = []
    for wish in ask.wishes:
        look = looks[wish.item.pk]
        by_start = look.left + sum(arrival.quantity for arrival in look.come) - taken[wish.item.pk]
        short = min(wish.quantity, max(0, wish.quantity - by_start))
        if short:
            brought = zip(look.later, accumulate(arrival.quantity for arrival in look.later), strict=True)
            enough = next((arrival for arrival, sum_so_far in brought if by_start + sum_so_far >= wish.quantity), None)
            missing.append(
                Lack(
                    wish=wish,
                    quantity=short,
                    there_on=enough.expected_on if enough else None,
                    order=enough.order if enough else None,
                )
            )
        elif wish.needs_one_lot and wish.quantity > max(
            look.largest_lot, *(arrival.quantity for arrival in look.come), 0
        ):
            missing.append(Lack(wish=wish, quantity=0, there_on=None, order=None, is_of_one_lot=True))
        taken[wish.item.pk] += wish.quantity
    return missing


def _due_lines() -> QuerySet[PurchaseLine]:
    return PurchaseLine.objects.filter(
        order__state__in=[PurchaseOrder.State.DRAFT, PurchaseOrder.State.PLACED, PurchaseOrder.State.PARTLY],
        is_closed=False,
        received__lt=F("quantity"),
    )


def _by_item(lines: QuerySet[ReservationLine]) -> dict[int, int]:
    return dict(lines.values_list("item").annotate(total=Sum(F("quantity") - F("issued"))))
