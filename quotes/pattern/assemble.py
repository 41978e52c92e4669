"""From lines as drawn to a trued pattern: edges told apart, the right way round, every fault named at once."""

import math
from collections import defaultdict
from collections.abc import Sequence

from inventory.findings import Finding, Refused, note, stop, stops, warn
from quotes.pattern.drawing import Drawing, DrawnPanel, Reading, ReadOptions
from quotes.pattern.edges import edges_of, joined_edges, sewn_inside
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.marks import marked_panel
from quotes.pattern.model import Panel, Pattern
from quotes.pattern.orientation import halves_apart, mirrored_panel, misfit_mm, turned, widest_gap_mm
from quotes.pattern.outline import clean_ring, outline_faults, unit_faults
from quotes.pattern.truing import truing_findings

__all__ = ["assemble"]

MOST_PANELS, FEWEST_PANELS = 24, 2
UNEVEN_MM = 1.0
"""Halves that differ by more count each for itself."""
LYING_DEG = 30.0
"""A grain line within this of the x axis says that the piece lies on its side."""
_ALIKE_MM = 0.5
"""Two ways round whose misfits are this close fit equally well."""


def assemble(drawing: Drawing, options: ReadOptions) -> Reading:
    """Return the pattern that a drawing shows.

    Raises:
        Refused: with every stop that could be found; pattern-file rules for outlines, numbers, corners and seams.
    """
    faults = _number_faults(drawing.panels)
    rings: dict[int, Polyline] = {}
    ring_faults: list[Finding] = []
    for index, drawn in enumerate(drawing.panels):
        ring, own_faults = _ring_of(drawn)
        ring_faults += own_faults
        if len(ring) >= 3:
            rings[index] = ring
    boxes = [_box(ring) for ring in rings.values()]
    small = unit_faults([height for _, height in boxes], [width for width, _ in boxes])
    # A wrong unit says more than that each panel is too small.
    faults += small or ring_faults
    allowance = options.seam_allowance_mm if options.seam_allowance_mm is not None else drawing.seam_allowance_mm
    faults += _allowance_faults(drawing.panels, allowance)
    if stops(faults):
        raise Refused((*faults, *drawing.findings))

    candidates: list[Built] = []
    corner_faults: list[Finding] = []
    notes: list[Finding] = []
    for quarter_turns in _quarter_turns(drawing.panels):
        built, corner_faults, notes = _built(drawing.panels, rings, allowance, options, quarter_turns)
        if not corner_faults:
            candidates.append(built)
    if not candidates:
        raise Refused((*corner_faults, *drawing.findings))
    left, right, orientation_notes = _right_way_round(candidates, options)
    pattern = Pattern(
        name=drawing.name,
        panels=left,
        right_panels=right,
        ease=drawing.ease | options.ease,
        seam_allowance_mm=allowance,
        reduction_mm=drawing.reduction_mm,
        gap_mm=drawing.gap_mm,
        estimating_only=drawing.estimating_only,
    )
    findings = (*drawing.findings, *notes, *orientation_notes, *_unknown_ease(pattern), *truing_findings(pattern))
    if stops(findings):
        raise Refused(findings)
    return Reading(pattern=pattern, findings=findings)


def _number_faults(panels: Sequence[DrawnPanel]) -> list[Finding]:
    faults = [
        stop(
            "pattern.panel-without-number",
            panel.where,
            "This panel has no number.",
            "Number the panels from 1 at centre front.",
        )
        for panel in panels
        if panel.number is None
    ]
    places: dict[int, list[str]] = defaultdict(list)
    for panel in panels:
        if panel.number is not None:
            places[panel.number].append(panel.where)
    if not panels:
        return [stop("pattern.no-panels", "file", "No panel was found in the file.", "Draw at least two panels.")]
    if not places:
        return faults
    most = max(places)
    if not FEWEST_PANELS <= most <= MOST_PANELS:
        faults.append(
            stop(
                "pattern.panel-count",
                "file",
                f"The highest panel number is {most}; a half has {FEWEST_PANELS} to {MOST_PANELS} panels.",
            )
        )
    missing = [number for number in range(1, min(most, MOST_PANELS) + 1) if number not in places]
    if missing:
        faults.append(
            stop(
                "pattern.panel-missing",
                "file",
                f"Panel {', '.join(map(str, missing))} of {most} is missing.",
                "Number the panels 1 to n without a gap.",
            )
        )
    if any(number < 1 for number in places):
        faults.append(stop("pattern.panel-number", "file", "Panel numbers start at 1, at centre front."))
    counts = {len(found) for found in places.values()}
    if counts not in ({1}, {2}):
        for number, found in sorted(places.items()):
            if len(found) > 1:
                faults.append(
                    stop(
                        "pattern.panel-twice",
                        found[1],
                        f"Panel {number} is there {len(found)} times: {', '.join(found)}.",
                        "Give each panel its own number, or draw both halves whole.",
                    )
                )
    return faults


def _ring_of(drawn: DrawnPanel) -> tuple[Polyline, list[Finding]]:
    """The line that stands for the panel (stitching line, else cut line), and what is wrong with it."""
    if drawn.edges is not None:
        joined, faults = joined_edges(drawn)
        if faults:
            return (), faults
        ring = clean_ring(joined)
    else:
        ring = drawn.stitching or drawn.cut or ()
        if not all(math.isfinite(value) for point in ring for value in point):
            return (), outline_faults(ring, drawn.where)
        ring = clean_ring(ring)
    return ring, outline_faults(ring, drawn.where)


def _allowance_faults(panels: Sequence[DrawnPanel], allowance: float | None) -> list[Finding]:
    if allowance is not None and not 0 <= allowance <= 100:
        return [
            stop(
                "pattern.seam-allowance",
                "seam allowance",
                f"A seam allowance of {allowance:g} mm is outside 0 to 100 mm.",
            )
        ]
    if allowance is None:
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


def _quarter_turns(panels: Sequence[DrawnPanel]) -> tuple[int, ...]:
    """How the whole drawing may have to be turned: not at all, or to either side where its grain lies along x."""
    grains = [panel.grain for panel in panels if panel.grain is not None]
    lying = [grain for grain in grains if _lean_deg(grain) < LYING_DEG]
    return (1, -1) if grains and len(lying) > len(grains) / 2 else (0,)


def _lean_deg(grain: tuple[Point, Point]) -> float:
    """The angle between a grain line and the x axis, 0 to 90 degrees."""
    (x0, y0), (x1, y1) = grain
    return math.degrees(math.atan2(abs(y1 - y0), abs(x1 - x0)))


Built = list[Panel]


def _built(
    panels: Sequence[DrawnPanel],
    rings: dict[int, Polyline],
    allowance: float | None,
    options: ReadOptions,
    quarter_turns: int,
) -> tuple[Built, list[Finding], list[Finding]]:
    """Every panel with its edges as if centre front were drawn to the left, what stands in the way, and notes."""
    built, faults, notes = [], [], []
    for index, drawn in enumerate(panels):
        ring = tuple(turned(point, quarter_turns) for point in rings[index])
        edges = edges_of(drawn, ring, options, quarter_turns)
        if isinstance(edges, Finding):
            faults.append(edges)
            continue
        if drawn.edges is None and not drawn.stitching and allowance:
            edges = sewn_inside(edges, allowance)
        panel, panel_findings = marked_panel(drawn, edges, quarter_turns)
        faults += stops(panel_findings)
        notes += [finding for finding in panel_findings if finding not in stops(panel_findings)]
        built.append(panel)
    return built, faults, notes


def _right_way_round(
    candidates: Sequence[Built], options: ReadOptions
) -> tuple[tuple[Panel, ...], tuple[Panel, ...] | None, list[Finding]]:
    """The half whose seams fit best, and the other half where both were drawn and differ."""
    numbers = [panel.number for panel in candidates[0]]
    if len(set(numbers)) < len(numbers):
        halves = [halves_apart(_pairs(built)) for built in candidates]
        left, right = min(halves, key=lambda half: misfit_mm(half[0]))
        gaps = [(widest_gap_mm(a, b), a.number) for a, b in zip(left, right, strict=True)]
        uneven = [(gap, number) for gap, number in gaps if gap > UNEVEN_MM]
        if not uneven:
            return left, None, []
        words = ", ".join(f"panel {number} by {gap:.1f} mm" for gap, number in uneven)
        return (
            left,
            right,
            [
                warn(
                    "pattern.halves-differ",
                    f"panel {uneven[0][1]}",
                    f"The two halves differ: {words}. Each half counts for itself.",
                    "If the body is even, draw one half only.",
                )
            ],
        )
    ordered = [tuple(sorted(built, key=lambda panel: panel.number)) for built in candidates]
    as_drawn = min(ordered, key=misfit_mm)
    in_mirror = min((tuple(mirrored_panel(panel) for panel in built) for built in ordered), key=misfit_mm)
    if options.centre_front is not None:
        return (in_mirror if options.centre_front == "right" else as_drawn), None, []
    straight, mirrored_misfit = misfit_mm(as_drawn), misfit_mm(in_mirror)
    if mirrored_misfit < straight - _ALIKE_MM:
        return (
            in_mirror,
            None,
            [
                note(
                    "pattern.drawn-mirrored",
                    "file",
                    "The panels are drawn with centre front to the right; they were mirrored, as their seams show.",
                )
            ],
        )
    if abs(straight - mirrored_misfit) <= _ALIKE_MM and len(as_drawn) > 1:
        return (
            as_drawn,
            None,
            [
                note(
                    "pattern.centre-front-assumed",
                    "file",
                    "The seams fit either way round; centre front is taken to lie to the left.",
                    "Say --centre-front right if it lies to the right.",
                )
            ],
        )
    return as_drawn, None, []


def _pairs(built: Sequence[Panel]) -> list[tuple[Panel, Panel]]:
    by_number: dict[int, list[Panel]] = defaultdict(list)
    for panel in built:
        by_number[panel.number].append(panel)
    return [(by_number[number][0], by_number[number][1]) for number in sorted(by_number)]


def _unknown_ease(pattern: Pattern) -> list[Finding]:
    return [
        stop(
            "pattern.ease-without-seam",
            "ease",
            f"Seam {number} is marked as ease, but the pattern has seams 1 to {pattern.panels_per_half - 1}.",
        )
        for number in sorted(pattern.ease)
        if not 1 <= number < pattern.panels_per_half
    ]


def _box(ring: Polyline) -> tuple[float, float]:
    xs, ys = zip(*ring, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)
