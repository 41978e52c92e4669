"""Use cases of reservations: keep softly while a quote is out, firmly once it is accepted, release.

They are called inside the transaction of what happens to the quote or the job, so that both stand or fall together.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import F, Prefetch, QuerySet

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, Reservation, ReservationLine, StockItem
from inventory.models.reservations import unexpired

__all__ = [
    "Ask",
    "Wish",
    "active_lines",
    "ask_of",
    "end",
    "firm_lines",
    "keep_again",
    "keep_from_lot",
    "open_reservations",
    "release",
    "reserve",
    "starts_on",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """So much of an item for an operation; `needs_one_lot` where it is seen and must match in itself."""

    item: StockItem
    quantity: int
    operation: str
    needs_one_lot: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What a piece of work wishes for from a day on; what is kept under its own `reference` does not compete with it."""

    wishes: Sequence[Wish]
    start: date
    reference: str = ""


@transaction.atomic
def reserve(
    *,
    reference: str,
    title: str,
    link: str,
    wishes: Sequence[Wish],
    needed_by: date,
    expires_on: date | None,
) -> Reservation:
    """Keep what a piece of work asks for, in place of what was kept for it before.

    Args:
        expires_on: the day after which a soft reservation is over; None for a firm one.

    Lines of which something was issued already keep that count; lots stay chosen where the line stays.
    """
    # Items first and in one order, as the ledger locks them; then what is kept.
    items = {wish.item.pk for wish in wishes}
    items |= set(ReservationLine.objects.filter(reservation__reference=reference).values_list("item", flat=True))
    list(StockItem.objects.select_for_update().filter(pk__in=items).order_by("pk"))
    reservation, _ = Reservation.objects.update_or_create(
        reference=reference,
        defaults={
            "title": title,
            "link": link,
            "is_firm": expires_on is None,
            "needed_by": needed_by,
            "expires_on": expires_on,
            "state": Reservation.State.OPEN,
            "why": "",
        },
    )
    kept_lines = {(line.item_id, line.operation): line for line in reservation.lines.select_for_update()}
    for wish in wishes:
        line = kept_lines.pop((wish.item.pk, wish.operation), None)
        if line is None:
            ReservationLine.objects.create(
                reservation=reservation,
                item=wish.item,
                operation=wish.operation,
                quantity=wish.quantity,
                needs_one_lot=wish.needs_one_lot,
            )
        else:
            line.quantity, line.needs_one_lot = wish.quantity, wish.needs_one_lot
            line.save(update_fields=["quantity", "needs_one_lot"])
    for line in kept_lines.values():
        if line.issued:
            ReservationLine.objects.filter(pk=line.pk).update(quantity=F("issued"))
        else:
            line.delete()
    return reservation


def release(reference: str, *, why: str) -> None:
    """Give back what is kept for a piece of work, where anything is; what was issued stays issued."""
    Reservation.objects.filter(reference=reference, state=Reservation.State.OPEN).update(
        state=Reservation.State.RELEASED, why=why
    )


def end(reference: str, *, why: str) -> None:
    """Give back what is kept for a piece of work that is over, for good: it is never kept again."""
    Reservation.objects.filter(reference=reference).update(state=Reservation.State.OVER, why=why)


def keep_again(reference: str, *, on: date) -> None:
    """Keep anew what was released or used up.

    Raises:
        Refused: a soft reservation whose quote has expired, or work that is over.
    """
    not_kept = Reservation.objects.filter(reference=reference).exclude(state=Reservation.State.OPEN)
    if not_kept.filter(state=Reservation.State.OVER).exists():
        raise refuse("reservation.over", reference, "This work is over, so nothing is kept for it.")
    if not not_kept.filter(unexpired(on=on)).update(state=Reservation.State.OPEN, why=""):
        raise refuse("reservation.expired", reference, "Its quote has expired.", "Revise the quote and send it again.")


@transaction.atomic
def keep_from_lot(line: ReservationLine, lot: Lot | None) -> None:
    """Keep a line from one lot, or from any.

    Raises:
        Refused: a lot of another item, or one that other firm lines leave too little of.
    """
    if lot is not None:
        list(StockItem.objects.select_for_update().filter(pk=line.item_id))
        if lot.item_id != line.item_id:
            raise refuse("reservation.other-item", str(lot), f"{lot} is not of {line.item}.")
        firm = firm_lines().filter(lot=lot).exclude(reservation=line.reservation_id)
        others = sum(other.remaining for other in firm)
        free = Lot.objects.get(pk=lot.pk).on_hand - others
        if free < line.remaining:
            raise refuse(
                "reservation.lot-too-small",
                str(lot),
                f"It has {quantity_text(max(0, free), line.item.unit)} free, "
                f"not {quantity_text(line.remaining, line.item.unit)}.",
                "Choose another lot; a shortfall is not met from a second one.",
            )
    ReservationLine.objects.filter(pk=line.pk).update(lot=lot)


def open_reservations(references: Collection[str]) -> dict[str, Reservation]:
    """Return what is open of work, by reference, with its lines and their items, in three queries; work without is left out."""
    reservations = Reservation.objects.filter(reference__in=references, state=Reservation.State.OPEN)
    items = StockItem.objects.select_related("material")
    return {
        reservation.reference: reservation
        for reservation in reservations.prefetch_related("lines", Prefetch("lines__item", items))
    }


def starts_on(reservation: Reservation, *, on: date) -> date:
    """The day on which its materials are needed, today at the earliest."""
    return max(on, reservation.needed_by)


def ask_of(reservation: Reservation, *, start: date) -> Ask:
    """Return what is still to be issued to a piece of work that starts on a day."""
    return Ask(
        wishes=[
            Wish(
                item=line.item,
                quantity=line.remaining,
                operation=line.operation,
                # A line that began in one lot goes on in it; what is left may be less than that lot ever held.
                needs_one_lot=line.needs_one_lot and not line.issued,
            )
            for line in reservation.lines.all()
            if line.remaining
        ],
        start=start,
        reference=reservation.reference,
    )


def active_lines(*, on: date) -> QuerySet[ReservationLine]:
    """Lines that keep something on a day: firm ones, and soft ones that have not expired."""
    return _open_lines().filter(unexpired(on=on, of="reservation__"))


def firm_lines() -> QuerySet[ReservationLine]:
    """Lines of accepted work of which something is still to be issued."""
    return _open_lines().filter(reservation__is_firm=True)


def _open_lines() -> QuerySet[ReservationLine]:
    return ReservationLine.objects.filter(reservation__state=Reservation.State.OPEN, issued__lt=F("quantity"))
