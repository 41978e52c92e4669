"""Which bone goes into which channel: the cheapest of what lies in the drawer and of what can be bought, proven.

All bones of an option are one problem of cutting (`inventory.cutting`), since one long bone may give two short ones and an
offcut serves once. What it weighs is money: the material, the tips, the minutes at the workroom's rate. A piece that is
cut counts whole: what is left of it goes back to the drawer, and is worth something to the next commission.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from inventory.cutting import CutProblem, Fit, Stock, Want, cut_plan
from inventory.ground.bone_forms import BoneForm, PricedForm
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused
from inventory.ground.materials import MaterialKind
from quotes.construction.construction import BoneChoice
from quotes.takeoff.bone_candidates import Candidate, candidates, forms_of
from quotes.takeoff.bone_findings import not_proven, nothing_for, runs_short, shortness
from quotes.takeoff.bone_work import BoneWork, driver_of
from quotes.takeoff.channels import chosen_at
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.losses import Losses
from quotes.takeoff.takeoff import BoneRun

__all__ = ["BonePlan", "Drawn", "plan_bones"]

HUNDREDTHS = 100
SECONDS = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """So many pieces of a kind, in a form and a length, that an option takes; `rests_mm` go back to the drawer."""

    kind: MaterialKind
    form: str
    length_mm: float
    count: int
    rests_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BonePlan:
    """The bones by channel, and the whole pieces that they are made of; what is cut from the coil is in `bones` alone.

    `is_optimal` is proven: no choice costs less. Where it could not be proven in time, a finding says how far it may be.
    """

    bones: tuple[BoneRun, ...]
    pieces: tuple[Drawn, ...] = ()
    is_optimal: bool = True
    findings: tuple[Finding, ...] = field(default_factory=tuple)


def plan_bones(
    channels: tuple[BoneRun, ...],
    shelf: Shelf,
    *,
    chosen: Mapping[str, BoneChoice],
    bench: BoneWork,
    losses: Losses,
) -> BonePlan:
    """Return the bones of an option. Findings name every channel that nothing fits, and every bone that is doubtful.

    Args:
        channels: as `bone_channels` returns them.
        chosen: what the option says of its bones; a form that is chosen is taken whatever it costs.
    """
    table = {run.where: _told(run, shelf, chosen_at(run, chosen), bench, losses) for run in channels}
    lacking = [nothing_for(run, shelf, chosen_at(run, chosen)) for run in channels if not table[run.where]]
    if lacking:
        return BonePlan(bones=(), findings=tuple(lacking))
    wanted = [replace(run, count=run.count * _stacked(run, chosen)) for run in channels]
    plan = _planned(wanted, table, bench) if _is_a_choice(wanted, table) else _simple(wanted, table)
    doubts = [finding for run in plan.bones for finding in shortness(run)]
    return replace(plan, findings=(*plan.findings, *doubts))


def _stacked(run: BoneRun, chosen: Mapping[str, BoneChoice]) -> int:
    own = chosen_at(run, chosen)
    return own.stacked if own else 1


def _told(
    run: BoneRun, shelf: Shelf, choice: BoneChoice | None, bench: BoneWork, losses: Losses
) -> tuple[Candidate, ...]:
    """What may stand in a channel. Without tips on the price list, only what needs none."""
    material = shelf.material(MaterialKind(run.kind))
    forms, run = forms_of(material), replace(run, material=material.code)
    if choice and choice.form:
        forms = tuple(form for form in forms if form.form is choice.form)
    tip = shelf.others.get(MaterialKind.TIP)
    tip_cost = tip.unit_cost * Decimal(repr(1 + losses.tip_spoilage_share.value)) if tip else Decimal(0)
    found = candidates(run, forms, is_ruled=not material.forms, bench=bench, losses=losses, tip_cost=tip_cost)
    return found if tip else tuple(row for row in found if not row.run.tips)


def _is_a_choice(wanted: list[BoneRun], table: Mapping[str, tuple[Candidate, ...]]) -> bool:
    """Whether a channel has several bones to choose from, or one that is scarce or may give two."""
    return any(
        len(table[run.where]) > 1 or table[run.where][0].form.free is not None or table[run.where][0].run.cut_from_mm
        for run in wanted
    )


def _simple(wanted: list[BoneRun], table: Mapping[str, tuple[Candidate, ...]]) -> BonePlan:
    """The plan where no channel has a choice."""
    bones = tuple(replace(table[run.where][0].run, count=run.count) for run in wanted)
    pieces: Counter[tuple[str, float, str]] = Counter()
    for bone in bones:
        if bone.drawer_form is not BoneForm.COIL:
            pieces[bone.kind, bone.cut_from_mm or bone.length_mm, bone.form] += bone.count
    return BonePlan(
        bones=bones,
        pieces=tuple(
            Drawn(kind=MaterialKind(kind), form=form, length_mm=length, count=count)
            for (kind, length, form), count in sorted(pieces.items())
        ),
    )


def _planned(wanted: list[BoneRun], table: Mapping[str, tuple[Candidate, ...]], bench: BoneWork) -> BonePlan:
    """The plan as the cutting room finds it."""
    forms: dict[str, tuple[str, PricedForm]] = {}
    for run in wanted:
        for row in table[run.where]:
            forms.setdefault(_code(run.kind, row.form), (run.kind, row.form))
    by_fit = {
        (_code(run.kind, row.form), run.where, not row.run.is_cut): row for run in wanted for row in table[run.where]
    }
    names = {stock: row.run.form for (stock, _, _), row in by_fit.items()}
    setups = bench.setups()
    problem = CutProblem(
        stocks=tuple(_stock(code, form) for code, (_, form) in sorted(forms.items())),
        wants=tuple(Want(code=run.where, length=round(run.ideal_mm * HUNDREDTHS), count=run.count) for run in wanted),
        fits=tuple(
            Fit(stock=stock, want=where, cost=_fit_cost(row), as_it_is=as_it_is, setup=_setup(row.run, bench, setups))
            for (stock, where, as_it_is), row in by_fit.items()
        ),
        setups=setups,
    )
    try:
        plan = cut_plan(problem, seconds=SECONDS)
    except Refused as refusal:
        return BonePlan(bones=(), findings=tuple(runs_short(found) for found in refusal.findings))
    counts: Counter[tuple[str, str, bool]] = Counter()
    pieces: dict[str, list[float]] = defaultdict(list)
    keep = shelf_defaults().shelf.bone_rest_mm
    drawn: Counter[str] = Counter()
    for cut in plan.cuts:
        for where, number in cut.pieces:
            counts[cut.stock, where, cut.is_as_it_is] += number * cut.times
        if forms[cut.stock][1].form is not BoneForm.COIL:
            drawn[cut.stock] += cut.times
            rest = (cut.rest or 0) / HUNDREDTHS
            if not cut.is_as_it_is and rest >= keep:
                pieces[cut.stock] += [rest] * cut.times
    bones = tuple(
        replace(row.run, count=counts[key], why=_why(row, table[run.where]))
        for run in wanted
        for key, row in by_fit.items()
        if key[1] == run.where and counts[key]
    )
    return BonePlan(
        bones=bones,
        pieces=tuple(
            Drawn(
                kind=MaterialKind(forms[code][0]),
                form=names[code],
                length_mm=forms[code][1].length_mm or 0.0,
                count=count,
                rests_mm=tuple(sorted(pieces[code])),
            )
            for code, count in sorted(drawn.items())
        ),
        is_optimal=plan.is_optimal,
        findings=() if plan.is_optimal else (not_proven(plan.cost, plan.bound),),
    )


def _code(kind: str, form: PricedForm) -> str:
    length = "" if form.length_mm is None else f" {form.length_mm:g}"
    return f"{kind} {form.form.value}{length} at {form.unit_cost}"


def _stock(code: str, form: PricedForm) -> Stock:
    if form.form is BoneForm.COIL:
        # What a coil's bone costs stands in its fit, its share that is lost in cutting in it.
        return Stock(code=code, length=None, cost=Decimal(0), is_bulk=True)
    assert form.length_mm is not None
    keep = shelf_defaults().shelf.bone_rest_mm * HUNDREDTHS
    length = round(form.length_mm * HUNDREDTHS)
    return Stock(code=code, length=length, count=form.free, cost=form.unit_cost, keep_length=keep)


def _fit_cost(row: Candidate) -> Decimal:
    return row.cost if row.form.form is BoneForm.COIL else row.work


def _setup(run: BoneRun, bench: BoneWork, setups: Mapping[str, Decimal]) -> str:
    code = bench.operation.get(driver_of(run), "")
    return code if code in setups else ""


def _why(row: Candidate, others: tuple[Candidate, ...]) -> str:
    """What the bone costs in its place, and what the next best would."""
    taken = "minutes and tips" if row.run.tips else "minutes"
    words = f"{_words(row)} comes to {row.cost:.2f}, of it {row.work:.2f} for {taken}"
    rest = [other for other in others if other is not row]
    return f"{words}; {_words(rest[0])} to {rest[0].cost:.2f}" if rest else words


def _words(row: Candidate) -> str:
    run = row.run
    if run.drawer_form is BoneForm.COIL:
        return f"{run.length_mm:.1f} mm cut from the coil"
    if run.cut_from_mm:
        return f"{run.length_mm:.1f} mm cut from one of {run.cut_from_mm:.1f} mm, {run.drawer_form.words},"
    return f"{run.length_mm:.1f} mm, {run.drawer_form.words},"
