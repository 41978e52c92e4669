"""From lines as drawn to a trued pattern: edges told apart, the right way round, every fault named at once.

Each panel goes its own way as far as it can (outline, corners, cut line moved in, marks); then the panels decide
together which way round they were drawn, and their seams are trued. Whatever stands in the way is collected, so that
one look at a file gives the whole list.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from inventory.ground.findings import Finding, Refused, stop, stops
from quotes.pattern.believable import MEASURED_UNITS, MM_PER_UNIT, waist_faults
from quotes.pattern.cutline import EdgeAllowances, stitching_from_cut
from quotes.pattern.drawing import Drawing, DrawnPanel, Reading, ReadOptions
from quotes.pattern.edges import edges_of, joined_edges
from quotes.pattern.geometry import Point, Polyline, turned
from quotes.pattern.halves import both_halves, drawn_twice
from quotes.pattern.marks import marked_panel
from quotes.pattern.numbering import number_faults
from quotes.pattern.outline import clean_ring, coordinate_faults, cut_line_faults, outline_faults, unit_faults
from quotes.pattern.panels import Panel, Pattern
from quotes.pattern.seam_fit import ToldPanel, right_way_round
from quotes.pattern.truing import truing_findings
from quotes.pattern.upright import askew_deg, tilt_fault, turned_panel

__all__ = ["assemble"]

WIDEST_ALLOWANCE_MM = 100.0


@dataclass(slots=True, kw_only=True)
class _Found:
    """The panels that could be told, and everything that was noticed on the way."""

    told: list[ToldPanel] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    boxes: list[tuple[float, float]] = field(default_factory=list)


def assemble(drawing: Drawing, options: ReadOptions) -> Reading:
    """Return the pattern that a drawing shows.

    Raises:
        Refused: with every stop that could be found; pattern-file rules for outlines, numbers, corners and seams.
    """
    allowance = options.seam_allowance_mm if options.seam_allowance_mm is not None else drawing.seam_allowance_mm
    by_edge = options.edge_allowances or _even(allowance)
    unnamed = by_edge
    if by_edge is not None and options.centre_front == "right":
        # What is told apart first as the front edge of an unnamed piece is the back edge of one that was drawn mirrored.
        unnamed = replace(by_edge, front_mm=by_edge.back_mm, back_mm=by_edge.front_mm)
    faults = [*number_faults(drawing.panels), *_allowance_faults(drawing.panels, allowance, by_edge)]
    found = _Found()
    picked = _picked(drawing.panels, options)
    for index, drawn in enumerate(drawing.panels):
        _tell(found, drawn, by_edge, unnamed, picked.get(index))
    other_units = unit_faults(found.boxes, units_told=options.units is not None)
    if stops(other_units):
        # A wrong unit says more than all that follows from it.
        raise Refused((*drawing.findings, *faults, *other_units))
    faults += [*other_units, *found.findings]
    ease = drawing.ease | options.ease
    if stops(faults):
        raise Refused((*drawing.findings, *faults, *_seam_stops_so_far(found.told, options.centre_front, ease)))
    if drawn_twice(found.told):
        left, right, laid_findings = both_halves(found.told)
    else:
        (left, laid_findings), right = right_way_round(found.told, options.centre_front, ease), None
    pattern = Pattern(
        name=drawing.name,
        panels=left,
        right_panels=right,
        ease=ease,
        seam_allowance_mm=allowance,
        reduction_mm=drawing.reduction_mm,
        gap_mm=drawing.gap_mm,
        estimating_only=drawing.estimating_only,
    )
    # Seams of pieces that may lie the wrong way round say nothing.
    trued = () if stops(laid_findings) else truing_findings(pattern)
    sizes = waist_faults(
        pattern.closed_waist_mm,
        drawing.mm_per_unit,
        panels_per_half=pattern.panels_per_half,
        units=MM_PER_UNIT if all(panel.edges is None for panel in drawing.panels) else MEASURED_UNITS,
        units_told=options.units is not None,
    )
    if stops(sizes):
        raise Refused((*drawing.findings, *sizes))
    findings = (*drawing.findings, *faults, *laid_findings, *sizes, *_unknown_ease(pattern), *trued)
    if stops(findings):
        raise Refused(findings)
    return Reading(pattern=pattern, findings=findings)


def _seam_stops_so_far(
    told: Sequence[ToldPanel], centre_front: str | None, ease: frozenset[int]
) -> tuple[Finding, ...]:
    """What the seams between those neighbours say that could be told, while other panels have faults of their own."""
    if drawn_twice(told):
        return ()
    panels, findings = right_way_round(told, centre_front, ease)
    if stops(findings):
        return ()
    runs: list[list[Panel]] = []
    for panel in panels:
        if runs and panel.number == runs[-1][-1].number + 1:
            runs[-1].append(panel)
        else:
            runs.append([panel])
    patterns = (Pattern(name="", panels=tuple(run), ease=ease) for run in runs)
    return tuple(finding for pattern in patterns for finding in stops(truing_findings(pattern)))


def _even(allowance: float | None) -> EdgeAllowances | None:
    if allowance is None:
        return None
    return EdgeAllowances(front_mm=allowance, back_mm=allowance, top_mm=allowance, bottom_mm=allowance)


def _are_usual(allowances: EdgeAllowances) -> bool:
    return all(0 <= allowance <= WIDEST_ALLOWANCE_MM for allowance in allowances.around_mm)


def _tell(
    found: _Found,
    drawn: DrawnPanel,
    by_edge: EdgeAllowances | None,
    unnamed: EdgeAllowances | None,
    picked: Sequence[Point] | None,
) -> None:
    """Tell one panel's edges and marks, or note why that cannot be done.

    Allowances are `by_edge` where the edges are named, else `unnamed`.
    """
    ring, faults = _ring_of(drawn)
    if len(ring) >= 3:
        xs, ys = zip(*ring, strict=True)
        found.boxes.append((max(xs) - min(xs), max(ys) - min(ys)))
    found.findings += faults
    if stops(faults):
        return
    askew = askew_deg(drawn, ring)
    if askew:
        drawn, ring = turned_panel(drawn, askew), turned(ring, askew)
        picked = None if picked is None else turned(picked, askew)
    told = edges_of(drawn, ring, picked)
    if isinstance(told, Finding):
        found.findings.append(told)
        return
    tilted = tilt_fault(drawn, told)
    if tilted is not None:
        found.findings.append(tilted)
        return
    edges = told.edges
    if drawn.edges is None and not drawn.stitching:
        allowances = by_edge if told.named else unnamed
        if allowances is None or not _are_usual(allowances):
            return
        inside = stitching_from_cut(edges, allowances)
        if inside is None:
            found.findings.append(
                stop(
                    "pattern.nothing-inside-allowance",
                    drawn.where,
                    "Nothing is left to sew inside the cut line: the panel is narrower somewhere than "
                    f"{_widths(allowances)} mm on either side.",
                    "Check the allowance and the units.",
                )
            )
            return
        edges = inside
    panel, mark_findings = marked_panel(drawn, edges, told.placement, named=told.named, lying=told.lying)
    found.findings += mark_findings
    if not stops(mark_findings):
        found.told.append(panel)


def _ring_of(drawn: DrawnPanel) -> tuple[Polyline, list[Finding]]:
    """The line that stands for the panel (stitching line, else cut line), and what is wrong with it."""
    if drawn.edges is not None:
        joined, faults = joined_edges(drawn)
    else:
        joined, faults = drawn.stitching or drawn.cut or (), []
    faults = faults or coordinate_faults(joined, drawn.where)
    if faults:
        return (), faults
    ring = clean_ring(joined)
    faults = outline_faults(ring, drawn.where)
    if drawn.stitching and drawn.cut and not faults:
        faults = cut_line_faults(drawn.cut, ring, drawn.where)
    return ring, faults


def _widths(allowances: EdgeAllowances) -> str:
    """Those of front and back, once where they are alike."""
    return " and ".join(dict.fromkeys(f"{allowance:g}" for allowance in (allowances.front_mm, allowances.back_mm)))


def _allowance_faults(
    panels: Sequence[DrawnPanel], allowance: float | None, by_edge: EdgeAllowances | None
) -> list[Finding]:
    said = [] if allowance is None else [allowance]
    unusual = [
        each for each in (*said, *(by_edge.around_mm if by_edge else ())) if not 0 <= each <= WIDEST_ALLOWANCE_MM
    ]
    if unusual:
        return [
            stop(
                "pattern.seam-allowance",
                "seam allowance",
                f"A seam allowance of {unusual[0]:g} mm is outside 0 to {WIDEST_ALLOWANCE_MM:g} mm.",
                "Give it in millimetres; 12.7 (1/2 in) is usual.",
            )
        ]
    if by_edge is None:
        return [
            stop(
                "pattern.cut-line-without-allowance",
                panel.where,
                "Only a cut line is drawn, and the file says no seam allowance.",
                "Say it with --seam-allowance MM, or draw the stitching line.",
            )
            for panel in panels
            if panel.edges is None and not panel.stitching and panel.cut
        ]
    return []


def _picked(panels: Sequence[DrawnPanel], options: ReadOptions) -> dict[int, tuple[Point, Point, Point, Point]]:
    """Corners that the maker picked, by position of the drawn panel: of two with one number, the one they lie on."""
    picked = {}
    for number, corners in options.corners.items():
        drawn = [index for index, panel in enumerate(panels) if panel.number == number and panel.edges is None]
        drawn = [index for index in drawn if panels[index].stitching or panels[index].cut]
        if drawn:
            picked[min(drawn, key=partial(_distance_mm, panels, corners))] = corners
    return picked


def _distance_mm(panels: Sequence[DrawnPanel], corners: Sequence[Point], index: int) -> float:
    """How far corners lie from a panel's outline, together."""
    outline = panels[index].stitching or panels[index].cut or ()
    return sum(min(math.dist(corner, point) for point in outline) for corner in corners)


def _unknown_ease(pattern: Pattern) -> list[Finding]:
    return [
        stop(
            "pattern.ease-without-seam",
            "ease",
            f"Seam {number} is marked as ease, but the pattern has seams 1 to {pattern.panels_per_half - 1}.",
            "Mark only seams that the pattern has.",
        )
        for number in sorted(pattern.ease)
        if not 1 <= number < pattern.panels_per_half
    ]
