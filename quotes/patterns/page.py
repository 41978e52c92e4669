"""A pattern's page: its panels and how its seams true."""

from dataclasses import dataclass

from inventory.ground.codec import plain
from inventory.ground.units import LengthUnit, format_length
from quotes.construction.shipped import DEFAULT, shipped
from quotes.drawings.half import half_drawing
from quotes.models import PatternRevision
from quotes.pattern.panels import EdgeName
from quotes.pattern.truing import is_off, seams
from quotes.patterns.photograph_hand_ins import PHOTOGRAPH, photographs_of_revision
from quotes.patterns.table_photographs import PhotoRow, kept_photographs
from quotes.takeoff.lacing import gap_and_reduction
from quotes.takeoff.pieces import drawn_areas_mm2

__all__ = ["PatternPage", "pattern_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamRow:
    """Both edges of a seam, the first less the second, at the waist too; mm."""

    number: int
    first: str
    second: str
    difference: str
    waist: str
    is_off: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternPage:
    """What the page shows, as text. A panel's row ends with its areas, sewn and as its cut line is drawn, in cm²."""

    name: str
    revision: int
    source: str
    estimating_only: bool
    closed_waist: str
    worn_waist: str
    body_waist: str
    drawing: str
    panels: list[list[str]]
    seams: list[SeamRow]
    findings: list[dict[str, str]]
    photographed: bool
    photographs: list[PhotoRow]


def pattern_page(revision: PatternRevision, *, unit: LengthUnit) -> PatternPage:
    """Return the page of one revision, with the photographs that were kept with it."""
    pattern, construction = revision.panels, shipped(DEFAULT)
    drawn = drawn_areas_mm2(pattern.panels, pattern, construction.allowances)
    _, _, of_fit = gap_and_reduction(pattern, None, None)
    told = {found["code"] for found in revision.findings}

    def words(length: float) -> str:
        return format_length(length, unit)

    return PatternPage(
        name=revision.pattern.name,
        revision=revision.number,
        source=revision.source_name,
        estimating_only=pattern.estimating_only,
        closed_waist=words(pattern.closed_waist_mm),
        worn_waist="" if pattern.worn_waist_mm is None else words(pattern.worn_waist_mm),
        body_waist=""
        if pattern.body_waist_mm is None or pattern.reduction_mm is None
        else f"{words(pattern.reduction_mm)} taken in from a waist of {words(pattern.body_waist_mm)}",
        drawing=half_drawing(pattern, unit=unit, construction=construction),
        panels=[
            [
                str(panel.number),
                words(panel.waist_width_mm),
                *(words(panel.edge_mm(name)) for name in EdgeName),
                f"{panel.net_area_mm2 / 100:.0f}",
                f"{area / 100:.0f}",
            ]
            for panel, area in zip(pattern.panels, drawn, strict=True)
        ],
        seams=[
            SeamRow(
                number=seam.number,
                first=f"{seam.length_mm:.1f}",
                second=f"{seam.other_length_mm:.1f}",
                difference=f"{seam.difference_mm:+.1f}",
                waist=f"{seam.waist_offset_mm:+.1f}",
                is_off=is_off(seam),
            )
            for seam in seams(pattern.panels)
        ],
        findings=[*revision.findings, *(plain(found) for found in of_fit if found.code not in told)],
        photographed=revision.source_name.startswith(PHOTOGRAPH),
        photographs=kept_photographs(photographs_of_revision(revision)),
    )
