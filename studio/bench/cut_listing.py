"""What jobs still want cut, held against what lies there: the cut list of one job, or of several together."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import BONES
from inventory.ground.measures import quantity_text
from inventory.models import Lot, ReservationLine, StockItem, StockMaterial
from inventory.reserving.free_lots import FreeLot, free_lots
from studio.cutting.cut_list import Lying, MaterialCuts, Rules, Totals, totals
from studio.cutting.doing import Doing, doing_of, one_after_another, planned
from studio.cutting.wanted import CUT_KINDS, TENTHS, Wanted, wanted_of
from studio.defaults import studio_defaults
from studio.models import Job

__all__ = ["CutList", "Kept", "cut_list_of", "kept_for"]

_HUNDREDTH = Decimal("0.01")
_Source = tuple[str, str, str, int]
"""A job, and the material, form and length that something is planned to be made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What jobs want cut of what is kept for them.

    Attributes:
        lines: what is kept for it, by job and by what it is planned to be made of.
        lost_share: by material, what quotes reckon beyond the pieces that come off coils and rolls, as a share of them;
            0 where the maker set a quantity.
        notes: sentences about what is not on the list.
    """

    wanted: tuple[Wanted, ...]
    lines: Mapping[_Source, Sequence[ReservationLine]]
    lost_share: Mapping[str, Decimal]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """A cut list with the rows of the shelf that it names.

    Attributes:
        jobs: those of which something is to be cut.
        lots: by their keys; `materials` by their codes.
        kept_elsewhere: the materials of which other accepted work keeps something that lies there.
        apart: what it comes to when the jobs are cut one after another.
    """

    jobs: tuple[Job, ...]
    wanted: tuple[Wanted, ...]
    lists: tuple[MaterialCuts, ...]
    lots: Mapping[int, Lot]
    materials: Mapping[str, StockMaterial]
    kept_elsewhere: frozenset[str]
    notes: tuple[str, ...]
    apart: Totals

    @property
    def doing(self) -> Doing:
        """What it comes to at the shelf."""
        return doing_of(self.lists)

    @property
    def together(self) -> Totals:
        """What it comes to."""
        return totals(self.lists)


def cut_list_of(jobs: Sequence[Job]) -> CutList:
    """Return what jobs want cut and how, of what other accepted work leaves free, in five queries.

    Raises:
        Refused: no plan was found in the time given.
    """
    kept = kept_for(jobs)
    items = {
        item.pk: item
        for item in StockItem.objects.filter(
            material__code__in={want.material for want in kept.wanted}, material__kind__in=CUT_KINDS
        ).select_related("material")
    }
    free = free_lots(items, beside=[job.reference for job in jobs])
    lying, rules = _lying(free, items), _rules(items, kept.lost_share)
    lists = planned(kept.wanted, lying, rules)
    wanting = {want.job for want in kept.wanted}
    return CutList(
        jobs=tuple(job for job in jobs if job.reference in wanting),
        wanted=kept.wanted,
        lists=lists,
        lots={row.lot.pk: row.lot for row in free},
        materials={item.material.code: item.material for item in items.values()},
        kept_elsewhere=frozenset(row.lot.item.material.code for row in free if row.free < row.lot.on_hand),
        notes=kept.notes,
        apart=one_after_another(kept.wanted, lying, rules) if len(wanting) > 1 else totals(lists),
    )


def kept_for(jobs: Sequence[Job]) -> Kept:
    """Return what jobs want cut: what is kept for them and of which nothing was issued yet, in one query."""
    lines: dict[_Source, list[ReservationLine]] = defaultdict(list)
    found = ReservationLine.objects.filter(
        reservation__reference__in=[job.reference for job in jobs], item__material__kind__in=CUT_KINDS
    )
    for line in found.select_related("item__material", "reservation"):
        form = line.item.bone_form
        source = (line.item.material.code, form.value if form else "", line.item.size_tenths_mm)
        lines[line.reservation.reference, *source].append(line)
    wanted: list[Wanted] = []
    notes: dict[str, None] = {}
    for job in jobs:
        of_job, untold = wanted_of(job.option.takeoff, job=job.reference)
        notes |= dict.fromkeys(untold)
        for want in of_job:
            of_want = lines.get((job.reference, want.material, want.form, want.size), [])
            if not of_want:
                notes[f"{job.reference}: {want.where} is of a material that the shelf does not keep for it."] = None
            elif sum(line.issued for line in of_want):
                notes |= dict.fromkeys(_begun(line) for line in of_want if line.issued and line.remaining)
            elif any(line.remaining for line in of_want):
                wanted.append(_of_lines(want, of_want))
    overruled = {
        (job.reference, line.material)
        for job in jobs
        for line in job.option.takeoff.lines
        if line.overruled is not None
    }
    lost = _lost_shares([want for want in wanted if (want.job, want.material) not in overruled], lines)
    return Kept(wanted=tuple(wanted), lines=lines, lost_share=lost, notes=tuple(notes))


def _lost_shares(wanted: Sequence[Wanted], lines: Mapping[_Source, Sequence[ReservationLine]]) -> dict[str, Decimal]:
    """What is kept for wants that come off a coil or roll, beyond their lengths and as a share of them, by material."""
    lengths: dict[str, int] = defaultdict(int)
    sources: dict[str, set[_Source]] = defaultdict(set)
    for want in wanted:
        if not want.size:
            lengths[want.material] += want.length * want.count
            sources[want.material].add((want.job, want.material, want.form, want.size))
    quantities = {
        material: TENTHS * sum(line.quantity for source in of for line in lines[source])
        for material, of in sources.items()
    }
    return {
        material: max(Decimal(0), Decimal(quantity) / lengths[material] - 1)
        for material, quantity in quantities.items()
    }


def _begun(line: ReservationLine) -> str:
    issued, left = (quantity_text(quantity, line.item.unit) for quantity in (line.issued, line.remaining))
    return f"{line.reservation.reference}: of {line.item} {issued} went out already; issue the other {left} by hand."


def _of_lines(want: Wanted, lines: Sequence[ReservationLine]) -> Wanted:
    """A want as the shelf keeps it: whether it must be of one lot, and of which."""
    shown = [line for line in lines if line.needs_one_lot]
    return replace(want, one_lot=bool(shown), lot=next((line.lot_id for line in shown if line.lot_id), None))


def _lying(free: Sequence[FreeLot], items: Mapping[int, StockItem]) -> list[Lying]:
    weights = _weights(items)
    keep = shelf_defaults().shelf.bone_rest_mm * TENTHS
    lying = []
    for row in free:
        item = items[row.lot.item_id]
        is_roll = bool(item.kind_by_length)
        if not row.free or not (is_roll or item.size_tenths_mm):
            continue  # Of a bone without a length nothing can be said.
        lying.append(
            Lying(
                lot=row.lot.pk,
                material=item.material.code,
                form=item.bone_form.value if item.bone_form else "",
                length=row.free * TENTHS if is_roll else item.size_tenths_mm,
                count=1 if is_roll else row.free,
                is_roll=is_roll,
                weight=weights[item.pk],
                is_open=row.lot.is_open,
                is_rest=not is_roll and row.lot.from_lot_id is not None,
                keep=0 if is_roll else keep,
            )
        )
    return lying


def _weights(items: Mapping[int, StockItem]) -> dict[int, Decimal]:
    """What a length of each item is worth, as a multiple of the cheapest of its material; 1 where nothing is known."""
    worth: dict[int, Decimal] = {}
    least: dict[int, Decimal] = {}
    for item in items.values():
        length = item.on_hand * (1 if item.kind_by_length else Decimal(item.size_tenths_mm) / TENTHS)
        if length and item.value_minor:
            worth[item.pk] = Decimal(item.value_minor) / length
            least[item.material_id] = min(worth[item.pk], least.get(item.material_id, worth[item.pk]))
    return {
        pk: (worth[pk] / least[item.material_id]).quantize(_HUNDREDTH) if pk in worth else Decimal(1)
        for pk, item in items.items()
    }


def _rules(items: Mapping[int, StockItem], lost_share: Mapping[str, Decimal]) -> dict[str, Rules]:
    """By material: only bones lose something at a cut."""
    assumed = studio_defaults().cutting
    return {
        item.material.code: Rules(
            kerf=round(assumed.bone_kerf_mm * TENTHS) if item.material.kind in BONES else 0,
            rest_share=assumed.rest_share,
            opening=assumed.opening_mm * TENTHS,
            lost_share=lost_share.get(item.material.code, Decimal(0)),
        )
        for item in items.values()
    }
