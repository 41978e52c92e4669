"""The shopping lines of the bones: what comes off the coil by length, tips by count, pieces by form, length and count."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import KINDS, MaterialKind, StockUnit
from inventory.ground.wording import percent_text
from quotes.takeoff.amounts import each, metres, rounded_up_mm, whole_up
from quotes.takeoff.bone_candidates import coil_for, forms_of
from quotes.takeoff.bone_plan import BonePlan, Drawn
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.losses import Figure, Losses
from quotes.takeoff.needed import needed
from quotes.takeoff.takeoff import BoneRun, MaterialLine, Reason

__all__ = ["bone_lines"]


def bone_lines(plan: BonePlan, shelf: Shelf, losses: Losses) -> list[MaterialLine]:
    """Return the lines of a plan's bones and of their tips."""
    lines: list[MaterialLine] = []
    for kind in dict.fromkeys(run.kind for run in plan.bones):
        coiled = [run for run in plan.bones if run.kind == kind and run.drawer_form is BoneForm.COIL]
        lines += _coil_lines(MaterialKind(kind), coiled, shelf, losses.spiral_cutting_share)
    tipped = [run for run in plan.bones if run.tips]
    if tipped:
        lines.append(_tip_line(tipped, shelf, losses.tip_spoilage_share))
    for kind in dict.fromkeys(piece.kind for piece in plan.pieces):
        lines += _piece_lines([piece for piece in plan.pieces if piece.kind is kind], plan.bones, shelf, losses)
    return lines


def _coil_lines(kind: MaterialKind, runs: Sequence[BoneRun], shelf: Shelf, cutting: Figure) -> Iterator[MaterialLine]:
    """A line a coil: each bone comes off the cheapest that is long enough for it."""
    by_coil: dict[float, list[BoneRun]] = defaultdict(list)
    forms = forms_of(shelf.material(kind))
    for run in runs:
        coil = coil_for(forms, run.ideal_mm)
        assert coil is not None
        by_coil[coil.length_mm or 0.0].append(run)
    for number, (length_mm, of_coil) in enumerate(sorted(by_coil.items())):
        line = _coil_line(kind, of_coil, shelf, cutting)
        if number:
            line = replace(line, code=f"{line.code}.{length_mm:g}", what=f"{line.what} of {length_mm:g} mm")
        yield replace(line, size_mm=length_mm)


def _coil_line(kind: MaterialKind, runs: Sequence[BoneRun], shelf: Shelf, cutting: Figure) -> MaterialLine:
    coil = shelf.material(kind)
    is_spiral = kind is MaterialKind.SPIRAL
    total = math.fsum(run.length_mm * run.count for run in runs)
    with_waste = total * (1 + cutting.value)
    return MaterialLine(
        code=kind.value if KINDS[kind].form is BoneForm.COIL else f"{kind.value}.coil",
        needed=needed("spiral" if is_spiral else "bone-coil"),
        kind=kind,
        what=f"{KINDS[kind].label} from coil",
        material=coil.code,
        quantity=metres(with_waste),
        unit=StockUnit.METRE,
        buy_quantity=metres(rounded_up_mm(with_waste, coil.step_mm)),
        form=runs[0].form,
        reason=Reason(
            counted=", ".join(f"{run.count} × {run.length_mm:.0f} {run.where}" for run in runs),
            formula=f"Σ length × count = {total:.0f} mm",
            waste=f"{percent_text(cutting.value)} for cutting",
            rounding=f"up to the next {coil.step_mm:g} mm",
            source=cutting.source,
        ),
    )


def _tip_line(runs: Sequence[BoneRun], shelf: Shelf, crimping: Figure) -> MaterialLine:
    tip, count = shelf.material(MaterialKind.TIP), sum(run.count for run in runs)
    ends = sum(run.tips * run.count for run in runs)
    spoilt = whole_up(ends * crimping.value)
    return MaterialLine(
        code="tip",
        needed=needed("tip"),
        kind=MaterialKind.TIP,
        what="Bone tips",
        material=tip.code,
        quantity=each(ends + spoilt),
        unit=StockUnit.EACH,
        buy_quantity=each(whole_up((ends + spoilt) / tip.pack) * tip.pack),
        reason=Reason(
            counted=f"2 for each of {count} cut bones",
            formula=f"2 × {count} = {ends}",
            waste=f"{percent_text(crimping.value)} spoilt in crimping: {spoilt}",
            rounding=f"packs of {tip.pack}" if tip.pack > 1 else "",
            source=crimping.source,
        ),
    )


def _piece_lines(pieces: Sequence[Drawn], bones: Sequence[BoneRun], shelf: Shelf, losses: Losses) -> list[MaterialLine]:
    """A line a form and length. What is spoilt of flats is counted from the longest down: a long one can be cut down."""
    material, lines = shelf.material(pieces[0].kind), []
    is_flat = material.kind is MaterialKind.FLAT
    setting = losses.flat_spoilage_share
    reckoned, spares = 0, 0
    for piece in sorted(pieces, key=lambda piece: (-piece.length_mm, piece.form)):
        reckoned += piece.count
        spoilt = whole_up(reckoned * setting.value) - spares if is_flat else 0
        spares += spoilt
        is_usual = not piece.form or BoneForm(piece.form) is KINDS[piece.kind].form
        form = "" if is_usual else f", {BoneForm(piece.form).words}"
        lines.append(
            MaterialLine(
                code=f"{piece.kind.value}.{'' if is_usual else f'{piece.form}.'}{piece.length_mm:g}",
                needed=needed("flat" if is_flat and is_usual else "bone"),
                size_mm=piece.length_mm,
                form=piece.form,
                kind=piece.kind,
                what=f"{KINDS[piece.kind].label} {piece.length_mm:g} mm{form}",
                material=material.code,
                quantity=each(piece.count + spoilt),
                unit=StockUnit.EACH,
                buy_quantity=each(whole_up((piece.count + spoilt) / material.pack) * material.pack),
                reason=Reason(
                    counted=", ".join(_counted(run) for run in bones if _is_of(run, piece)),
                    formula=f"{piece.count} in all",
                    waste=_spoilt_text(setting, spoilt) if is_flat and setting.value else _rests_text(piece),
                    rounding=f"packs of {material.pack}" if material.pack > 1 else "",
                    source=setting.source if is_flat else "the bone plan",
                ),
            )
        )
    return lines[::-1]


def _spoilt_text(setting: Figure, spoilt: int) -> str:
    return f"{percent_text(setting.value)} spoilt in setting, the longest first: {spoilt}"


def _rests_text(piece: Drawn) -> str:
    """What is left of pieces that are cut, and goes back: their line counts them whole."""
    rests = Counter(round(rest) for rest in piece.rests_mm)
    words = ", ".join(f"{count} of {rest} mm" for rest, count in sorted(rests.items()))
    return f"rests go back into the drawer: {words}" if words else ""


def _is_of(run: BoneRun, piece: Drawn) -> bool:
    length = run.cut_from_mm or run.length_mm
    return (run.kind, run.form, length) == (piece.kind, piece.form, piece.length_mm)


def _counted(run: BoneRun) -> str:
    cut = f" cut to {run.length_mm:.0f} mm" if run.cut_from_mm else ""
    return f"{run.count} {run.where}{cut}"
