"""What delivered pieces used of their materials, against what their quotes reckoned with.

What the ledger says, and nothing else, is known: what was issued to a job, what came back, what was scrapped under it
with its cause. What was cut or set again because the fit or the client asked for it, or because the goods were faulty,
is not how a workroom uses material, as work that was done again does not count among its minutes.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Count, Sum

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import MaterialKind
from inventory.models import Movement, Posting, StockMaterial
from quotes.labour.learning import MaterialUse, PiecesSpoilt
from quotes.needs.reserving import ready_quantity
from quotes.seal.sealed import SealedTakeoff
from quotes.takeoff.defaults import defaults
from quotes.takeoff.losses import SUBJECTS
from studio.learning.proposals import Dated, taken_values, value_at
from studio.models import Job, JointShare, LearntChange, TimeEntry

__all__ = ["MaterialsSeen", "materials_seen"]

Kind = Posting.Kind
SPOILT_IN_THE_WORK = ("", TimeEntry.Cause.OWN_SLIP.value)
"""Causes of scrap that a spoilage share speaks of; the empty one is the usual loss."""
MM_PER_M = 1000
_SUBJECT_OF_LINE = {family: subject for subject in SUBJECTS.values() for family in subject.families}


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialsSeen:
    """Uses as the defaults would have quoted them and pieces spoilt, by the names of losses, oldest jobs first."""

    uses: tuple[MaterialUse, ...]
    counts: tuple[PiecesSpoilt, ...]


@dataclass(slots=True)
class _Taken:
    """What a job took of a material, in base units."""

    issued: int = 0
    returned: int = 0
    spoilt: int = 0

    @property
    def used(self) -> int:
        return self.issued - self.returned


@dataclass(frozen=True, slots=True, kw_only=True)
class _Delivered:
    """A job's takeoff as it was sealed; `planned` by loss and material, in the line's unit.

    `in_other_forms` are bones of which some were planned in another form than the material's own.
    """

    reference: str
    day: date
    sealed_at: datetime | None
    takeoff: SealedTakeoff
    planned: dict[str, dict[str, Decimal]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(Decimal)))
    in_other_forms: set[str] = field(default_factory=set)


def materials_seen() -> MaterialsSeen:
    """Return what all delivered jobs tell.

    A material of which nothing was issued tells nothing, nor does one whose quantity the maker set against the takeoff,
    nor do bones in another form than their material's own, nor their material where such took their place, nor cloth that
    was cut in one lay with that of other jobs.
    """
    taken_by_job, learnt = _taken_by_jobs(), taken_values(LearntChange.Kind.LOSS)
    stood_in, laid_with_others = _in_another_form(), _laid_with_others()
    materials = {material.code: material for material in StockMaterial.objects.all()}
    uses, counts = [], []
    for job in _delivered(materials):
        for name, planned in job.planned.items():
            amounts = {
                code: (quantity, taken_by_job[job.reference, code])
                for code, quantity in planned.items()
                if taken_by_job[job.reference, code].issued
                and code in materials
                and (job.reference, code) not in laid_with_others
                and not ((job.reference, code) in stood_in and code not in job.in_other_forms)
            }
            if not amounts:
                continue
            if SUBJECTS[name].is_counted:
                counts += _pieces(job, name, amounts, learnt.get(name, ()))
            else:
                uses += _lengths(job, name, amounts, learnt.get(name, ()), materials)
    return MaterialsSeen(uses=tuple(uses), counts=tuple(counts))


def _delivered(materials: Mapping[str, StockMaterial]) -> list[_Delivered]:
    """Delivered jobs in their order."""
    jobs = []
    for job in Job.objects.filter(stage=Job.Stage.DELIVERED).select_related("revision").order_by("delivered_on", "pk"):
        assert job.delivered_on is not None
        takeoff = job.option.takeoff
        delivered = _Delivered(
            reference=job.reference, day=job.delivered_on, sealed_at=job.revision.sent_at, takeoff=takeoff
        )
        own = {line.material for line in takeoff.lines if line.overruled is not None}
        for line in takeoff.lines:
            subject = _SUBJECT_OF_LINE.get(line.needed.family)
            is_own_form = not line.form or (
                line.material in materials and BoneForm(line.form) is materials[line.material].bone_form
            )
            if not is_own_form:
                delivered.in_other_forms.add(line.material)
            if subject is not None and is_own_form and line.material not in own:
                delivered.planned[subject.name][line.material] += line.quantity
        jobs.append(delivered)
    return jobs


def _taken_by_jobs() -> Mapping[tuple[str, str], _Taken]:
    """What each job took, by its reference and the material's code."""
    movements = (
        Movement.objects.filter(
            posting__job__gt="", posting__kind__in=(Kind.ISSUE, Kind.RETURN, Kind.SCRAP), item__form=""
        )
        .values_list("posting__job", "item__material__code", "posting__kind", "posting__cause")
        .annotate(quantity=Sum("quantity"))
        .order_by()
    )
    taken_by_job: dict[tuple[str, str], _Taken] = defaultdict(_Taken)
    for job, material, kind, cause, quantity in movements:
        amounts = taken_by_job[job, material]
        if kind == Kind.ISSUE:
            amounts.issued -= quantity
        elif kind == Kind.RETURN:
            amounts.returned += quantity
        elif cause in SPOILT_IN_THE_WORK:
            amounts.spoilt -= quantity
    return taken_by_job


def _in_another_form() -> set[tuple[str, str]]:
    """Jobs, with the bones that they took in another form than the material's own, such as rests from the drawer."""
    issued = Movement.objects.filter(posting__job__gt="", posting__kind=Kind.ISSUE).exclude(item__form="")
    return set(issued.values_list("posting__job", "item__material__code").distinct())


def _laid_with_others() -> set[tuple[str, str]]:
    """Jobs, with the cloths of which they took a share of a lay of several: it tells nothing of a lay of their own."""
    several = JointShare.objects.values("lay").annotate(count=Count("pk")).filter(count__gt=1)
    shares = JointShare.objects.filter(lay__in=several.values("lay"), lay__booked_at__isnull=False)
    return set(shares.values_list("job__reference", "lay__item__material__code"))


def _lengths(
    job: _Delivered,
    name: str,
    amounts: Mapping[str, tuple[Decimal, _Taken]],
    learnt: Dated,
    materials: Mapping[str, StockMaterial],
) -> list[MaterialUse]:
    """What was used where so much was reckoned, were it reckoned by the default; scrap comes on top and is left out.

    Where what is left stays at the bench, whole spools of which nothing came back tell no use: what was reckoned counts.
    """
    subject = SUBJECTS[name]
    then = subject.times(value_at(learnt, job.sealed_at, subject.default)) / subject.times(subject.default)
    beside = _beside(job, name)
    planned = {
        code: ready_quantity(quantity, materials[code].unit, materials[code]) for code, (quantity, _) in amounts.items()
    }
    used = sum(
        planned[code] if subject.stays_at_bench and _is_on_spools(taken, planned[code], materials[code]) else taken.used
        for code, (_, taken) in amounts.items()
    )
    quoted = (sum(planned.values()) - beside) / then
    if quoted <= 0 or used <= beside:
        return []
    return [
        MaterialUse(
            job=job.reference, day=job.day, kind=name, quoted=quoted / MM_PER_M, used=(used - beside) / MM_PER_M
        )
    ]


def _is_on_spools(taken: _Taken, planned: int, material: StockMaterial) -> bool:
    """Whether it was issued on whole spools, or as it is bought where nobody said what a spool holds, and none came back."""
    spool, step = int(Decimal(material.facts.get("spool") or 0) * MM_PER_M), material.step_mm
    if taken.returned:
        return False
    return taken.issued % spool == 0 if spool else taken.issued == -(-planned // step) * step


def _pieces(
    job: _Delivered, name: str, amounts: Mapping[str, tuple[Decimal, _Taken]], learnt: Dated
) -> list[PiecesSpoilt]:
    """What was used beyond the need and was not wanted for a test piece.

    Where just what was planned was issued, nothing came back and nothing was scrapped, nobody told how much of it was
    spoilt: as many count as were reckoned with. Where less than the need was issued, the rest came from elsewhere, and
    nothing is known.
    """
    needed, beside = _NEEDED[name](job.takeoff), _beside(job, name)
    planned = sum(int(quantity) for quantity, _ in amounts.values())
    issued, returned, scrapped = (
        sum(getattr(taken, part) for _, taken in amounts.values()) for part in ("issued", "returned", "spoilt")
    )
    used = issued - returned + scrapped
    if needed < 1 or used < needed:
        return []
    is_assumed = (issued, returned, scrapped) == (planned, 0, 0)
    share = value_at(learnt, job.sealed_at, SUBJECTS[name].default)
    spoilt = needed * share if is_assumed else max(0, used - needed - beside)
    return [
        PiecesSpoilt(job=job.reference, day=job.day, kind=name, needed=needed, spoilt=spoilt, is_assumed=is_assumed)
    ]


def _beside(job: _Delivered, name: str) -> int:
    return _BESIDE[name](job.takeoff) if name in _BESIDE else 0


def _ready_flats(takeoff: SealedTakeoff) -> int:
    """Flats that are set as they were bought."""
    flats = (run for run in takeoff.bones if run.kind == MaterialKind.FLAT and run.drawer_form is BoneForm.TIPPED)
    return sum(run.count for run in flats)


def _other_thread_mm(takeoff: SealedTakeoff) -> int:
    assumed = defaults()
    return round(assumed.hand_thread_mm + (assumed.toile_thread_mm if takeoff.choices.toile else 0))


_NEEDED: Mapping[str, Callable[[SealedTakeoff], int]] = {
    "grommet_spoilage_share": lambda takeoff: takeoff.grommets.sets,
    "tip_spoilage_share": lambda takeoff: sum(run.tips * run.count for run in takeoff.bones),
    "flat_spoilage_share": _ready_flats,
}
"""Pieces in the garment of a sealed takeoff, for each loss that is counted."""

_BESIDE: Mapping[str, Callable[[SealedTakeoff], int]] = {
    "grommet_spoilage_share": lambda _: defaults().grommet_tests,
    "thread_waste_share": _other_thread_mm,
}
"""What lines hold beside that in which a loss counts, in base units: sets for a test piece; thread for toile and hand."""
