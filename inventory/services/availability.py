"""What is there, what of it is free, what is coming, and whether work can start."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F, QuerySet, Sum

from inventory.models import Lot, PurchaseLine, PurchaseOrder, ReservationLine, StockItem
from inventory.services.reservations import Wish, active_lines, firm_lines
from inventory.services.suppliers import expected_on

__all__ = ["Arriving", "Availability", "Lack", "availability", "coming", "lacks", "ready_lots", "washes_off"]


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
    kept = active_lines(on=on).filter(item__in=items)
    firm = _by_item(kept.filter(reservation__is_firm=True))
    soft = _by_item(kept.filter(reservation__is_firm=False))
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
    rows = raw.values_list("item", "item__material__shrinkage_permille").annotate(total=Sum("on_hand")).order_by()
    return {item: -(-total * permille // 1000) for item, permille, total in rows}


def ready_lots(items: Collection[int]) -> list[tuple[int, int]]:
    """Return the item of each lot of `items` and what it holds once it is washed; no remnants."""
    lots = Lot.objects.filter(item__in=items, on_hand__gt=0, remnant_width_mm__isnull=True)
    rows = lots.values_list("item", "state", "on_hand", "item__material__shrinkage_permille")
    return [
        (item, on_hand - -(-on_hand * permille // 1000) if state == Lot.State.RAW else on_hand)
        for item, state, on_hand, permille in rows
    ]


def coming(items: Collection[int] | None = None, *, on: date, with_drafts: bool = True) -> list[Arriving]:
    """Return what open orders still bring, soonest first; what is late is expected today at the earliest.

    A draft counts as if it were placed today, so that nothing is ordered twice; it brings nothing that one may count on.
    """
    due = _due_lines() if items is None else _due_lines().filter(item__in=items)
    if not with_drafts:
        due = due.exclude(order__state=PurchaseOrder.State.DRAFT)
    rows = [
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
    return sorted(rows, key=lambda row: row.expected_on)


def lacks(wishes: Sequence[Wish], *, start: date, reference: str = "", on: date) -> list[Lack]:
    """Return what is short on the day work starts.

    Firm work that needs the item no later goes before; `reference` is the work itself, whose own reservation does not
    compete with it. Quotes that are merely out do not compete.
    """
    items = {wish.item.pk for wish in wishes}
    others: dict[int, int] = defaultdict(int)
    by_lot: dict[int, int] = defaultdict(int)
    competing = firm_lines().filter(item__in=items, reservation__needed_by__lte=start)
    for line in competing.exclude(reservation__reference=reference):
        others[line.item_id] += line.remaining
        if line.lot_id:
            by_lot[line.lot_id] += line.remaining
    arrivals: dict[int, list[Arriving]] = defaultdict(list)
    for row in coming(items, on=on, with_drafts=False):
        arrivals[row.item].append(row)
    lost = washes_off(items)
    left = {
        pk: on_hand - lost.get(pk, 0) - others[pk]
        for pk, on_hand in StockItem.objects.filter(pk__in=items).values_list("pk", "on_hand")
    }
    largest: dict[int, int] = defaultdict(int)
    for lot in Lot.objects.filter(item__in=items, on_hand__gt=0, remnant_width_mm__isnull=True):
        largest[lot.item_id] = max(largest[lot.item_id], lot.on_hand - by_lot[lot.pk])
    found = []
    for wish in wishes:
        pk = wish.item.pk
        by_start = left[pk] + sum(row.quantity for row in arrivals[pk] if row.expected_on <= start)
        short = min(wish.quantity, max(0, wish.quantity - by_start))
        if short:
            there_on, order, later = None, None, by_start
            for row in arrivals[pk]:
                if row.expected_on > start and there_on is None:
                    later += row.quantity
                    if later >= wish.quantity:
                        there_on, order = row.expected_on, row.order
            found.append(Lack(wish=wish, quantity=short, there_on=there_on, order=order))
        elif wish.needs_one_lot and wish.quantity > max(
            largest[pk], *(row.quantity for row in arrivals[pk] if row.expected_on <= start), 0
        ):
            found.append(Lack(wish=wish, quantity=0, there_on=None, order=None, is_of_one_lot=True))
        left[pk] -= wish.quantity
    return found


def _due_lines() -> QuerySet[PurchaseLine]:
    return PurchaseLine.objects.filter(
        order__state__in=[PurchaseOrder.State.DRAFT, PurchaseOrder.State.PLACED, PurchaseOrder.State.PARTLY],
        is_closed=False,
        received__lt=F("quantity"),
    )


def _by_item(lines: QuerySet[ReservationLine]) -> dict[int, int]:
    return dict(lines.values_list("item").annotate(total=Sum(F("quantity") - F("issued"))))
