"""The cut list when all is cut: what each job took is issued to it, and rests go back.

Bones that are cut from longer ones are cut in the ledger first, so that each part carries its share of the value: what a
job wants goes out, what is left lies in the drawer.
"""

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction

from inventory.ground.bone_forms import BoneForm
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, StockItem
from inventory.reserving.free_lots import free_lots
from inventory.reserving.serving import need_only
from inventory.stock import ledger
from inventory.stock.cutting import cut_to_length
from inventory.stock.ledger import Act
from studio.bench.cut_listing import Kept, kept_for
from studio.cutting.doing import Bones, Doing
from studio.cutting.wanted import TENTHS, Wanted
from studio.jobs.acts import open_job
from studio.models import Job

__all__ = ["all_cut", "fingerprint_of"]


def fingerprint_of(wanted: Sequence[Wanted]) -> str:
    """Return what jobs want cut as a fingerprint: a list of something else is out of date."""
    return hashlib.sha256(repr(tuple(wanted)).encode()).hexdigest()


@transaction.atomic
def all_cut(jobs: Sequence[Job], doing: Doing, *, seen: str, key: UUID, user: User | None) -> None:
    """Issue to each job what it took, cut bones that were cut, put their rests back, and keep no more for the jobs of it.

    Args:
        doing: as it was done; an amount or a count of 0 was not.
        seen: the fingerprint of what the list was made for.

    Raises:
        Refused: a job is over, something of it was issued meanwhile, a lot has not so much to give, a rest is too short or
            too long, or nothing would be issued.
    """
    for pk in sorted(job.pk for job in jobs):
        open_job(pk)
    lots = {lot.pk: lot for lot in Lot.objects.filter(pk__in=_drawn(doing)).select_related("item__material")}
    list(StockItem.objects.select_for_update().filter(pk__in={lot.item_id for lot in lots.values()}).order_by("pk"))
    kept = kept_for(jobs)
    if fingerprint_of(kept.wanted) != seen:
        raise refuse(
            "cutting.out-of-date",
            "cut list",
            "Something of it was issued, or what is kept has changed, since this list was made.",
            "Open it again and cut what is still on it.",
        )
    if not _drawn(doing):
        raise refuse("cutting.nothing", "cut list", "Nothing would be issued.", "Say what was cut.")
    _must_be_free(doing, lots, jobs)
    for number, taken in enumerate(doing.taken):
        if taken.amount:
            act = Act(key=uuid5(key, f"taken {number}"), by=user)
            ledger.issue(act, lot=lots[taken.lot], quantity=taken.amount, job=taken.job, takes_reserved=True)
    for number, bones in enumerate(doing.bones):
        if bones.count:
            _cut(bones, lots[bones.lot], key=uuid5(key, f"bones {number}"), user=user)
    _need_no_more(kept, doing, lots)


def _drawn(doing: Doing) -> Counter[int]:
    """How many base units of each lot are drawn."""
    drawn: Counter[int] = Counter()
    for taken in doing.taken:
        drawn[taken.lot] += taken.amount
    for bones in doing.bones:
        drawn[bones.lot] += bones.count
    return +drawn


def _must_be_free(doing: Doing, lots: Mapping[int, Lot], jobs: Sequence[Job]) -> None:
    """Refuse what other accepted work cannot spare; looked at for all jobs at once, since they are cut together."""
    items = {lot.item_id for lot in lots.values()}
    free = {row.lot.pk: row.free for row in free_lots(items, beside=[job.reference for job in jobs])}
    for pk, amount in _drawn(doing).items():
        if amount > free.get(pk, 0):
            lot = lots[pk]
            raise refuse(
                "ledger.reserved",
                f"{lot.item}, {lot}",
                f"Only {quantity_text(free.get(pk, 0), lot.item.unit)} are free, "
                f"not {quantity_text(amount, lot.item.unit)}; the rest is kept for other work, or is gone.",
                "Correct the amount, or issue the rest from the materials of the job.",
            )


def _cut(bones: Bones, lot: Lot, *, key: UUID, user: User | None) -> None:
    """Cut so many bones of a lot and issue the parts to their jobs."""
    keep = shelf_defaults().shelf.bone_rest_mm
    if 0 < bones.rest < keep * TENTHS:
        raise refuse(
            "cutting.too-short",
            f"{lot.item}, {lot}",
            f"A rest of {bones.rest / TENTHS:g} mm is shorter than the {keep} mm that are kept.",
            "Leave it empty: it is waste.",
        )
    lengths = [*bones.lengths, *([bones.rest] if bones.rest else [])]
    posting = cut_to_length(Act(key=key, by=user), lot=lot, lengths=lengths, form=BoneForm.CUT, count=bones.count)
    made = [move.lot for move in posting.movements.filter(quantity__gt=0).select_related("lot").order_by("pk")]
    owners = list(_owners(bones))
    for part, length in zip(made, bones.lengths, strict=False):
        for job, count in Counter(_next(owners, length) for _ in range(bones.count)).items():
            act = Act(key=uuid5(key, f"{part.pk} {job}"), by=user)
            ledger.issue(act, lot=part, quantity=count, job=job, takes_reserved=True)


def _owners(bones: Bones) -> Iterator[tuple[str, int]]:
    """Whose each piece is, job and length; the last of a length stands for what is cut beyond the plan."""
    for job, length, count in bones.shares:
        yield from [(job, length)] * count


def _next(owners: list[tuple[str, int]], length: int) -> str:
    """The job that the next piece of a length is for."""
    place = next(place for place, (_, of) in enumerate(owners) if of == length)
    job, _ = owners[place]
    if sum(of == length for _, of in owners) > 1:
        owners.pop(place)
    return job


def _need_no_more(kept: Kept, doing: Doing, lots: Mapping[int, Lot]) -> None:
    """Keep nothing more for a job of what it took and of which nothing was missing, but spares of bones that are set as
    they are.
    """
    as_they_are: Counter[tuple[str, str, str, int]] = Counter()
    for want in kept.wanted:
        if not want.is_cut:
            as_they_are[want.job, want.material, want.form, want.size] += want.count
    took = {(taken.job, lots[taken.lot].item.material.code) for taken in doing.taken if taken.amount}
    took |= {
        (job, lots[bones.lot].item.material.code) for bones in doing.bones if bones.count for job, *_ in bones.shares
    }
    cut = {
        (want.job, want.material, want.form, want.size)
        for want in kept.wanted
        if want.material in doing.whole and (want.job, want.material) in took
    }
    for source in sorted(cut):
        for line in kept.lines[source]:
            spare = max(0, line.quantity - as_they_are[source]) if as_they_are[source] else 0
            line.refresh_from_db()
            need_only(line, line.issued + spare)
