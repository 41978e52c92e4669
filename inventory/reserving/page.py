"""A piece of work's needs as its page shows them, and what is missing for which operation."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Prefetch, prefetch_related_objects

from inventory.ground.measures import quantity_text
from inventory.ground.wording import day_text, late_text
from inventory.models import Lot, Reservation, ReservationLine, StockItem
from inventory.reckoning.crumbs import is_cut_from_one_piece
from inventory.reserving.availability import Availability, Lack, lacks_of_all
from inventory.reserving.reservations import ask_of
from inventory.reserving.stand_in_page import StandInRow

__all__ = ["MissingRow", "NeedRow", "ReservationPage", "lack_text", "largest_text", "missing_rows", "reservation_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingRow:
    """What is short, for which operation, and when it would be there; what would do, best first, where it was looked for."""

    code: str
    what: str
    operation: str
    quantity: str
    there: str
    stand_ins: list[StandInRow] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedRow:
    """A line of a reservation."""

    line: ReservationLine
    wanted: str
    issued: str
    remaining: str
    lots: list[Lot]
    remnants: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReservationPage:
    """Missing first, then all that is needed."""

    missing: list[MissingRow]
    needs: list[NeedRow]


def reservation_page(reservation: Reservation, *, start: date, on: date) -> ReservationPage:
    """Return what a piece of work needs, and what it lacks if it starts on a day."""
    prefetch_related_objects(
        [reservation], Prefetch("lines", ReservationLine.objects.select_related("item__material", "lot"))
    )
    lines = list(reservation.lines.all())
    items = [line.item_id for line in lines]
    whole: dict[int, list[Lot]] = defaultdict(list)
    remnants: dict[int, list[str]] = defaultdict(list)
    for lot in Lot.objects.filter(item__in=items, on_hand__gt=0):
        if lot.is_remnant:
            remnants[lot.item_id].append(lot.remnant_size)
        else:
            whole[lot.item_id].append(lot)
    short = (
        lacks_of_all([ask_of(reservation, start=start)], on=on)[0]
        if reservation.state == Reservation.State.OPEN
        else []
    )
    return ReservationPage(
        missing=missing_rows(short),
        needs=[
            NeedRow(
                line=line,
                wanted=quantity_text(line.quantity, line.item.unit),
                issued=quantity_text(line.issued, line.item.unit) if line.issued else "",
                remaining=quantity_text(line.remaining, line.item.unit),
                lots=[line.lot] if line.lot else whole[line.item_id],
                remnants=remnants[line.item_id],
            )
            for line in lines
        ],
    )


def lack_text(lack: Lack) -> str:
    """Return what is short, and that the order which brings it is late."""
    late = late_text(lack.late_days)
    return f"{lack.wish.item} (order {lack.order}: {late})" if late else str(lack.wish.item)


def largest_text(standing: Availability, item: StockItem) -> str:
    """Return the largest piece of what is cut from one piece; empty where the sum says as much."""
    if not standing.has_pieces or not is_cut_from_one_piece(item.kind_by_length):
        return ""
    return f"largest piece {quantity_text(standing.largest, item.unit)}" if standing.largest else "no piece of use"


def missing_rows(short: Sequence[Lack], stand_ins: Sequence[list[StandInRow]] = ()) -> list[MissingRow]:
    """Return lacks in words, with the stand-ins of each where they are given."""
    return [
        MissingRow(
            code=lack.wish.item.code,
            what=str(lack.wish.item),
            operation=lack.wish.operation,
            quantity="" if lack.is_of_one_lot else quantity_text(lack.quantity, lack.wish.item.unit),
            there=_there(lack),
            stand_ins=rows,
        )
        for lack, rows in zip(short, stand_ins or [[] for _ in short], strict=True)
    ]


def _there(lack: Lack) -> str:
    if lack.is_of_one_lot:
        wanted = quantity_text(lack.wish.quantity, lack.wish.item.unit)
        return f"There is enough, but no one lot holds {wanted}; it is seen, so it must be of one lot."
    late = late_text(lack.late_days)
    if lack.there_on is None:
        return (
            f"Order {lack.order} should have brought it: {late}."
            if lack.order
            else "Nothing that is ordered brings it."
        )
    return f"Order {lack.order} brings it on {day_text(lack.there_on)}{f': {late}' if late else ''}."
