"""Bones: a channel at every place that the construction names, and the bone that goes in."""

import math
from dataclasses import replace

from inventory.ground.findings import Finding, stop, warn
from inventory.ground.materials import Material, MaterialKind, StockUnit
from inventory.ground.wording import percent_text
from quotes.construction.construction import Construction, FrontKind
from quotes.pattern.panels import EdgeName, Panel, Pattern
from quotes.pattern.truing import seams
from quotes.takeoff.amounts import each, metres, rounded_up_mm, whole_up
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import defaults
from quotes.takeoff.losses import Figure, Losses
from quotes.takeoff.needed import needed
from quotes.takeoff.takeoff import BonePlace, BoneRun, MaterialLine, Reason

__all__ = ["FLAT", "SPIRAL", "bone_lines", "bone_runs", "flat_lengths_mm"]

FLAT, SPIRAL = "flat", "spiral"


def bone_runs(
    pattern: Pattern, construction: Construction, shelf: Shelf
) -> tuple[tuple[BoneRun, ...], tuple[Finding, ...]]:
    """Return the bones by place, and what is doubtful about their lengths.

    A bone is `shorter_by_mm` shorter than its channel; a flat then steps down to a length that is sold, a spiral is
    cut from coil. Source: published tutorials (a bone about 25 to 30 mm shorter than its channel).
    """
    runs: list[BoneRun] = []
    findings: list[Finding] = []
    for channel in _channels(pattern, construction):
        where, kind = channel.where, channel.kind
        ideal = round(channel.channel_mm - construction.bones.shorter_by_mm, 2)
        length = ideal
        if kind == FLAT:
            stepped = _stepped_down(ideal, flat_lengths_mm(shelf.others.get(MaterialKind.FLAT)))
            if stepped is None:
                findings.append(
                    stop(
                        "takeoff.bone-too-short",
                        where,
                        f"A flat bone of {ideal:.0f} mm is shorter than any that is sold.",
                        "Take a spiral there, which is cut from coil.",
                    )
                )
                continue
            length = stepped
            findings += _shortness(where, ideal, length)
        elif ideal <= 0:
            findings.append(
                stop("takeoff.bone-too-short", where, f"A channel of {channel.channel_mm:.0f} mm holds no bone.")
            )
            continue
        runs.append(replace(channel, ideal_mm=ideal, length_mm=length))
    return tuple(runs), tuple(findings)


def bone_lines(runs: tuple[BoneRun, ...], shelf: Shelf, losses: Losses) -> list[MaterialLine]:
    """Return the shopping lines of the bones: spirals by length, tips by count, flats by length and count."""
    lines = []
    spirals = [run for run in runs if run.kind == SPIRAL]
    if spirals:
        lines += _spiral_lines(spirals, shelf, losses)
    flats = [run for run in runs if run.kind == FLAT]
    if flats:
        lines += _flat_lines(flats, shelf, losses.flat_spoilage_share)
    return lines


def flat_lengths_mm(material: Material | None) -> tuple[float, ...]:
    """Return the lengths in which a flat is sold: the material's own, else every half inch."""
    if material is not None and material.lengths_mm:
        return material.lengths_mm
    assumed = defaults()
    count = round((assumed.flat_longest_mm - assumed.flat_shortest_mm) / assumed.flat_step_mm)
    return tuple(round(assumed.flat_shortest_mm + step * assumed.flat_step_mm, 2) for step in range(count + 1))


def _channels(pattern: Pattern, construction: Construction) -> list[BoneRun]:
    """Each place with its kind of bone, the length of its channel and how many there are; bones as long as channels."""
    bones, channels = construction.bones, construction.channels
    left, right = pattern.halves
    found: list[BoneRun] = []

    def both(
        place: BonePlace, where: str, kind: str, sides_mm: tuple[float, float], *, per_half: int, number: int = 0
    ) -> None:
        def run(where: str, channel_mm: float, count: int) -> BoneRun:
            return BoneRun(
                where=where,
                kind=kind,
                channel_mm=channel_mm,
                ideal_mm=channel_mm,
                length_mm=channel_mm,
                count=count,
                place=place,
                number=number,
            )

        left_mm, right_mm = sides_mm
        if not per_half:
            return
        if math.isclose(left_mm, right_mm, abs_tol=0.005):
            found.append(run(where, left_mm, 2 * per_half))
        else:
            found.append(run(f"{where} left", left_mm, per_half))
            found.append(run(f"{where} right", right_mm, per_half))

    for seam, other in zip(seams(left), seams(right), strict=True):
        both(
            BonePlace.SEAM,
            f"seam {seam.number}",
            bones.seam_kind,
            (seam.mean_mm, other.mean_mm),
            per_half=channels.bones_per_seam,
            number=seam.number,
        )
    for number in channels.mid_panel:
        if number <= len(left):
            both(
                BonePlace.MID_PANEL,
                f"mid-panel {number}",
                bones.mid_panel_kind,
                (_middle_mm(left[number - 1]), _middle_mm(right[number - 1])),
                per_half=1,
                number=number,
            )
    backs = (left[-1].edge_mm(EdgeName.BACK), right[-1].edge_mm(EdgeName.BACK))
    both(BonePlace.CENTRE_BACK, "centre back", bones.back_kind, backs, per_half=2)
    if construction.front is not FrontKind.CLOSED:
        beside = "beside zip" if construction.front is FrontKind.ZIP else "beside busk"
        fronts = (left[0].edge_mm(EdgeName.FRONT), right[0].edge_mm(EdgeName.FRONT))
        both(BonePlace.BESIDE_FRONT, beside, bones.busk_kind, fronts, per_half=bones.at_busk)
    return found


def _middle_mm(panel: Panel) -> float:
    return (panel.edge_mm(EdgeName.FRONT) + panel.edge_mm(EdgeName.BACK)) / 2


def _stepped_down(ideal_mm: float, lengths_mm: tuple[float, ...]) -> float | None:
    fitting = [length for length in lengths_mm if length <= ideal_mm]
    return max(fitting) if fitting else None


def _shortness(where: str, ideal: float, length: float) -> list[Finding]:
    short = ideal - length
    if short <= defaults().shortness_free_mm:
        return []
    far = short > defaults().shortness_most_mm
    return [
        warn(
            "takeoff.bone-short",
            where,
            f"The nearest flat that is sold, {length:g} mm, is {short:.0f} mm shorter than ideal ({ideal:.0f} mm).",
            "Cut it from coil, file and tip the ends." if far else "That is usual; cut from coil if it must reach.",
        )
    ]


def _spiral_lines(spirals: list[BoneRun], shelf: Shelf, losses: Losses) -> list[MaterialLine]:
    cutting, crimping = losses.spiral_cutting_share, losses.tip_spoilage_share
    total = math.fsum(run.length_mm * run.count for run in spirals)
    count = sum(run.count for run in spirals)
    coil, tip = shelf.material(MaterialKind.SPIRAL), shelf.material(MaterialKind.TIP)
    spoilt = whole_up(2 * count * crimping.value)
    with_waste = total * (1 + cutting.value)
    return [
        MaterialLine(
            code="spiral",
            needed=needed("spiral"),
            kind=MaterialKind.SPIRAL,
            what="Spiral steel from coil",
            material=coil.code,
            quantity=metres(with_waste),
            unit=StockUnit.METRE,
            buy_quantity=metres(rounded_up_mm(with_waste, coil.step_mm)),
            reason=Reason(
                counted=", ".join(f"{run.count} × {run.length_mm:.0f} {run.where}" for run in spirals),
                formula=f"Σ length × count = {total:.0f} mm",
                waste=f"{percent_text(cutting.value)} for cutting",
                rounding=f"up to the next {coil.step_mm:g} mm",
                source=cutting.source,
            ),
        ),
        MaterialLine(
            code="tip",
            needed=needed("tip"),
            kind=MaterialKind.TIP,
            what="Bone tips",
            material=tip.code,
            quantity=each(2 * count + spoilt),
            unit=StockUnit.EACH,
            buy_quantity=each(whole_up((2 * count + spoilt) / tip.pack) * tip.pack),
            reason=Reason(
                counted=f"2 for each of {count} cut bones",
                formula=f"2 × {count} = {2 * count}",
                waste=f"{percent_text(crimping.value)} spoilt in crimping: {spoilt}",
                rounding=f"packs of {tip.pack}" if tip.pack > 1 else "",
                source=crimping.source,
            ),
        ),
    ]


def _flat_lines(flats: list[BoneRun], shelf: Shelf, setting: Figure) -> list[MaterialLine]:
    """A line a length. What is spoilt is counted from the longest down: a long flat can be cut down, a short one not."""
    flat, lines = shelf.material(MaterialKind.FLAT), []
    reckoned, spares = 0, 0
    for length in sorted({run.length_mm for run in flats}, reverse=True):
        runs = [run for run in flats if run.length_mm == length]
        count = sum(run.count for run in runs)
        reckoned += count
        spoilt = whole_up(reckoned * setting.value) - spares
        spares += spoilt
        lines.append(
            MaterialLine(
                code=f"flat.{length:g}",
                needed=needed("flat"),
                size_mm=length,
                kind=MaterialKind.FLAT,
                what=f"Flat steel {length:g} mm",
                material=flat.code,
                quantity=each(count + spoilt),
                unit=StockUnit.EACH,
                buy_quantity=each(whole_up((count + spoilt) / flat.pack) * flat.pack),
                reason=Reason(
                    counted=", ".join(f"{run.count} {run.where}" for run in runs),
                    formula=f"{count} in all",
                    waste=f"{percent_text(setting.value)} spoilt in setting, the longest first: {spoilt}"
                    if setting.value
                    else "",
                    rounding=f"packs of {flat.pack}" if flat.pack > 1 else "",
                    source=setting.source,
                ),
            )
        )
    return lines[::-1]
