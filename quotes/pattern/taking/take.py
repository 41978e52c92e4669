"""`take`: what every line of a free drawing is, how long its unit is, and the drawing that its panels make.

In this order: lines close to outlines; squares with a length, frames and small marks are set aside; outlines that lie in
each other are stitching and cut line, or sizes; pieces are numbered; marks are found on each; then the unit is judged by
what the file says, by witnesses and by the waist that it would make.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from statistics import median

from shapely import Polygon, STRtree, box

from inventory.ground.findings import Finding, Refused, stop, stops, warn
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions
from quotes.pattern.geometry import Polyline, as_line
from quotes.pattern.sheet import Label, Sheet, Stroke
from quotes.pattern.taking.closing import Closed, closed_outlines, diagonal
from quotes.pattern.taking.deciding import Candidate, Decided, Decision, decided
from quotes.pattern.taking.inner_marks import Marks, marks_of
from quotes.pattern.taking.judging import (
    Allowance,
    allowance_faults,
    closed_waist,
    fold_faults,
    gap_notes,
    join_faults,
    numbers_in_the_open,
    open_outlines,
    size_faults,
    told_allowance,
)
from quotes.pattern.taking.nesting import frames, shapes_of, stacks
from quotes.pattern.taking.numbering import Told, told_numbers
from quotes.pattern.taking.outlines import outlines_of, scaled_line
from quotes.pattern.taking.pieces import Piece, named_pieces, pieces_of, places_too_small
from quotes.pattern.taking.scale import read_scale
from quotes.pattern.taking.seam_order import measured
from quotes.pattern.taking.sheet_sizes import of_size, sizes_of
from quotes.pattern.taking.size_words import size_in, size_of
from quotes.pattern.taking.sizes import Sizes, told_sizes
from quotes.pattern.taking.taken import Role, Taken
from quotes.pattern.taking.witnesses import Witness, bars, stated_waists, test_squares
from quotes.pattern.taking.words import said

__all__ = ["take"]

_USUAL_HEIGHT_MM = 280.0
"""What a piece is taken to measure along its diagonal while the unit is open; only tolerances hang on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sorted:
    """The lines of a sheet by what they can be; squares, frames and shapes go by the places of outlines in `closed`.

    Attributes:
        lines: open ones that may be marks of a piece.
        pieces: in reading order; `aside` are positions of those that no panel can be, with why.
        labels: without those that are lengths.
    """

    closed: tuple[Closed, ...]
    lines: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    squares: dict[int, tuple[str, Witness | None]]
    frames: set[int]
    sizes: Sizes
    pieces: list[Piece]
    aside: dict[int, str]
    witnesses: list[Witness]
    shapes: list[Polygon]

    @property
    def kept(self) -> list[int]:
        """Positions of the pieces that may be panels."""
        return [at for at in range(len(self.pieces)) if at not in self.aside]

    def main(self, at: int) -> Closed:
        """The outline that stands for a piece."""
        return self.closed[self.pieces[at].main]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """The pieces with their marks, in the sheet's unit, what they were decided to be, and the closed waist they come to."""

    marks: dict[int, Marks]
    drawn: dict[int, DrawnPanel]
    decisions: dict[int, Decision]
    findings: list[Finding]
    waist: float | None

    @property
    def making(self) -> list[int]:
        """Positions of the pieces that make the garment."""
        return [at for at, one in self.decisions.items() if one.is_drawn]


def take(sheet: Sheet, options: ReadOptions) -> Taken:
    """Return what the lines of a sheet are, and the drawing they make; never raises for what is drawn."""
    names = sizes_of(sheet)
    if not names:
        taken = _taken(sheet, options)
        is_answered = taken.sizes or any(size_in(label.text) == size_of(options.size) for label in sheet.labels)
        if not options.size or is_answered:
            return taken
        return _taken(replace(sheet, findings=(*sheet.findings, _no_sizes(options.size))), replace(options, size=""))
    try:
        return replace(_taken(of_size(sheet, options.size), replace(options, size="")), sizes=names)
    except Refused as refusal:
        whole = _taken(sheet, replace(options, size=""))
        outlines = tuple(
            replace(outline, role=Role.OTHER_SIZE, panel=None, why="one of several sizes")
            if outline.role in (Role.PANEL, Role.CUT_LINE, Role.OTHER_HALF)
            else outline
            for outline in whole.outlines
        )
        return replace(
            whole, outlines=outlines, sizes=names, drawing=None, findings=(*sheet.findings, *refusal.findings)
        )


def _taken(sheet: Sheet, options: ReadOptions) -> Taken:
    """The same for a drawing of one size, or of sizes that only their outlines tell."""
    closed, lines = closed_outlines(sheet)
    if not closed:
        return Taken(outlines=(), scales=(), findings=(*sheet.findings, _nothing_closed(lines)))
    found = _sorted_out(sheet, options, closed, lines)
    allowance = told_allowance(sheet.labels, options)
    read = _read(sheet, options, found, allowance)
    making, pieces, decisions = read.making, found.pieces, read.decisions
    scale = read_scale(sheet, options, found.witnesses, stated_waists(sheet), read.waist)
    mm_per_unit = scale.readings[0].mm_per_unit if scale.readings else 1.0
    findings = (
        *sheet.findings,
        *([found.sizes.fault] if found.sizes.fault else []),
        *open_outlines(found.lines, [closed[pieces[at].outer] for at in making]),
        *numbers_in_the_open(
            found.labels,
            found.lines,
            [closed[pieces[at].outer] for at in making],
            [number for at in making if (number := decisions[at].number) is not None],
        ),
        *read.findings,
        *scale.findings,
        *size_faults(scale, making, decisions, options),
        *fold_faults(making, decisions, read.marks),
        *gap_notes(making, pieces, closed, decisions, mm_per_unit),
        *allowance_faults(making, pieces, decisions, allowance, mm_per_unit),
    )
    panels = (
        replace(
            _scaled(read.drawn[at], mm_per_unit), number=decisions[at].number, where=f"panel {decisions[at].number}"
        )
        for at in making
    )
    drawing = Drawing(
        name="",
        panels=tuple(panels),
        seam_allowance_mm=allowance.mm,
        mm_per_unit=mm_per_unit,
        findings=findings,
    )
    return Taken(
        outlines=outlines_of(
            pieces, decisions, found.aside, read.marks, closed, found.squares, found.frames, mm_per_unit
        ),
        scales=scale.readings,
        sizes=found.sizes.names,
        drawing=None if stops(findings) else drawing,
        findings=findings,
    )


def _sorted_out(sheet: Sheet, options: ReadOptions, closed: tuple[Closed, ...], lines: tuple[Stroke, ...]) -> _Sorted:
    """Set aside what tells of the scale, frames and other sizes; the rest are pieces."""
    squares = test_squares(closed, sheet.labels)
    scale_bars = bars(lines, sheet.labels, closed)
    shapes = shapes_of(closed)
    round_all = frames(shapes, closed) - set(squares)
    groups = stacks(shapes, set(squares) | round_all)
    labels = tuple(label for label in sheet.labels if not said(label.text).lengths_mm)
    sizes = told_sizes(groups, closed, lines, labels, options.size)
    pieces = _in_reading_order(pieces_of(groups, closed, sizes.chosen), closed)
    are_bars = {id(bar) for bar, _ in scale_bars}
    return _Sorted(
        closed=closed,
        lines=tuple(line for line in lines if id(line) not in are_bars and not _is_other_size(line, sizes)),
        labels=labels,
        squares=squares,
        frames=round_all,
        sizes=sizes,
        pieces=pieces,
        aside=_set_aside(pieces, closed, shapes),
        witnesses=[
            *(witness for _, witness in squares.values() if witness is not None),
            *(witness for _, witness in scale_bars),
        ],
        shapes=shapes,
    )


def _read(sheet: Sheet, options: ReadOptions, found: _Sorted, allowance: Allowance) -> _Read:
    """Find each piece's marks and number, and decide which panel it is."""
    kept = found.kept
    rough = _rough_mm_per_unit(sheet, [found.main(at) for at in kept])
    marks = _all_marks(found, sheet, allowance)
    named = named_pieces(found.pieces, found.closed, found.shapes, found.labels, set(kept))
    told = dict(zip(kept, told_numbers([named[at] for at in kept]), strict=True))
    drawn = {
        at: _drawn(found.pieces[at], found.closed, marks[at], allowance, told[at], named[at].inside) for at in kept
    }
    measure = cache(lambda at: measured(_scaled(drawn[at], rough)))
    if found.sizes.fault is not None:
        choice = Decided(decisions=[_other_size()] * len(kept))
    else:
        choice = decided(
            [
                Candidate(
                    ring=found.main(at).ring,
                    where=found.main(at).stroke.where,
                    told=told[at],
                    measure=partial(measure, at),
                )
                for at in kept
            ],
            options.panels,
        )
    decisions = dict(zip(kept, choice.decisions, strict=True))
    making = [at for at in kept if decisions[at].is_drawn]
    given = options.seam_allowance_mm if options.seam_allowance_mm is not None else allowance.mm
    waist_mm = closed_waist(making, decisions, measure, drawn, given)
    return _Read(
        marks=marks,
        drawn=drawn,
        decisions=decisions,
        findings=[*choice.findings, *join_faults(making, decisions, {at: named[at].inside for at in kept})],
        waist=None if waist_mm is None else waist_mm / rough,
    )


def _no_sizes(size: str) -> Finding:
    return warn(
        "pattern.no-sizes",
        "--size",
        f"The drawing shows one size only, and nothing on it says that it is {size.strip()[:40]}.",
        "Leave --size out, or hand in the drawing of that size.",
    )


def _nothing_closed(lines: Sequence[Stroke]) -> Finding:
    largest = max(lines, key=lambda line: diagonal(line.line), default=None)
    if largest is None:
        return stop(
            "pattern.no-panels", "file", "No line was found in the drawing.", "Draw each panel as a closed line."
        )
    return stop(
        "pattern.no-panels",
        largest.where,
        "No closed outline was found in the drawing: the ends of its lines lie too far apart.",
        "Join the ends of each panel's outline.",
    )


def _is_other_size(line: Stroke, sizes: Sizes) -> bool:
    return sizes.look is not None and sizes.look(line) in sizes.others_look


def _other_size() -> Decision:
    return Decision(role=Role.OTHER_SIZE, number=None, why="one of several sizes")


def _in_reading_order(pieces: Sequence[Piece], closed: Sequence[Closed]) -> list[Piece]:
    """Left to right in rows from the top; a row is what lies beside the highest piece that is left."""
    boxes = {piece: _box(closed[piece.outer].ring) for piece in pieces}
    left = sorted(pieces, key=lambda piece: -boxes[piece][3])
    ordered: list[Piece] = []
    while left:
        _, bottom, _, top = boxes[left[0]]
        row = [piece for piece in left if bottom <= (boxes[piece][1] + boxes[piece][3]) / 2 <= top]
        ordered += sorted(row, key=lambda piece: (boxes[piece][0] + boxes[piece][2]) / 2)
        left = [piece for piece in left if piece not in row]
    return ordered


def _box(ring: Polyline) -> tuple[float, float, float, float]:
    xs, ys = zip(*ring, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _set_aside(pieces: Sequence[Piece], closed: Sequence[Closed], shapes: Sequence[Polygon]) -> dict[int, str]:
    """Positions of pieces that no panel can be, each with why."""
    aside = dict.fromkeys(places_too_small(pieces, shapes), "far smaller than the others")
    for at, piece in enumerate(pieces):
        for other in pieces:
            if other is not piece and shapes[other.outer].contains(shapes[piece.outer]):
                aside.setdefault(at, "it lies inside another outline")
        if any(said(name).is_scale and not said(name).number for name in closed[piece.main].stroke.layers):
            aside.setdefault(at, "named as a mark for the scale")
    return aside


def _rough_mm_per_unit(sheet: Sheet, rings: Sequence[Closed]) -> float:
    usual = median(diagonal(one.ring) for one in rings) if rings else _USUAL_HEIGHT_MM
    said_mm = sheet.mm_per_unit
    if said_mm is not None and 0.5 <= usual * said_mm / _USUAL_HEIGHT_MM <= 2:
        return said_mm
    return _USUAL_HEIGHT_MM / usual


def _all_marks(found: _Sorted, sheet: Sheet, allowance: Allowance) -> dict[int, Marks]:
    tree = STRtree([as_line(line.line) for line in found.lines])

    def near(ring: Polyline) -> list[Stroke]:
        margin = 0.02 * diagonal(ring)
        left, bottom, right, top = _box(ring)
        places = tree.query(box(left - margin, bottom - margin, right + margin, top + margin))
        return [found.lines[place] for place in sorted(places.tolist())]

    return {
        at: marks_of(
            found.main(at).ring,
            near(found.main(at).ring),
            sheet.labels,
            is_cut_line=found.pieces[at].stitching is None or (found.pieces[at].cut is None and bool(allowance.holds)),
            names=found.main(at).stroke.layers,
            spots=sheet.notches,
        )
        for at in found.kept
    }


def _drawn(
    piece: Piece, closed: Sequence[Closed], marks: Marks, allowance: Allowance, told: Told, inside: Sequence[Label]
) -> DrawnPanel:
    """The piece in the sheet's unit; a single outline whose words say that it holds the allowance is a cut line."""
    stitching = None if piece.stitching is None else closed[piece.stitching].ring
    cut = None if piece.cut is None else closed[piece.cut].ring
    if cut is None and allowance.holds:
        stitching, cut = None, stitching
    counted = [said(label.text).quantity for label in inside]
    return DrawnPanel(
        number=told.number,
        where=closed[piece.main].stroke.where,
        stitching=stitching,
        cut=cut,
        notches=marks.notches,
        waist=marks.waist,
        grain=marks.grain,
        quantity=next((count for count in counted if count is not None), None),
    )


def _scaled(drawn: DrawnPanel, mm_per_unit: float) -> DrawnPanel:
    grain = None if drawn.grain is None else scaled_line(drawn.grain, mm_per_unit)
    return replace(
        drawn,
        stitching=None if drawn.stitching is None else scaled_line(drawn.stitching, mm_per_unit),
        cut=None if drawn.cut is None else scaled_line(drawn.cut, mm_per_unit),
        notches=scaled_line(drawn.notches, mm_per_unit),
        waist=None if drawn.waist is None else scaled_line(drawn.waist, mm_per_unit),
        grain=None if grain is None else (grain[0], grain[1]),
    )
