"""What needs a hand today, of the shelf: orders that are late, accepted work that lacks material."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory.ground.wording import late_text
from inventory.models import PurchaseOrder, Reservation
from inventory.reserving.availability import lacks_of_work
from inventory.reserving.page import lack_text

__all__ = ["ShelfToday", "WaitingWork", "late_orders", "shelf_today"]

MOST_ROWS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingWork:
    """Accepted work and what it lacks on the day it needs it."""

    reservation: Reservation
    missing: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfToday:
    """Empty lists are left out of the page."""

    late: list[tuple[PurchaseOrder, str]]
    waiting: list[WaitingWork]


def late_orders(*, on: date) -> list[tuple[PurchaseOrder, str]]:
    """Return the open orders that should have come, the latest first, and how late they are."""
    State = PurchaseOrder.State
    late = PurchaseOrder.objects.filter(state__in=[State.PLACED, State.PARTLY], expected_on__lt=on)
    return [
        (order, late_text(order.days_late(on=on)))
        for order in late.select_related("supplier").order_by("expected_on")[:MOST_ROWS]
    ]


def shelf_today(*, on: date) -> ShelfToday:
    """Return what waits on a day."""
    firm = Reservation.objects.filter(
        is_firm=True, state=Reservation.State.OPEN, lines__issued__lt=F("lines__quantity")
    ).distinct()
    accepted = list(firm[:MOST_ROWS])
    short = lacks_of_work([reservation.reference for reservation in accepted], on=on)
    waiting = [
        WaitingWork(reservation=reservation, missing=[lack_text(lack) for lack in short[reservation.reference]])
        for reservation in accepted
        if short.get(reservation.reference)
    ]
    return ShelfToday(
        late=late_orders(on=on),
        waiting=waiting,
    )
