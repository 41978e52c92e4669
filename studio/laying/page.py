"""Joint lays in words: what each takes, pays and saves; which remnants are used; what was cut."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.measures import quantity_text
from inventory.ground.units import LengthUnit, format_length
from inventory.ground.wording import minor_text
from inventory.models import Lot, StockItem
from inventory.reserving.free_lots import free_lots
from inventory.shelf.settings import shelf
from quotes.desk.kept_lays import may_be_shorter
from quotes.drawings.lay import lay_drawing
from quotes.lay.joint import RemnantUse
from quotes.lay.lay_plan import Effort
from quotes.lay.sharing import shared
from quotes.workroom.settings import workroom
from studio.bench.job_making import findings_of
from studio.bench.stages import ORDER
from studio.laying.kept import KEPT_LAY, KeptLay
from studio.laying.wanting import ClothWanted
from studio.models import Job, JointLay, JointSearch, JointShare

__all__ = [
    "BOOKED_RULE",
    "RULE",
    "ClothRow",
    "LayPage",
    "LayRow",
    "PartDrawing",
    "ShareRow",
    "cloth_rows",
    "lay_page",
    "lay_rows",
]

Stage = Job.Stage
_WAITING = JointSearch.State.WAITING
RULE = (
    "Each pays what its own lay would cost, less a part of the saving in proportion to that: the shares add up to the cost "
    "of this lay to the cent, and none is more than it would be alone."
)
BOOKED_RULE = (
    "Each was issued its part of all that was cut, in proportion to what its own lay would take, at what that cloth cost in "
    "the books."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClothRow:
    """A cloth and the jobs that want it."""

    item: StockItem
    jobs: list[Job]
    wanted: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LayRow:
    """A lay that is drawn; `saves` is empty where it saves nothing."""

    lay: JointLay
    jobs: str
    takes: str
    saves: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareRow:
    """What a job takes and would take alone, and what that costs; the costs are empty where nothing is known of them."""

    job: Job
    alone: str
    takes: str
    alone_cost: str
    pays: str
    saves: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartDrawing:
    """A lay that is cut at once, by its number."""

    number: int
    title: str
    length: str
    svg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LayPage:
    """All of a drawn lay. `facts` are sentences, `alarms` what should be settled before it is cut; `why_not` says why it
    cannot be booked, where that can be mended. `shorter` is the number of a lay that takes less and was drawn since this one,
    which can still be cut from.
    """

    facts: list[str]
    remnants: list[str]
    shares: list[ShareRow]
    has_costs: bool
    total: ShareRow | None
    parts: list[PartDrawing]
    roll_mm: int
    alarms: list[str]
    can_be_booked: bool
    why_not: str
    can_be_longer: bool
    is_searched: bool
    shorter: int | None


def cloth_rows(cloths: Sequence[ClothWanted]) -> list[ClothRow]:
    """Return the cloths that are wanted, those first that most jobs want."""
    rows = [
        ClothRow(
            item=cloth.item,
            jobs=[wants.job for wants in cloth.jobs],
            wanted=quantity_text(sum(line.remaining for wants in cloth.jobs for line in wants.lines), cloth.item.unit),
        )
        for cloth in cloths
    ]
    return sorted(rows, key=lambda row: -len(row.jobs))


def lay_rows(lays: Iterable[JointLay]) -> list[LayRow]:
    """Return lays that were drawn, with their shares loaded."""
    rows = []
    for lay in lays:
        shares = list(lay.shares.all())
        takes, alone = sum(share.takes_mm for share in shares), sum(share.alone_mm for share in shares)
        unit = lay.item.unit
        rows.append(
            LayRow(
                lay=lay,
                jobs=", ".join(share.job.reference for share in shares),
                takes=quantity_text(takes, unit),
                saves=quantity_text(alone - takes, unit) if alone > takes else "",
            )
        )
    return rows


def lay_page(row: JointLay, *, on: date) -> LayPage:
    """Return a drawn lay in words as it stands on a day; lengths of drawings in the workroom's unit."""
    kept = KEPT_LAY.read(row.document)
    unit, currency = LengthUnit(workroom().length_unit), shelf().currency
    lots = Lot.objects.in_bulk(kept.remnants)
    names = [str(lots[pk]) for pk in kept.remnants]
    shares = list(row.shares.select_related("job__client", "job__revision__quote"))
    alone_minor = {share.job.reference: row.item.worth_minor(share.alone_mm, currency) for share in shares}
    joint_minor = row.item.worth_minor(sum(share.takes_mm for share in shares), currency)
    # Cents of several lengths may be rounded down where those of their sum are not.
    joint_minor = min(joint_minor, sum(alone_minor.values()))
    pays = {share.whose: share.pays for share in shared(joint_minor, alone_minor)} if any(alone_minor.values()) else {}
    is_open = row.booked_at is None and all(share.job.is_open for share in shares)
    why_not = _too_short(row, kept.roll_mm, list(alone_minor)) if is_open else ""
    return LayPage(
        facts=_facts(row, kept, unit),
        remnants=[
            _remnant_words(row, kept, use, lots[kept.remnants[use.which]])
            for taken in kept.taken
            for use in taken.remnants
        ],
        shares=[_share(share, row, pays, alone_minor, currency) for share in shares],
        has_costs=bool(pays) or row.booked_at is not None,
        total=_total(row, shares, pays, alone_minor, currency),
        parts=[
            PartDrawing(
                number=number,
                title=" and ".join(part.whose),
                length=format_length(part.plan.length, unit),
                svg=lay_drawing(part.plan, marked=kept.marked, unit=unit, problem=part.problem, remnants=names),
            )
            for number, part in enumerate(kept.joint.parts)
        ],
        roll_mm=kept.roll_mm,
        alarms=_alarms([share.job for share in shares], on=on) if is_open else [],
        can_be_booked=is_open and not why_not,
        why_not=why_not if is_open else "",
        can_be_longer=is_open and _may_be_shorter(row, kept),
        is_searched=row.search is not None and row.search.state == _WAITING,
        shorter=_drawn_since(row) if is_open else None,
    )


def _drawn_since(row: JointLay) -> int | None:
    """The number of the last lay that was drawn for the same search later, which takes less."""
    return row.search.drawn.filter(pk__gt=row.pk).values_list("pk", flat=True).last() if row.search else None


def _may_be_shorter(row: JointLay, kept: KeptLay) -> bool:
    """Whether a longer search may find a lay that takes less, and none was made."""
    if row.search is None or row.search.state == _WAITING:
        return False
    if row.search.effort == Effort.THOROUGH and not any(part.plan.ended_early for part in kept.joint.parts):
        return False
    return any(may_be_shorter(part.problem, part.plan, Effort.THOROUGH) for part in kept.joint.parts)


def _alarms(jobs: Sequence[Job], *, on: date) -> list[str]:
    """What should be settled before cloth of jobs is cut that have not come to cutting, a line a job."""
    early = [job for job in jobs if Stage(job.stage) in ORDER[: ORDER.index(Stage.CUTTING)]]
    found = findings_of(early, on=on)
    return [f"{job.reference}: {' '.join(row.message for row in found[job.pk])}" for job in early if found[job.pk]]


def _too_short(row: JointLay, roll_mm: int, references: Sequence[str]) -> str:
    """Why its roll cannot give what a lay takes; empty where it can."""
    if not roll_mm:
        return ""
    if row.lot is None:
        return "No roll of this cloth lay there when it was drawn. Draw it again once one does, to say what was cut."
    free = {found.lot.pk: found.free for found in free_lots([row.item_id], beside=references)}.get(row.lot.pk, 0)
    if free >= roll_mm:
        return ""
    return f"Of {row.lot} only {quantity_text(free, row.item.unit)} are free. Draw it again from a longer roll to say what was cut."


def _facts(row: JointLay, kept: KeptLay, unit: LengthUnit) -> list[str]:
    stock_unit, joint = row.item.unit, kept.joint
    roll = f"{quantity_text(kept.roll_mm, stock_unit)} of the roll" + (f", {row.lot}" if row.lot else "")
    wide = format_length(joint.parts[0].problem.width, unit)
    facts = [
        f"It takes {roll}, {wide} wide." if kept.roll_mm else "It takes nothing of the roll: all lies on remnants."
    ]
    alone = quantity_text(sum(joint.alone_mm.values()), stock_unit)
    if joint.saves_mm:
        saved = quantity_text(joint.saves_mm, stock_unit)
        apart = (
            f"cut apart they would take {alone}"
            if len(joint.alone_mm) > 1
            else f"without remnants it would take {alone}"
        )
        facts.append(f"This saves {saved}: {apart}.")
    elif len(joint.alone_mm) > 1:
        facts.append(f"Together the pieces take no less than apart, {alone}.")
    if not kept.is_together:
        facts.append("So each is cut from its own lay, one after another.")
    if kept.remnants and not any(taken.remnants for taken in kept.taken):
        facts.append("No remnant is used: what it would save of the roll is worth less than it is.")
    if kept.matching_mm is not None:
        matching = quantity_text(round(kept.matching_mm), stock_unit) if round(kept.matching_mm) else "nothing"
        facts.append(f"Matching the repeat takes {matching} of that.")
    if any(part.plan.ended_early for part in joint.parts):
        facts.append("Its search ended early, so that a longer one may well find less.")
    if kept.off_grain_deg:
        facts.append(f"Linings may lie up to {kept.off_grain_deg:g}° off the grain.")
    return facts


def _remnant_words(row: JointLay, kept: KeptLay, use: RemnantUse, lot: Lot) -> str:
    used = quantity_text(use.takes_mm, row.item.unit)
    width = round(kept.joint.parts[0].problem.remnants[use.which].width)
    back = f"{width} × {use.rest_mm} mm go back" if use.rest_mm else "nothing of it is left to keep"
    return f"{lot}, {lot.remnant_size}: used up as {used} of the roll; {back}."


def _share(share: JointShare, row: JointLay, pays: dict[str, int], alone: dict[str, int], currency: str) -> ShareRow:
    unit, name = row.item.unit, share.job.reference
    is_booked = share.paid_minor is not None
    paid = share.paid_minor if share.paid_minor is not None else pays.get(name)
    return ShareRow(
        job=share.job,
        alone=quantity_text(share.alone_mm, unit),
        takes=quantity_text(share.takes_mm, unit) if share.takes_mm else "nothing",
        alone_cost=minor_text(alone[name], currency) if pays and not is_booked else "",
        pays=minor_text(paid, currency) if paid is not None else "",
        saves=minor_text(alone[name] - pays[name], currency) if pays and not is_booked else "",
    )


def _total(
    row: JointLay, shares: Sequence[JointShare], pays: dict[str, int], alone: dict[str, int], currency: str
) -> ShareRow | None:
    if len(shares) < 2:
        return None
    whole = JointShare(
        job=Job(reference=""),
        alone_mm=sum(share.alone_mm for share in shares),
        takes_mm=sum(share.takes_mm for share in shares),
        paid_minor=sum(share.paid_minor or 0 for share in shares) if row.booked_at else None,
    )
    return _share(whole, row, {"": sum(pays.values())} if pays else {}, {"": sum(alone.values())}, currency)
