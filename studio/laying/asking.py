"""Use case: a lay of several jobs is asked for. What is asked stands in the books as it was then; a worker draws it."""

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import Refused, refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, StockItem
from inventory.reserving.free_lots import FreeLot, free_lots
from inventory.reserving.reservations import firm_lines
from inventory.shelf.settings import shelf
from quotes.desk.kept_lays import LAY_EFFORT
from quotes.lay.fitting import width_faults
from quotes.lay.joint import GivenCloth, joint_problem, off_grain
from quotes.lay.lay_plan import Box, Effort, Remnant
from quotes.lay.nest import problem_key
from studio.laying.kept import LAY_QUESTION, LayQuestion
from studio.laying.wanting import JobWants, pieces_of
from studio.models import JointLay, JointSearch

__all__ = ["LayWishes", "ask_again", "ask_for", "kept_for_others", "must_be_kept_from", "remnants_of", "rolls_of"]

_State = JointSearch.State


@dataclass(frozen=True, slots=True, kw_only=True)
class LayWishes:
    """How the cloth is to be laid.

    Attributes:
        lot: the roll that it is cut from; None where none lies there.
        flaws: places of the roll to leave out, mm along and across it.
        off_grain_deg: how far linings may lie off the grain.
    """

    lot: Lot | None
    uses_remnants: bool = False
    flaws: tuple[Box, ...] = ()
    off_grain_deg: float = 0.0


def rolls_of(item: StockItem, jobs: Sequence[JobWants]) -> list[FreeLot]:
    """Return the ready lots of full width with what jobs may take of each, those first that are taken first.

    What is shorter than the shortest remnant that is kept is no roll.
    """
    least = shelf().remnant_length_mm
    return [row for row in free_lots([item.pk], beside=[wants.job.reference for wants in jobs]) if row.free >= least]


def remnants_of(item: StockItem, *, like: Lot | None) -> list[Lot]:
    """Return the ready remnants of a cloth, smallest first; `like` a roll where all must be of its dye."""
    lots = {lot.pk: lot for lot in Lot.objects.filter(item=item).select_related("item__material")}
    found = [lot for lot in lots.values() if lot.is_remnant and lot.on_hand and lot.state == Lot.State.READY]
    if like is not None:
        found = [lot for lot in found if _dye_of(lot, lots) == _dye_of(like, lots)]
    return sorted(found, key=lambda lot: (lot.on_hand, lot.pk))


def kept_for_others(lots: Collection[Lot], references: Collection[str]) -> set[int]:
    """Return which lots other accepted work than that of `references` is kept from."""
    others = firm_lines().filter(lot__in=lots).exclude(reservation__reference__in=references)
    return {line.lot_id for line in others if line.lot_id is not None and line.remaining}


def _dye_of(lot: Lot, lots: dict[int, Lot]) -> tuple[int | None, str] | int:
    """What tells colours of one cloth apart: the dye lot of its supplier, else the lot that it was cut from."""
    while lot.from_lot_id in lots and not lot.dye_lot:
        lot = lots[lot.from_lot_id]
    return (lot.supplier_id, lot.dye_lot) if lot.dye_lot else lot.pk


def ask_for(item: StockItem, jobs: Sequence[JobWants], wishes: LayWishes, *, user: User) -> JointSearch:
    """Ask for the lay of jobs on a cloth. The same question leads to the same search, until what was drawn for it is cut.

    Raises:
        Refused: what shows is kept from another lot, a piece that does not fit the cloth.
    """
    must_be_kept_from(wishes.lot, jobs)
    pieces = {wants.job.reference: pieces_of(wants, item.material.priced()) for wants in jobs}
    apart = {name: own.problem for name, own in pieces.items()}
    problems = {
        wants.job.reference: off_grain(apart[wants.job.reference], wishes.off_grain_deg * wants.is_lining)
        for wants in jobs
    }
    needs_one_lot = any(wants.needs_one_lot for wants in jobs)
    lots = []
    if wishes.uses_remnants and not (needs_one_lot and wishes.lot is None):
        lots = remnants_of(item, like=wishes.lot if needs_one_lot else None)
        bound = kept_for_others(lots, [wants.job.reference for wants in jobs])
        lots = [lot for lot in lots if lot.pk not in bound]
    question = LayQuestion(
        problems=problems,
        apart=apart,
        cloth=GivenCloth(remnants=tuple(_remnant(lot) for lot in lots), flaws=wishes.flaws),
        marked={f"{name} {label}": mark for name, own in pieces.items() for label, mark in own.marked.items()},
        remnants=tuple(lot.pk for lot in lots),
        off_grain_deg=wishes.off_grain_deg if any(wants.is_lining for wants in jobs) else 0.0,
    )
    joint = joint_problem(question.problems, question.cloth)
    if faults := width_faults(joint.pieces, joint.width):
        raise Refused(faults)
    return _asked(_key(question, wishes, cut_before=_cut_before(item, jobs)), item, wishes.lot, question, user)


@transaction.atomic
def _asked(key: str, item: StockItem, lot: Lot | None, question: LayQuestion, user: User) -> JointSearch:
    search, is_new = JointSearch.objects.get_or_create(
        key=key,
        defaults={
            "item": item,
            "lot": lot,
            "question": LAY_QUESTION.written(question),
            "effort": LAY_EFFORT.value,
            "asked_by": user,
        },
    )
    # A lay that was drawn before searches were kept is what is cut, and is not searched for anew.
    if is_new and JointLay.objects.filter(key=key).update(search=search):
        JointSearch.objects.filter(pk=search.pk).update(state=_State.DONE)
        search.refresh_from_db()
    elif search.state == _State.FAILED:
        ask_again(search, Effort(search.effort), user=user)
    return search


def ask_again(search: JointSearch, effort: Effort, *, user: User) -> None:
    """Have a search that is over made once more, with so much effort; what was drawn for it stands unless less will do."""
    over = JointSearch.objects.filter(pk=search.pk).exclude(state=_State.WAITING)
    over.update(state=_State.WAITING, effort=effort, attempt=0, lays={}, asked_by=user, asked_at=timezone.now())
    search.refresh_from_db()


def _key(question: LayQuestion, wishes: LayWishes, *, cut_before: Sequence[int]) -> str:
    said = [
        problem_key(joint_problem(question.problems, question.cloth), LAY_EFFORT),
        list(question.problems),
        list(question.remnants),
        wishes.lot.pk if wishes.lot else None,
        *([cut_before] if cut_before else []),
    ]
    return hashlib.sha256(repr(said).encode()).hexdigest()


def _cut_before(item: StockItem, jobs: Sequence[JobWants]) -> list[int]:
    """The lays of a cloth that were cut for these jobs and are booked: where all of it came back, another one is drawn."""
    of = {wants.job.pk for wants in jobs}
    rows = JointLay.objects.filter(item=item, booked_at__isnull=False, shares__job__in=of)
    return sorted(set(rows.values_list("pk", flat=True)))


def _remnant(lot: Lot) -> Remnant:
    """A remnant as it counts on the shelf; a rest is kept by the shelf's own rule."""
    assert lot.remnant_width_mm is not None
    assert lot.remnant_length_mm is not None
    rule = shelf()
    return Remnant(
        width=float(lot.remnant_width_mm),
        length=float(lot.remnant_length_mm),
        worth=float(lot.on_hand),
        keep_length=float(rule.remnant_length_mm) if lot.remnant_width_mm >= rule.remnant_width_mm else None,
    )


def must_be_kept_from(lot: Lot | None, jobs: Sequence[JobWants]) -> None:
    """Refuse a roll that is not the lot that what shows is kept from."""
    for wants in jobs:
        for line in wants.lines:
            if line.lot is not None and lot is not None and line.lot_id != lot.pk:
                raise refuse(
                    "laying.other-lot",
                    wants.job.reference,
                    f"{quantity_text(line.remaining, line.item.unit)} are kept for it from {line.lot}.",
                    "Lay it from that lot, or keep it from another one first.",
                )
