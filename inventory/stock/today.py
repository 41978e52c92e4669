"""What needs a hand today, of the shelf: orders that are late, accepted work that lacks material."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory.models import PurchaseOrder, Reservation
from inventory.reserving.availability import lacks_of_work

__all__ = ["ShelfToday", "WaitingWork", "shelf_today"]

MOST_ROWS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingWork:
    """Accepted work and what it lacks on the day it needs it."""

    reservation: Reservation
    missing: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfToday:
    """Empty lists are left out of the page."""

    late: list[tuple[PurchaseOrder, int]]
    waiting: list[WaitingWork]


def shelf_today(*, on: date) -> ShelfToday:
    """Return what waits on a day."""
    State = PurchaseOrder.State
    late = PurchaseOrder.objects.filter(state__in=[State.PLACED, State.PARTLY], expected_on__lt=on)
    firm = Reservation.objects.filter(
        is_firm=True, state=Reservation.State.OPEN, lines__issued__lt=F("lines__quantity")
    ).distinct()
    accepted = list(firm[:MOST_ROWS])
    short = lacks_of_work([reservation.reference for reservation in accepted], on=on)
    waiting = [
        WaitingWork(reservation=reservation, missing=[str(lack.wish.item) for lack in short[reservation.reference]])
        for reservation in accepted
        if short.get(reservation.reference)
    ]
    return ShelfToday(
        late=[
            (order, order.days_late(on=on))
            for order in late.select_related("supplier").order_by("expected_on")[:MOST_ROWS]
        ],
        waiting=waiting,
    )
