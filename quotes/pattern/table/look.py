"""One look at the pattern table: what lies there, taken as the maker says, and what it would be kept as."""

from collections.abc import Mapping, Set
from dataclasses import dataclass, replace

from inventory.ground.findings import Finding, Refused, stop, stops
from quotes.pattern.assemble import assemble
from quotes.pattern.believable import MEASURED_UNITS, MM_PER_UNIT, UNIT_WORDS, is_believable_waist
from quotes.pattern.drawing import Drawing, DrawnPanel, Reading, ReadOptions
from quotes.pattern.panels import Panel, Pattern
from quotes.pattern.table.lines import Lines, number_of
from quotes.pattern.table.lying import Lying, scaled_drawing
from quotes.pattern.table.named import taken_of_named
from quotes.pattern.table.said import DrawnLine, Said
from quotes.pattern.taking.taken import Role, ScaleReading, Taken
from quotes.pattern.truing import SEAM_DOES_NOT_TRUE, TRUING_CODES, truing_findings

__all__ = ["Look", "Table", "look_at", "number_of", "waist_range_mm"]

_UNIT_CODES = frozenset({"pattern.looks-like-other-units", "pattern.waist-unbelievable"})
"""Findings that doubt the unit."""
_NUMBERS_ASKED = "pattern.panels-without-number"
_ASKED = frozenset({_NUMBERS_ASKED, "file.units-contradict", "file.no-units"})
"""Stops of a sheet that a proposal answers, which is shown beside them."""
_SAME_SHARE = 0.005
"""Two units within this of each other are the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What the table shows.

    Attributes:
        taken: every outline with what it was taken for, at the chosen scale.
        scales: the ways to read the unit, the likeliest first, each with the waist that it makes.
        mm_per_unit: that of the reading which was followed.
        drawing: the panels before their edges are told apart; None where they cannot be told at all.
        pattern: what would be kept; None while something stands in the way of telling it.
        findings: all that is wrong, doubtful or assumed; with a stop among them nothing can be kept.
        is_asked: the numbers are only proposed, and the maker has to say whether they are right.
    """

    taken: Taken
    scales: tuple[ScaleReading, ...]
    mm_per_unit: float
    drawing: Drawing | None
    pattern: Pattern | None
    findings: tuple[Finding, ...]
    is_asked: bool = False

    @property
    def stops(self) -> tuple[Finding, ...]:
        """What stands in the way of keeping it."""
        return stops(self.findings)

    @property
    def shows_one_line(self) -> bool:
        """Whether each panel is drawn by one line only, which may be either."""
        panels = self.drawing.panels if self.drawing else ()
        return any(panel.edges is None and not (panel.stitching and panel.cut) for panel in panels)

    @property
    def is_cut_line(self) -> bool:
        """Whether a stitching line has to be found inside what is drawn."""
        panels = self.drawing.panels if self.drawing else ()
        return any(panel.edges is None and not panel.stitching for panel in panels)

    def panel(self, number: int | None) -> Panel | None:
        """Return the assembled panel of a number."""
        panels = self.pattern.panels if self.pattern else ()
        return next((panel for panel in panels if panel.number == number), None)

    def drawn(self, number: int | None) -> DrawnPanel | None:
        """Return the panel of a number as it was drawn."""
        panels = self.drawing.panels if self.drawing else ()
        return next((panel for panel in panels if panel.number == number), None)


def look_at(lying: Lying, said: Said) -> Look:
    """Return what lies on the table as it is said to be taken."""
    return Table(lying).look(said)


class Table:
    """What lies on the table, to be looked at again and again."""

    def __init__(self, lying: Lying) -> None:
        self._drawing = lying.drawing
        self._lines = None if lying.sheet is None else Lines(lying.sheet)

    def look(self, said: Said) -> Look:
        """Return what lies there as it is said to be taken."""
        if self._lines is not None:
            return _look_at_lines(self._lines, said)
        assert self._drawing is not None
        return _look_at_named(self._drawing, said)


def _look_at_lines(lines: Lines, said: Said) -> Look:
    """A sheet of lines as it is taken; where the maker has to say, with the pattern that the first proposals come to."""
    taken = lines.taken(said)
    scale = said.mm_per_unit or (taken.scales[0].mm_per_unit if taken.scales else 1.0)
    look = replace(_looked(taken, said, mm_per_unit=scale), scales=lines.proposed(said).scales)
    asked = {found.code for found in stops(taken.findings)}
    if not asked or not asked <= _ASKED:
        return look
    pinned = tuple(
        replace(said.of_piece(outline.index), number=number_of(outline))
        for outline in taken.outlines
        if outline.may_be_panel
    )
    proposal = replace(said, mm_per_unit=scale, pieces=pinned)
    proposed = _looked(lines.taken(proposal), proposal, mm_per_unit=scale)
    of_pattern = [found for found in proposed.findings if found not in proposed.taken.findings]
    return replace(
        look,
        drawing=proposed.drawing,
        pattern=proposed.pattern,
        findings=tuple(dict.fromkeys((*look.findings, *of_pattern))),
        is_asked=_NUMBERS_ASKED in asked,
    )


def _look_at_named(drawing: Drawing, said: Said) -> Look:
    scale = said.mm_per_unit or drawing.mm_per_unit
    drawn = _at_scale(drawing, scale)
    look = _looked(taken_of_named(drawn, said), said, mm_per_unit=scale)
    return replace(look, scales=_scales(drawing, look, said))


def _at_scale(drawing: Drawing, mm_per_unit: float) -> Drawing:
    if mm_per_unit == drawing.mm_per_unit:
        return drawing
    return replace(scaled_drawing(drawing, mm_per_unit / drawing.mm_per_unit), mm_per_unit=mm_per_unit)


def _scales(drawing: Drawing, look: Look, said: Said) -> tuple[ScaleReading, ...]:
    """The unit as the file says, and every other that makes the waist believable."""
    names = MM_PER_UNIT if all(panel.edges is None for panel in drawing.panels) else MEASURED_UNITS
    waist_units = _waist_units(drawing, look, said)
    own = drawing.mm_per_unit
    found = [
        ScaleReading(
            mm_per_unit=own,
            words=f"as the file says, 1 unit = {own:.4g} mm",
            closed_waist_mm=None if waist_units is None else waist_units * own,
        )
    ]
    for name in names:
        scale = MM_PER_UNIT[name]
        waist = None if waist_units is None else waist_units * scale
        is_chosen = scale == said.mm_per_unit
        may_be = bool(look.stops) if waist is None else is_believable_waist(waist)
        if abs(scale / own - 1) > _SAME_SHARE and (is_chosen or may_be):
            words = f"the numbers are {UNIT_WORDS[name]}, 1 unit = {scale:.4g} mm"
            found.append(ScaleReading(mm_per_unit=scale, words=words, closed_waist_mm=waist))
    return tuple(found)


def _waist_units(drawing: Drawing, look: Look, said: Said) -> float | None:
    """The closed waist in the drawing's unit; where it cannot be told at the chosen scale, at another that can be assembled."""
    if look.pattern is not None:
        return look.pattern.closed_waist_mm / look.mm_per_unit
    if not any(found.code in _UNIT_CODES for found in look.findings):
        return None
    for scale in MM_PER_UNIT.values():
        at_scale = said.at_scale(scale, times=scale / look.mm_per_unit)
        pattern = _looked(taken_of_named(_at_scale(drawing, scale), at_scale), at_scale, mm_per_unit=scale).pattern
        if pattern is not None:
            return pattern.closed_waist_mm / scale
    return None


def _looked(taken: Taken, said: Said, *, mm_per_unit: float) -> Look:
    drawing = None if taken.drawing is None else _by_line(taken.drawing, said.line)
    pattern, findings = None, taken.findings
    if drawing is not None:
        pattern, assembled = _assembled(drawing, _options(taken, said), _waists(taken, said))
        findings = tuple(dict.fromkeys((*taken.findings, *assembled)))
    # One of several sizes is no piece to number before the size is told.
    outlines = tuple(
        replace(outline, may_be_panel=outline.may_be_panel and outline.role is not Role.OTHER_SIZE)
        for outline in taken.outlines
    )
    return Look(
        taken=replace(taken, outlines=outlines),
        scales=taken.scales,
        mm_per_unit=mm_per_unit,
        drawing=drawing,
        pattern=pattern,
        findings=findings,
    )


def _by_line(drawing: Drawing, line: DrawnLine) -> Drawing:
    """The drawing with the one line of each panel taken for what the maker says it is."""
    if line is DrawnLine.AS_FOUND:
        return drawing
    return replace(drawing, panels=tuple(_panel_by_line(panel, line) for panel in drawing.panels))


def _panel_by_line(panel: DrawnPanel, line: DrawnLine) -> DrawnPanel:
    if panel.edges is not None or (panel.stitching and panel.cut):
        return panel
    only = panel.stitching or panel.cut
    return (
        replace(panel, stitching=None, cut=only) if line is DrawnLine.CUT else replace(panel, stitching=only, cut=None)
    )


def _options(taken: Taken, said: Said) -> ReadOptions:
    numbers = {outline.index: number_of(outline) for outline in taken.outlines}
    corners = {
        number: piece.corners
        for piece in said.pieces
        if piece.corners is not None and (number := numbers.get(piece.index))
    }
    return ReadOptions(
        units=None if said.mm_per_unit is None else "mm",
        seam_allowance_mm=said.allowance_mm,
        edge_allowances=said.edge_allowances,
        centre_front=said.centre_front or None,
        ease=frozenset(said.ease),
        corners=corners,
    )


def _waists(taken: Taken, said: Said) -> dict[int, float]:
    """Heights of the waist above the panel's lowest point, by the panel's number."""
    return {
        number: height
        for outline in taken.outlines
        if (number := number_of(outline)) and (height := said.of_piece(outline.index).waist_mm) is not None
    }


def _assembled(
    drawing: Drawing, options: ReadOptions, waists: Mapping[int, float]
) -> tuple[Pattern | None, tuple[Finding, ...]]:
    """The pattern of a drawing with its waists where they are said to be, and every finding."""
    said = {panel.where for panel in drawing.panels if panel.number in waists}
    try:
        reading = _read(drawing, options)
    except Refused as refusal:
        outside = said & {found.where for found in refusal.findings if found.code == "pattern.waist-outside"}
        if any(_has_waist(panel) for panel in drawing.panels if panel.where in outside):
            return _assembled(_without_waists(drawing, outside), options, waists)
        return None, refusal.findings
    pattern, faults = _with_waists(reading.pattern, waists)
    told = tuple(
        found
        for found in reading.findings
        if found.code not in TRUING_CODES and not (found.code == "pattern.waist-missing" and found.where in said)
    )
    return pattern, (*told, *faults, *truing_findings(pattern))


def _read(drawing: Drawing, options: ReadOptions) -> Reading:
    """The drawing assembled, with seams that do not true left to be seen. Raises Refused for all else."""
    try:
        return assemble(drawing, options)
    except Refused as refusal:
        if any(found.code != SEAM_DOES_NOT_TRUE for found in stops(refusal.findings)):
            raise
    numbers = {panel.number for panel in drawing.panels if panel.number}
    reading = assemble(drawing, replace(options, ease=frozenset(range(1, max(numbers)))))
    return replace(reading, pattern=replace(reading.pattern, ease=drawing.ease | options.ease))


def _has_waist(panel: DrawnPanel) -> bool:
    return panel.waist is not None or panel.waist_mm is not None


def _without_waists(drawing: Drawing, places: Set[str]) -> Drawing:
    panels = (replace(panel, waist=None, waist_mm=None) if panel.where in places else panel for panel in drawing.panels)
    return replace(drawing, panels=tuple(panels))


def waist_range_mm(panel: Panel) -> tuple[float, float]:
    """Return between which heights above the panel's lowest point its waist can lie: where both its edges run."""
    (_, bottom), _ = panel.bounds
    low = max(panel.front[0][1], panel.back[0][1])
    high = min(panel.front[-1][1], panel.back[-1][1])
    return low - bottom, high - bottom


def _with_waists(pattern: Pattern, waists: Mapping[int, float]) -> tuple[Pattern, tuple[Finding, ...]]:
    """The pattern with its waists at heights above each panel's lowest point, and those that no panel has."""
    faults = []
    for panel in pattern.panels:
        low, high = waist_range_mm(panel)
        height = waists.get(panel.number, low)
        if not low <= height <= high:
            faults.append(
                stop(
                    "pattern.waist-outside",
                    f"panel {panel.number}",
                    f"A waist {height:.1f} mm above the bottom does not cross the panel, which has both its edges from "
                    f"{low:.1f} to {high:.1f} mm.",
                    "Move the waist between the bottom and the top edge.",
                )
            )
    if faults:
        return pattern, tuple(faults)
    right = pattern.right_panels
    moved = replace(
        pattern,
        panels=tuple(_with_waist(panel, waists) for panel in pattern.panels),
        right_panels=None if right is None else tuple(_with_waist(panel, waists) for panel in right),
    )
    return moved, ()


def _with_waist(panel: Panel, waists: Mapping[int, float]) -> Panel:
    if panel.number not in waists:
        return panel
    (_, bottom), _ = panel.bounds
    return replace(panel, waist_mm=bottom + waists[panel.number])
