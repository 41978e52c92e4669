"""Use case: a lay that was cut. What came off the roll and the remnants is issued to each job by its share, in one act."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.ground.money import split_whole
from inventory.ground.wording import minor_text
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.reserving.free_lots import free_lots
from inventory.reserving.serving import need_only
from inventory.shelf.settings import shelf
from inventory.stock.ledger import Act, Remnant, issue_among
from quotes.lay.joint import RemnantUse
from quotes.lay.sharing import Share, shared
from studio.jobs.acts import note_down, open_job
from studio.laying.asking import kept_for_others, must_be_kept_from
from studio.laying.kept import KEPT_LAY, KeptLay
from studio.laying.wanting import JobWants, cloths_wanted
from studio.models import Job, JointLay, JointShare

__all__ = ["all_cut"]

_OPEN_AGAIN = "Lay the cloth again with what is still to be cut."


@transaction.atomic
def all_cut(row: JointLay, *, roll_mm: int, key: UUID, user: User | None) -> None:
    """Issue to each job its share of the cloth of a lay, put rests of remnants back, and keep no more for the jobs of it.

    Args:
        roll_mm: what was really cut off the roll.

    Raises:
        Refused: it is booked already, a job is over, something of its cloth went out meanwhile or is kept from another lot,
            a lot has not so much to give, a remnant was moved or kept for others, or nothing would be issued.
    """
    row = JointLay.objects.select_for_update(of=("self",)).select_related("item__material", "lot").get(pk=row.pk)
    if row.booked_at is not None:
        raise refuse(
            "laying.booked", str(row), "This lay was booked already.", "Correct it at the materials of each job."
        )
    kept = KEPT_LAY.read(row.document)
    jobs = {
        share.job.reference: open_job(share.job_id) for share in row.shares.select_related("job").order_by("job_id")
    }
    list(StockItem.objects.select_for_update().filter(pk=row.item_id))
    wants = _still_wanted(row, jobs)
    must_be_kept_from(row.lot, list(wants.values()))
    uses = {kept.remnants[use.which]: use for taken in kept.taken for use in taken.remnants}
    if kept.roll_mm and not roll_mm:
        raise refuse("laying.nothing", "roll", "Nothing would be cut off the roll.", "Say how much was cut.")
    remnants = _remnants(row, kept, uses, list(jobs))
    _must_be_free(row, roll_mm, list(jobs))
    alone = {share.whose: share.alone for share in kept.joint.shares}
    shares = shared(roll_mm + sum(use.takes_mm for use in uses.values()), alone)
    postings = _issue(row, shares, roll_mm, remnants, uses, key=key, user=user)
    for name in jobs:
        _need_only_bias(wants[name])
    _tell(row, jobs, shares, postings, user=user)
    row.booked_at, row.booked_by, row.roll_mm = timezone.now(), user, roll_mm
    row.save(update_fields=["booked_at", "booked_by", "roll_mm"])


def _still_wanted(row: JointLay, jobs: Mapping[str, Job]) -> dict[str, JobWants]:
    """What the jobs want of the cloth, of which nothing went out yet."""
    wanted = {wants.job.reference: wants for cloth in cloths_wanted(row.item_id) for wants in cloth.jobs}
    if gone := [name for name in jobs if name not in wanted]:
        raise refuse(
            "laying.out-of-date",
            ", ".join(gone),
            f"Cloth went out to {' and '.join(gone)} since this lay was drawn, or is kept no more.",
            _OPEN_AGAIN,
        )
    return {name: wanted[name] for name in jobs}


def _remnants(
    row: JointLay, kept: KeptLay, uses: Mapping[int, RemnantUse], references: Sequence[str]
) -> dict[int, Lot]:
    """The remnants that were used, as they were when the lay was drawn, and kept for nobody else."""
    lots = Lot.objects.select_related("item__material").in_bulk(uses)
    problem, bound = kept.joint.parts[0].problem, kept_for_others(list(lots.values()), references)
    for pk, use in uses.items():
        lot, drawn = lots.get(pk), problem.remnants[use.which]
        then = (round(drawn.worth), round(drawn.width), round(drawn.length))
        if lot is not None and (lot.pk in bound or lot.state != Lot.State.READY):
            raise refuse(
                "laying.remnant-kept",
                str(lot),
                "This remnant was kept for other work, or locked, since the lay was drawn.",
                _OPEN_AGAIN,
            )
        if lot is None or (lot.on_hand, lot.remnant_width_mm, lot.remnant_length_mm) != then:
            raise refuse(
                "laying.remnant-gone", str(lot or row), "This remnant was moved since the lay was drawn.", _OPEN_AGAIN
            )
    return lots


def _must_be_free(row: JointLay, roll_mm: int, references: Sequence[str]) -> None:
    """Refuse what other accepted work cannot spare; looked at for all jobs at once, since they are cut together."""
    if not roll_mm:
        return
    if row.lot is None:
        raise refuse("laying.no-lot", str(row), "This lay is of no lot of the shelf.", "Draw it again from one.")
    free = {found.lot.pk: found.free for found in free_lots([row.item_id], beside=references)}.get(row.lot.pk, 0)
    if roll_mm > free:
        unit = row.item.unit
        raise refuse(
            "ledger.reserved",
            str(row.lot),
            f"Only {quantity_text(free, unit)} are free, not {quantity_text(roll_mm, unit)}; "
            "the rest is kept for other work, or is gone.",
            "Draw the lay again from another lot.",
        )


def _issue(
    row: JointLay,
    shares: Sequence[Share],
    roll_mm: int,
    remnants: Mapping[int, Lot],
    uses: Mapping[int, RemnantUse],
    *,
    key: UUID,
    user: User | None,
) -> list[Posting]:
    """Issue the roll and then each remnant but its rest, which stays on the shelf."""
    postings: list[Posting] = []
    left = {share.whose: share.pays for share in shares}
    why = f"Laid together: {', '.join(left)}" if len(left) > 1 else "Laid as drawn"
    if roll_mm:
        assert row.lot is not None
        act = Act(key=uuid5(key, "roll"), by=user, why=why)
        postings += issue_among(act, lot=row.lot, parts=_taken_from(left, roll_mm))
    for pk, use in uses.items():
        lot = remnants[pk]
        assert lot.remnant_width_mm is not None
        rest = Remnant(width_mm=lot.remnant_width_mm, length_mm=use.rest_mm) if use.rest_mm else None
        act = Act(key=uuid5(key, f"remnant {pk}"), by=user, why=why)
        postings += issue_among(act, lot=lot, parts=_taken_from(left, use.takes_mm), rest=rest)
    return postings


def _taken_from(left: dict[str, int], quantity: int) -> dict[str, int]:
    """Take a quantity of what shares still are owed, from each in proportion to that, and return it by job.

    So each has its part of every lot, whatever that lot cost.
    """
    if not quantity:
        return {}
    parts = dict(zip(left, split_whole(quantity, [Decimal(owed) for owed in left.values()]), strict=True))
    for name, part in parts.items():
        left[name] -= part
    return {name: part for name, part in parts.items() if part}


def _need_only_bias(wants: JobWants) -> None:
    """Keep nothing more for a job of a cloth that was cut but what its binding takes."""
    bias = wants.bias_mm
    for line in reversed(wants.lines):
        line.refresh_from_db()
        spare = min(bias, line.remaining)
        bias -= spare
        need_only(line, line.issued + spare)


def _tell(
    row: JointLay, jobs: Mapping[str, Job], shares: Sequence[Share], postings: Sequence[Posting], *, user: User | None
) -> None:
    """Write into each job's diary what it took and why, and keep what that cost."""
    currency, unit = shelf().currency, row.item.unit
    for share in shares:
        moved = Movement.objects.filter(posting__in=[posting for posting in postings if posting.job == share.whose])
        paid = -(moved.aggregate(value=Sum("value_minor"))["value"] or 0)
        JointShare.objects.filter(lay=row, job=jobs[share.whose]).update(takes_mm=share.pays, paid_minor=paid)
        others = " and ".join(name for name in jobs if name != share.whose)
        note_down(
            jobs[share.whose],
            f"{row.item} cut{f' in one lay with {others}' if others else ''}: "
            f"{quantity_text(share.pays, unit)} for {minor_text(paid, currency)}; "
            f"alone it would take {quantity_text(share.alone, unit)}.",
            by=user,
        )
