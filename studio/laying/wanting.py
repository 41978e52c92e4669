"""Which open jobs want which cloth, of which nothing was cut for them yet; and how their pieces lie on it."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.ground.findings import refuse
from inventory.ground.materials import Material, MaterialKind
from inventory.models import ReservationLine, StockItem
from inventory.reserving.reservations import firm_lines
from quotes.construction.construction import Choices
from quotes.construction.construction_json import read_construction
from quotes.lay.lay_plan import LayProblem
from quotes.needs.reserving import ready_quantity
from quotes.pattern.pattern_json import pattern_from
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.cut_pieces import CutPiece, cut_pieces_of
from quotes.takeoff.take_off import lay_problems
from studio.models import Job

__all__ = ["ClothWanted", "JobPieces", "JobWants", "cloths_wanted", "pieces_of"]

LINING = ("lining",)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobWants:
    """A job and the cloth that is kept for it.

    Attributes:
        roles: what it is cut for.
        quoted_mm: the length that was quoted for it: of its lay, or the quick length.
        bias_mm: what of it the binding takes, which is cut apart.
    """

    job: Job
    lines: tuple[ReservationLine, ...]
    roles: tuple[str, ...]
    quoted_mm: float
    bias_mm: int

    @property
    def is_lining(self) -> bool:
        """Whether this cloth is nothing but its lining."""
        return self.roles == LINING

    @property
    def needs_one_lot(self) -> bool:
        """Whether it shows, so that all of it is of one lot."""
        return any(line.needs_one_lot for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClothWanted:
    """A cloth and the jobs that want it, in the order of work."""

    item: StockItem
    jobs: tuple[JobWants, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPieces:
    """The pieces of a job on one cloth as a lay, and with their marks by their labels."""

    problem: LayProblem
    marked: dict[str, CutPiece]


def cloths_wanted(item: int | None = None) -> list[ClothWanted]:
    """Return the cloths that open jobs want and of which nothing went out to them yet, in two queries.

    Args:
        item: the one that is asked for; None for all.
    """
    jobs = {job.reference: job for job in Job.objects.open().select_related("client", "revision__quote")}
    lines = firm_lines().filter(reservation__reference__in=jobs, item__material__kind=MaterialKind.CLOTH.value)
    if item is not None:
        lines = lines.filter(item=item)
    kept: dict[StockItem, dict[str, list[ReservationLine]]] = defaultdict(lambda: defaultdict(list))
    for line in lines.select_related("item__material", "lot", "reservation").order_by("item__code", "pk"):
        kept[line.item][line.reservation.reference].append(line)
    found = []
    for of, by_job in kept.items():
        wants = [_wants(jobs[name], by_job[name]) for name in jobs if name in by_job]
        found.append(ClothWanted(item=of, jobs=tuple(each for each in wants if each.roles and not _is_begun(each))))
    return [cloth for cloth in found if cloth.jobs]


def _is_begun(wants: JobWants) -> bool:
    return any(line.issued for line in wants.lines)


def _wants(job: Job, lines: Sequence[ReservationLine]) -> JobWants:
    item = lines[0].item
    takeoff = job.option.takeoff
    cut_for = {piece.cloth for piece in takeoff.pieces}
    cloths = [row for row in takeoff.cloths if row.material == item.material.code and row.role in cut_for]
    bias = sum(
        (line.quantity for line in takeoff.lines if line.code == "bias" and line.material == item.material.code),
        Decimal(0),
    ).quantize(Decimal("0.001"))
    return JobWants(
        job=job,
        lines=tuple(lines),
        roles=tuple(row.role for row in cloths),
        quoted_mm=sum(row.lay_mm for row in cloths),
        bias_mm=ready_quantity(bias, item.unit, item.material),
    )


def pieces_of(wants: JobWants, cloth: Material) -> JobPieces:
    """Return how the pieces of a job lie on a cloth, as its quote sealed them: its pattern, construction and choices.

    Raises:
        Refused: pieces that are not those of its cutting list.
    """
    job, takeoff = wants.job, wants.job.option.takeoff
    pattern = pattern_from(job.revision.snapshot.pattern)
    construction = read_construction(job.revision.snapshot.constructions[job.revision.accepted_option])
    # Only what is cut from this cloth matters: the others are told apart by their roles, and wide enough.
    other = replace(cloth, code="", usable_width_mm=math.inf)
    cloths = {role: cloth if role in wants.roles else other for role in construction.roles}
    choices = Choices(modesty_panel=takeoff.choices.modesty_panel)
    problem = lay_problems(pattern, construction, choices, Shelf(cloths=cloths))[cloth.code]
    listed = {piece.label for piece in takeoff.pieces if piece.cloth in wants.roles}
    if listed != {piece.label for piece in problem.pieces if piece.copies == 1}:
        raise refuse(
            "laying.other-pieces",
            job.reference,
            f"The pieces of {job.reference} are not those of its cutting list any more.",
            "Cut it by its own papers.",
        )
    marks = cut_pieces_of(pattern, construction)
    return JobPieces(problem=problem, marked={label: marks[label] for label in listed})
