"""Toile, interfacing and the small things that are forgotten: needle, labels, parcel, flossing silk."""

import math

from inventory.ground.materials import Material, MaterialKind, StockUnit
from quotes.construction.construction import Choices, Construction
from quotes.pattern.panels import EdgeName, Pattern
from quotes.takeoff.amounts import each, metres, rounded_up_mm, whole_up
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import default_source, defaults
from quotes.takeoff.losses import Figure, with_use
from quotes.takeoff.needed import needed
from quotes.takeoff.pieces import cut_areas_mm2, drawn_areas_mm2
from quotes.takeoff.takeoff import BonePlace, BoneRun, ClothNeed, MaterialLine, Reason

__all__ = ["flossed_ends", "fusible_need", "small_lines", "toile_need"]


def toile_need(
    pattern: Pattern, construction: Construction, shelf: Shelf, use: Figure, *, tallest_mm: float
) -> tuple[ClothNeed, MaterialLine]:
    """Return the toile's cloth: one layer of every panel, by the quick length."""
    material, assumed = shelf.material(MaterialKind.TOILE_CLOTH), defaults()
    count = sum(len(half) for half in pattern.halves)
    area, drawn = (
        math.fsum(sum(areas(half, pattern, construction.allowances)) for half in pattern.halves)
        for areas in (cut_areas_mm2, drawn_areas_mm2)
    )
    width = material.usable_width_mm
    by_area = area / (width * assumed.fill_share_plain)
    length = max(tallest_mm + assumed.lay_end_mm, by_area)
    used = length * use.value / (1 - material.shrinkage_share)
    need = _need("toile", material, count, area, length, rounded_up_mm(used, material.step_mm))
    return need, MaterialLine(
        code="toile",
        needed=needed("toile"),
        kind=MaterialKind.TOILE_CLOTH,
        what="Cloth for the toile",
        material=material.code,
        quantity=metres(used),
        unit=StockUnit.METRE,
        buy_quantity=metres(need.buy_mm),
        reason=with_use(
            Reason(
                counted=f"{count} pieces of {drawn / 1e6:.3f} m² together, the tallest {tallest_mm:.0f} mm",
                formula=f"max({tallest_mm:.0f} + {assumed.lay_end_mm:g}, {area / 1e6:.3f} m² without corners ÷ ({width:.0f} mm × "
                f"{assumed.fill_share_plain:g})) = {length:.0f} mm",
                rounding=f"up to the next {material.step_mm:g} mm",
                source=default_source("fill_share_plain"),
            ),
            use,
        ),
    )


def fusible_need(
    pattern: Pattern, choices: Choices, shelf: Shelf, use: Figure, *, back_mm: float
) -> tuple[ClothNeed, MaterialLine]:
    """Return the fusible: strips down centre front and back of both halves, and a modesty panel's stiffener."""
    material, assumed = shelf.material(MaterialKind.FUSIBLE), defaults()
    heights = [half[0].edge_mm(EdgeName.FRONT) for half in pattern.halves]
    heights += [half[-1].edge_mm(EdgeName.BACK) for half in pattern.halves]
    area = assumed.interfacing_strip_mm * math.fsum(heights)
    counted = (
        f"{len(heights)} strips {assumed.interfacing_strip_mm:g} mm wide, {math.fsum(heights):.0f} mm long together"
    )
    count = len(heights)
    if choices.modesty_panel:
        stiffener = assumed.modesty_width_mm * max(back_mm - assumed.modesty_shorter_mm, 0.0)
        area, count = area + stiffener, count + 1
        counted += f", and a stiffener {assumed.modesty_width_mm:g} mm wide for the modesty panel"
    length = area / material.usable_width_mm
    used = length * use.value
    need = _need("fusible", material, count, area, length, rounded_up_mm(max(used, *heights), material.step_mm))
    return need, MaterialLine(
        code="fusible",
        needed=needed("fusible"),
        kind=MaterialKind.FUSIBLE,
        what="Fusible interfacing",
        material=material.code,
        quantity=metres(used),
        unit=StockUnit.METRE,
        buy_quantity=metres(need.buy_mm),
        reason=with_use(
            Reason(
                counted=counted,
                formula=f"{area / 1e6:.3f} m² ÷ {material.usable_width_mm:.0f} mm = {length:.0f} mm",
                rounding=f"a length that holds the longest strip, up to the next {material.step_mm:g} mm",
                source=default_source("interfacing_strip_mm"),
            ),
            use,
        ),
    )


def small_lines(runs: tuple[BoneRun, ...], choices: Choices, shelf: Shelf) -> list[MaterialLine]:
    """Return needle, labels, parcel, and silk where bone ends are flossed."""
    lines = [
        _one(MaterialKind.NEEDLE, "Machine needle", "a new one for each garment", shelf, source="from memory"),
        _one(MaterialKind.LABEL, "Labels", "one set: maker, size, care", shelf, source="common practice"),
        _one(MaterialKind.PARCEL, "Parcel", "one", shelf, source="common practice"),
    ]
    if choices.flossing:
        ends = flossed_ends(runs)
        length = ends * defaults().floss_end_mm
        silk = shelf.material(MaterialKind.FLOSS)
        lines.append(
            MaterialLine(
                code="floss",
                needed=needed("floss"),
                kind=MaterialKind.FLOSS,
                what="Flossing silk",
                material=silk.code,
                quantity=metres(length),
                unit=StockUnit.METRE,
                buy_quantity=metres(rounded_up_mm(length, silk.step_mm)),
                reason=Reason(
                    counted=f"both ends of {ends // 2} seam bones",
                    formula=f"{ends} × {defaults().floss_end_mm / 1000:g} m",
                    rounding=f"up to the next {silk.step_mm / 1000:g} m",
                    source=default_source("floss_end_mm"),
                ),
            )
        )
    return lines


def flossed_ends(runs: tuple[BoneRun, ...]) -> int:
    """Return how many bone ends are flossed: both ends of every bone on a seam."""
    return 2 * sum(run.count for run in runs if run.place is BonePlace.SEAM)


def _need(role: str, material: Material, pieces: int, area: float, length: float, buy: float) -> ClothNeed:
    return ClothNeed(
        role=role,
        material=material.code,
        pieces=pieces,
        area_mm2=area,
        usable_width_mm=material.usable_width_mm,
        lay_mm=length,
        utilisation_share=min(1.0, area / (length * material.usable_width_mm)),
        buy_mm=buy,
    )


def _one(kind: MaterialKind, what: str, counted: str, shelf: Shelf, *, source: str) -> MaterialLine:
    material = shelf.material(kind)
    return MaterialLine(
        code=kind.value,
        needed=needed(kind.value),
        kind=kind,
        what=what,
        material=material.code,
        quantity=each(1),
        unit=material.unit,
        buy_quantity=each(whole_up(1 / material.pack) * material.pack),
        reason=Reason(
            counted=counted, rounding=f"packs of {material.pack}" if material.pack > 1 else "", source=source
        ),
    )
