"""The row lay: boxes tallest first, each into the first row that still has room. Plain, certain and never clever.

It is what an engine's lay must beat, and what remains where no engine answers. Source: common practice.
"""

from quotes.lay.lay_plan import LayPiece, LayProblem, Placement
from quotes.pattern.geometry import Polyline, turned

__all__ = ["row_lay"]


def row_lay(problem: LayProblem) -> tuple[float, tuple[Placement, ...]]:
    """Return the length of the row lay and its placements. A piece is turned the first way in which it fits the width."""
    gap = max(problem.row_gap, problem.spacing)
    boxes = sorted(
        (
            (piece, copy, turn, turned(piece.outline, turn))
            for piece in problem.pieces
            for turn in (_turn(piece, problem.width),)
            for copy in range(1, piece.copies + 1)
        ),
        key=lambda box: (-_along(box[3]), box[0].label, box[1]),
    )
    rows: list[list[float]] = []  # [start along the cloth, depth, filled across]
    placements = []
    for piece, copy, turn, outline in boxes:
        across, along = _across(outline), _along(outline)
        row = next((row for row in rows if row[2] + across <= problem.width), None)
        if row is None:
            start = rows[-1][0] + rows[-1][1] + gap if rows else 0.0
            row = [start, along, 0.0]
            rows.append(row)
        left, low = min(x for x, _ in outline), min(y for _, y in outline)
        moved = tuple((x - left + row[0], y - low + row[2]) for x, y in outline)
        placements.append(Placement(label=piece.label, copy=copy, rotation=turn, outline=moved))
        row[2] += across + gap
    length = rows[-1][0] + rows[-1][1] if rows else 0.0
    return length, tuple(placements)


def _turn(piece: LayPiece, width: float) -> float:
    """The first of a piece's turnings in which it fits the width; the first at all where it fits in none."""
    fitting = (turn for turn in piece.rotations if _across(turned(piece.outline, turn)) <= width * (1 + 1e-9))
    return next(fitting, piece.rotations[0])


def _along(outline: Polyline) -> float:
    xs = [x for x, _ in outline]
    return max(xs) - min(xs)


def _across(outline: Polyline) -> float:
    ys = [y for _, y in outline]
    return max(ys) - min(ys)
