"""What is kept for a job, as the ledger meets it: which lines an issue serves, what other work cannot spare, what comes back.

Called by the ledger, within its transaction and under the lock of the item.
"""

from collections.abc import Sequence

from django.db.models import F, Sum

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, Reservation, ReservationLine
from inventory.reserving.reservations import firm_lines

__all__ = ["lines_of", "lower", "must_be_free", "need_only", "open_work", "serve", "spelled"]


def open_work() -> list[tuple[str, str]]:
    """Return the accepted work that is not over, by reference and title, what is needed first on top."""
    work = Reservation.objects.filter(is_firm=True).exclude(state=Reservation.State.OVER)
    return list(work.values_list("reference", "title"))


def spelled(job: str) -> str:
    """Return a job as its reservation spells it, in whatever case it is written."""
    known = Reservation.objects.filter(reference__iexact=job).values_list("reference", flat=True).first()
    return known or job


def lines_of(lot: Lot, job: str, *, first: ReservationLine | None) -> list[ReservationLine]:
    """Return what is kept of the lot's item for a job and not yet issued, locked; `first` before the others."""
    lines = firm_lines().filter(item_id=lot.item_id, reservation__reference=job)
    return sorted(
        lines.select_for_update().order_by("pk"), key=lambda line: (first is None or line.pk != first.pk, line.pk)
    )


def must_be_free(lot: Lot, quantity: int, job: str, lines: Sequence[ReservationLine]) -> None:
    """Refuse what speaks against issuing from this lot, each in its own sentence."""
    overrule = "Tick “Take it all the same” if you have seen it and want it so."
    if lot.state == Lot.State.RAW:
        raise refuse("ledger.raw", str(lot), "This cloth is raw and will shrink.", f"Wash it first. {overrule}")
    bound = next((line for line in lines if line.needs_one_lot and line.lot_id not in (None, lot.pk)), None)
    if bound is not None:
        raise refuse(
            "ledger.other-lot", str(lot), f"{job} is kept from, or began with, {bound.lot}; it is seen.", overrule
        )
    free = lot.on_hand - _kept_for_others(lot, job)
    if quantity > free:
        raise refuse(
            "ledger.reserved",
            str(lot),
            f"Only {quantity_text(max(0, free), lot.item.unit)} are free; the rest is kept for other work.",
            overrule,
        )


def serve(lines: Sequence[ReservationLine], lot: Lot, quantity: int, job: str) -> None:
    """Count what was issued to a job as served, line by line; what shows goes on in the lot that it began with."""
    rest = quantity
    for line in lines:
        served = min(rest, line.remaining)
        if served:
            rest -= served
            line.issued += served
            if line.needs_one_lot and line.lot_id is None:
                line.lot = lot
            line.save(update_fields=["issued", "lot"])
    _close_if_served(job)


def lower(lot: Lot, job: str, *, held: int, amount: int, again: ReservationLine | None) -> None:
    """Count what came back as not issued: first what no line asked for, then line by line, the last first.

    A need that is not to be met again shrinks with it.
    """
    lines = list(
        ReservationLine.objects.select_for_update()
        .filter(item_id=lot.item_id, reservation__reference=job, issued__gt=0)
        .order_by("-pk")
    )
    lines.sort(key=lambda line: again is None or line.pk != again.pk)
    rest = amount - max(0, held - sum(line.issued for line in lines))
    for line in lines:
        lowered = min(max(0, rest), line.issued)
        rest -= lowered
        line.issued -= lowered
        if again is None:
            line.quantity = max(0, line.quantity - lowered)
        line.save(update_fields=["issued", "quantity"])
    if again is not None:
        Reservation.objects.filter(reference=job, state=Reservation.State.DONE).update(state=Reservation.State.OPEN)


def need_only(line: ReservationLine, quantity: int) -> None:
    """Let a line ask for no more than a quantity, and for no less than was issued: the rest was met otherwise."""
    line.refresh_from_db()
    line.quantity = min(line.quantity, max(quantity, line.issued))
    line.save(update_fields=["quantity"])
    _close_if_served(line.reservation.reference)


def _kept_for_others(lot: Lot, job: str) -> int:
    """How much of this lot other firm work cannot spare: kept from it, or of any lot beyond what the others hold."""
    if lot.is_remnant:
        return 0
    others = firm_lines().filter(item_id=lot.item_id).exclude(reservation__reference=job)
    by_lot: dict[int | None, int] = {}
    for bound, left in others.values_list("lot").annotate(left=Sum(F("quantity") - F("issued"))).order_by():
        by_lot[bound] = left
    here = by_lot.pop(lot.pk, 0)
    anywhere = by_lot.pop(None, 0)
    there = dict(
        Lot.objects.filter(item_id=lot.item_id, remnant_width_mm__isnull=True, on_hand__gt=0)
        .exclude(pk=lot.pk)
        .values_list("pk", "on_hand")
    )
    # What a lot is bound for and no longer holds must come from wherever it can.
    anywhere += sum(max(0, left - there.get(pk or 0, 0)) for pk, left in by_lot.items())
    elsewhere = sum(max(0, on_hand - by_lot.get(pk, 0)) for pk, on_hand in there.items())
    return here + max(0, anywhere - elsewhere)


def _close_if_served(job: str) -> None:
    """Count a job's firm reservation as used up once nothing of it is still to be issued."""
    rest = ReservationLine.objects.filter(reservation__reference=job, issued__lt=F("quantity"))
    if not rest.exists():
        Reservation.objects.filter(reference=job, is_firm=True, state=Reservation.State.OPEN).update(
            state=Reservation.State.DONE
        )
