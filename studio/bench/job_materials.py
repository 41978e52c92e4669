"""Use cases of a job's materials: issued as planned, taken back, spoiled with a cause; the ledger alone moves stock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, Movement, Posting, ReservationLine
from inventory.reserving.reservations import keep_from_lot
from inventory.reserving.stand_ins import OfferedStandIn, take_instead
from inventory.stock import ledger
from inventory.stock.ledger import Act, Remnant
from quotes.needs.on_the_shelf import hourly_cost, places_of
from studio.accounts.accounting import settle_again
from studio.jobs.acts import note_down, open_job
from studio.models import Job, TimeEntry

__all__ = [
    "Held",
    "held",
    "issue_planned",
    "planned_lines",
    "spoil",
    "take_back",
    "take_stand_in",
    "worth_minor",
]

SEEN = "Seen and accepted"
_FIRST_HALF = UUID("0f8a2f3c-6a35-4c0e-9a4b-7f0c1d2e3b4a")


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What a job took of a lot, what came back to it, what was spoiled, in base units.

    A remnant is a lot of its own: what came back as one stands there.
    """

    lot: Lot
    issued: int
    returned: int
    spoiled: int


def planned_lines(job: Job) -> Sequence[ReservationLine]:
    """Return what is kept for a job, in the order of the takeoff."""
    lines = ReservationLine.objects.filter(reservation__reference=job.reference)
    return list(lines.select_related("item__material", "lot", "reservation"))


def held(job: Job) -> list[Held]:
    """Return what a job took, lot by lot, materials of a kind together."""
    sums = (
        Movement.objects.filter(posting__job=job.reference)
        .values_list("lot", "posting__kind")
        .annotate(quantity=Sum("quantity"))
        .order_by()
    )
    taken: dict[int, dict[str, int]] = {}
    for lot, kind, quantity in sums:
        taken.setdefault(lot, {})[kind] = abs(quantity)
    lots = Lot.objects.select_related("item__material").in_bulk(taken)
    Kind = Posting.Kind
    by_lot = [
        Held(
            lot=lots[pk],
            issued=kinds.get(Kind.ISSUE, 0),
            returned=kinds.get(Kind.RETURN, 0),
            spoiled=kinds.get(Kind.SCRAP, 0),
        )
        for pk, kinds in taken.items()
    ]
    return sorted(by_lot, key=lambda in_lot: (in_lot.lot.item.material.kind, str(in_lot.lot.item), in_lot.lot.pk))


def worth_minor(job: Job) -> int:
    """Return what a job took from the shelf less what came back, spoiled material too, in minor units."""
    return -(Movement.objects.filter(posting__job=job.reference).aggregate(value=Sum("value_minor"))["value"] or 0)


@transaction.atomic
def issue_planned(
    job: Job,
    line: ReservationLine,
    *,
    lot: Lot,
    quantity: int,
    key: UUID,
    user: User | None,
    takes_reserved: bool = False,
) -> Posting:
    """Give a job what is kept for it, or more of it where more was needed.

    Args:
        takes_reserved: the maker has seen what stands against it and takes it all the same.

    Raises:
        Refused: a job that is over, what shows from a lot that is too small for all of it, or what the ledger refuses.
    """
    open_job(job.pk)
    line.refresh_from_db()
    if line.needs_one_lot and line.lot_id is None and not takes_reserved:
        keep_from_lot(line, lot)
    act = Act(key=key, by=user, why=SEEN if takes_reserved else "")
    return ledger.issue(act, lot=lot, quantity=quantity, job=job.reference, line=line, takes_reserved=takes_reserved)


@transaction.atomic
def take_stand_in(job: Job, line_pk: int, item: int, *, user: User | None, on: date) -> OfferedStandIn:
    """Keep a stand-in for a job in place of what it lacks, and write into its diary why and what was to be asked.

    Args:
        line_pk: of the line of the plan that is short.
        item: the one that stands in.

    Raises:
        Refused: a job that is over, a line that is not in the plan any more, or as `take_instead` of the shelf does.
    """
    open_job(job.pk)
    line = next((line for line in planned_lines(job) if line.pk == line_pk), None)
    if line is None:
        raise refuse(
            "stand-in.not-planned", job.reference, "The plan does not ask for that any more.", "Look at it again."
        )
    planned, unit = str(line.item), line.item.unit
    offer = take_instead(
        line,
        item,
        places=places_of(line.item, job.option),
        hourly=hourly_cost(job.revision.snapshot.rates),
        currency=job.currency.code,
        on=on,
    )
    row = offer.stand_in
    taken, replaced = quantity_text(row.quantity, offer.item.unit), quantity_text(row.replaces, unit)
    words = (f"Instead of {replaced} of {planned}: {taken} of {offer.item}", *row.why, *row.asks, *row.tells)
    note_down(job, " ".join(part if part[-1] in ".?" else f"{part}." for part in words), by=user)
    return offer


@transaction.atomic
def take_back(
    job: Job,
    *,
    lot: Lot,
    quantity: int,
    remnant: Remnant | None,
    is_still_needed: bool,
    key: UUID,
    user: User | None,
) -> Posting:
    """Take back what a job did not use; an offcut of cloth becomes a remnant with its real size.

    Args:
        is_still_needed: it is kept for the job again, because it was issued too early or from the wrong place.

    Raises:
        Refused: more than the job holds of it.
    """
    kept = ReservationLine.objects.filter(reservation__reference=job.reference, item=lot.item_id, issued__gt=0)
    act = Act(key=key, by=user)
    posting = ledger.give_back(
        act,
        lot=lot,
        quantity=quantity,
        job=job.reference,
        remnant=remnant,
        line=kept.first() if is_still_needed else None,
    )
    settle_again(job)
    return posting


@transaction.atomic
def spoil(
    job: Job, *, lot: Lot, quantity: int, cause: str, words: str, is_cut_again: bool, key: UUID, user: User | None
) -> Posting:
    """Write off what was spoiled at a job, with its cause.

    Args:
        is_cut_again: as much is taken afresh from the lot and takes the place of what was spoiled, which the job had.
            Otherwise what the job had is written off, and the job holds less.

    Raises:
        Refused: no cause, less in the lot, or less with the job.
    """
    if not cause or cause not in TimeEntry.Cause.values:
        raise refuse("spoiled.no-cause", "cause", "What was spoiled needs a cause.", "Choose one.")
    act = Act(key=key, by=user, why=f"{cause}: {words}".strip(": "), cause=cause)
    if not is_cut_again:
        back = Act(key=uuid5(_FIRST_HALF, str(key)), by=user, why="Spoiled, as the next posting says")
        ledger.give_back(back, lot=lot, quantity=quantity, job=job.reference)
    posting = ledger.scrap(act, lot=lot, quantity=quantity, job=job.reference)
    settle_again(job)
    return posting
