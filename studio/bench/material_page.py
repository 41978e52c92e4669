"""What a job is cut from: pieces with their labels, bones, materials planned and taken, lot by lot."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.materials import MaterialKind
from inventory.ground.measures import quantity_text
from inventory.ground.units import LengthUnit, format_length
from inventory.models import Lot, ReservationLine, StockMaterial
from inventory.reserving.availability import Lack, lacks_of_work
from inventory.reserving.page import MissingRow, missing_rows
from inventory.reserving.stand_in_page import stand_in_rows
from inventory.reserving.stand_ins import stand_ins_of
from quotes.documents.bones import bone_words
from quotes.needs.on_the_shelf import hourly_cost, lack_there
from quotes.seal.sealed import SealedOption
from quotes.takeoff.takeoff import Piece
from studio.bench.job_materials import held, planned_lines
from studio.cutting.wanted import CUT_KINDS
from studio.models import Job

__all__ = [
    "STEEL",
    "BoneRow",
    "HeldRow",
    "MaterialsPage",
    "MissingLine",
    "PlannedRow",
    "bone_rows",
    "closures",
    "cutting_list",
    "length_unit",
    "materials_page",
]

STEEL = ("spiral", "flat")
"""Kinds whose cut ends fly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneRow:
    """Like bones at one place."""

    where: str
    kind: str
    length: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRow:
    """A material that is kept for the job; `lot` where it is kept from one."""

    line: ReservationLine
    planned: str
    issued: str
    left: str
    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldRow:
    """What the job took of a lot."""

    lot: Lot
    issued: str
    returned: str
    spoiled: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingLine:
    """What is short, and the line of the plan that it is short of."""

    row: MissingRow
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialsPage:
    """All of it. `is_kept` where the shelf still keeps something for the job, `can_cut` where some of that is on the cut
    list, `can_lay` where cloth of it is not cut yet."""

    pieces: list[tuple[str, list[Piece]]]
    bones: list[BoneRow]
    closures: list[str]
    missing: list[MissingLine]
    planned: list[PlannedRow]
    held: list[HeldRow]
    is_kept: bool
    can_cut: bool
    can_lay: bool


def materials_page(job: Job, *, on: date) -> MaterialsPage:
    """Return a job's materials as they stand on a day."""
    option = job.option
    short = lacks_of_work([job.reference], on=on).get(job.reference)
    planned = planned_lines(job)
    return MaterialsPage(
        pieces=cutting_list(option),
        bones=bone_rows(job),
        closures=closures(job),
        missing=_missing(job, short or [], planned, on=on),
        planned=[_planned(line) for line in planned],
        held=[
            HeldRow(
                lot=taken.lot,
                issued=_quantity(taken.issued, taken.lot),
                returned=_quantity(taken.returned, taken.lot),
                spoiled=_quantity(taken.spoiled, taken.lot),
            )
            for taken in held(job)
        ],
        is_kept=short is not None,
        can_cut=any(line.remaining and line.item.material.kind in CUT_KINDS for line in planned),
        can_lay=any(
            line.remaining and not line.issued and line.item.material.kind == MaterialKind.CLOTH for line in planned
        ),
    )


def _missing(job: Job, short: Sequence[Lack], planned: Sequence[ReservationLine], *, on: date) -> list[MissingLine]:
    """Lacks with what would do in their place; each is short of one line, as an item stands once for an operation."""
    lines = {(line.item_id, line.operation): line.pk for line in planned}
    offers = stand_ins_of(
        [lack_there(lack, job.option) for lack in short],
        hourly=hourly_cost(job.revision.snapshot.rates),
        currency=job.currency.code,
        on=on,
    )
    rows = missing_rows(short, [stand_in_rows(offered, currency=job.currency.code) for offered in offers])
    return [
        MissingLine(row=row, line=lines[lack.wish.item.pk, lack.wish.operation])
        for lack, row in zip(short, rows, strict=True)
    ]


def cutting_list(option: SealedOption) -> list[tuple[str, list[Piece]]]:
    """Return the pieces of each layer under its title with its cloth, by their labels."""
    cloths = {cloth.role: cloth.material for cloth in option.takeoff.cloths}
    names = dict(StockMaterial.objects.filter(code__in=cloths.values()).values_list("code", "name"))
    layers: dict[str, list[Piece]] = defaultdict(list)
    for piece in option.takeoff.pieces:
        material = cloths.get(piece.cloth, "")
        cloth = names.get(material, material)
        layers[f"{piece.layer.capitalize()}: {cloth}" if cloth else piece.layer.capitalize()].append(piece)
    return list(layers.items())


def bone_rows(job: Job) -> list[BoneRow]:
    """Return the bones with the lengths that they are cut to."""
    unit = length_unit(job)
    return [
        BoneRow(
            where=run.where,
            kind=bone_words(run, unit),
            length=format_length(run.length_mm, unit),
            count=run.count,
        )
        for run in job.option.takeoff.bones
    ]


def closures(job: Job) -> list[str]:
    """Return front and back in words, with their counts."""
    front, grommets = job.option.takeoff.front, job.option.takeoff.grommets
    size = f", {format_length(front.length_mm, length_unit(job))}" if front.length_mm else ""
    loops = f", {front.loops} loops" if front.loops else ""
    back = f"Back: {2 * grommets.per_side} grommets, {grommets.per_side} a side"
    return [f"Front: {front.kind.value}{size}{loops}", back if grommets.per_side else "Back: no lacing"]


def length_unit(job: Job) -> LengthUnit:
    """The one that the quote was made in."""
    return LengthUnit(job.revision.snapshot.letterhead.length_unit)


def _planned(line: ReservationLine) -> PlannedRow:
    unit = line.item.unit
    return PlannedRow(
        line=line,
        planned=quantity_text(line.quantity, unit) if line.quantity else "no more",
        issued=_issued(line),
        left=quantity_text(line.remaining, unit) if line.remaining else "",
        lot=str(line.lot or ""),
    )


def _issued(line: ReservationLine) -> str:
    """How much of the plan: what was issued beyond it stands with the lots that it was taken from."""
    if not line.issued:
        return ""
    return quantity_text(line.issued, line.item.unit) if line.remaining else "all"


def _quantity(quantity: int, lot: Lot) -> str:
    return quantity_text(quantity, lot.item.unit) if quantity else ""
