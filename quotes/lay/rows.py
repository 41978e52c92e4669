"""The row lay: boxes tallest first, each into the first row that still has room. Plain, certain and never clever.

It is what an engine's lay must beat, and what remains where no engine answers. Source: common practice.
"""

from dataclasses import replace

from quotes.defaults import desk_defaults
from quotes.lay.fitting import across_mm, turned
from quotes.lay.lay_plan import LayPiece, LayProblem, Placement

__all__ = ["row_lay"]

ROW_GAP = desk_defaults().lay.row_gap_mm
"""Rows and boxes lie this far apart, or by the problem's spacing where that is more (mm)."""


def row_lay(problem: LayProblem) -> tuple[float, tuple[Placement, ...]]:
    """Return the length of the row lay and its placements. Each piece lies in the first of its turns that fits the width."""
    gap = max(ROW_GAP, problem.spacing)
    pieces = [_as_it_lies(piece, problem.width) for piece in problem.pieces]
    boxes = sorted(
        ((piece, copy) for piece in pieces for copy in range(1, piece.copies + 1)),
        key=lambda box: (-_along(box[0]), box[0].label, box[1]),
    )
    rows: list[list[float]] = []  # [start along the cloth, depth, filled across]
    placements = []
    for piece, copy in boxes:
        across, along = _across(piece), _along(piece)
        row = next((row for row in rows if row[2] + across <= problem.width), None)
        if row is None:
            start = rows[-1][0] + rows[-1][1] + gap if rows else 0.0
            row = [start, along, 0.0]
            rows.append(row)
        left, low = min(x for x, _ in piece.outline), min(y for _, y in piece.outline)
        outline = tuple((x - left + row[0], y - low + row[2]) for x, y in piece.outline)
        placements.append(Placement(label=piece.label, copy=copy, rotation=piece.rotations[0], outline=outline))
        row[2] += across + gap
    length = rows[-1][0] + rows[-1][1] if rows else 0.0
    return length, tuple(placements)


def _as_it_lies(piece: LayPiece, width: float) -> LayPiece:
    """The piece turned, with that turn as its only one."""
    turn = next((turn for turn in piece.rotations if across_mm(piece.outline, turn) <= width), piece.rotations[0])
    return replace(piece, outline=turned(piece.outline, turn), rotations=(turn,))


def _along(piece: LayPiece) -> float:
    xs = [x for x, _ in piece.outline]
    return max(xs) - min(xs)


def _across(piece: LayPiece) -> float:
    ys = [y for _, y in piece.outline]
    return max(ys) - min(ys)
