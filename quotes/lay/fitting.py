"""Which pieces no allowed turning makes fit the cloth, and what would help: another turn, the open cloth, or a seam."""

import math
from collections.abc import Iterable

from inventory.ground.findings import Finding, stop
from quotes.lay.lay_plan import LayPiece, Remnant
from quotes.pattern.geometry import Polyline, turned

__all__ = ["breadth", "extents", "shortest_along", "that_fit", "width_faults"]

_HAIR = 1e-9
"""Share of the width by which a piece may be wider: the last digit of a number."""


def breadth(outline: Polyline, degrees: float) -> float:
    """Return how wide an outline lies across the cloth when it is turned."""
    ys = [y for _, y in turned(outline, degrees)]
    return max(ys) - min(ys)


def extents(piece: LayPiece) -> list[tuple[float, float]]:
    """Return how far a piece reaches along the cloth and across it, in each turn that it may lie in."""
    turns = (zip(*turned(piece.outline, turn), strict=True) for turn in piece.rotations)
    return [(max(xs) - min(xs), max(ys) - min(ys)) for xs, ys in turns]


def shortest_along(piece: LayPiece, width: float) -> float:
    """Return the least length along the cloth that a piece takes in the turns in which it fits a width, if in any."""
    reached = extents(piece)
    fitting = [along for along, across in reached if across <= width * (1 + _HAIR)]
    return min(fitting or [along for along, _ in reached])


def that_fit(pieces: Iterable[LayPiece], remnant: Remnant) -> set[str]:
    """Return the pieces, by their labels, whose box fits a remnant in a turn that they may lie in."""
    along, across = (size * (1 + _HAIR) for size in (remnant.length, remnant.width))
    return {
        piece.label for piece in pieces if any(reached <= along and wide <= across for reached, wide in extents(piece))
    }


def width_faults(pieces: tuple[LayPiece, ...], width: float, *, open_width: float | None = None) -> list[Finding]:
    """Name the pieces that do not fit a width.

    Args:
        open_width: of the whole cloth, where `width` is the half of it that a fold leaves.
    """
    return [
        _too_wide(piece, across, width, open_width)
        for piece in pieces
        if (across := min(breadth(piece.outline, turn) for turn in piece.rotations)) > width * (1 + _HAIR)
    ]


def _too_wide(piece: LayPiece, across: float, width: float, open_width: float | None) -> Finding:
    cloth = "half of the folded cloth" if open_width is not None else "cloth"
    return stop(
        "lay.piece-wider-than-cloth",
        f"piece {piece.label}",
        f"Piece {piece.label} is {across:.6g} wide as it may lie, {across - width:.4g} more than the {cloth}, which is {width:.6g} wide.",
        _mend(piece, across, width, open_width),
    )


def _mend(piece: LayPiece, across: float, width: float, open_width: float | None) -> str:
    if open_width is not None and across <= open_width * (1 + _HAIR):
        return f"It fits the open cloth, {open_width:.6g} wide: lay it without the fold."
    narrowest = min(range(180), key=lambda degrees: breadth(piece.outline, degrees))
    least = breadth(piece.outline, narrowest)
    if least <= width * (1 + _HAIR):
        return f"Turned by {narrowest}° it would be {least:.6g} wide and fit, if the cloth bears it off the grain; or part it with a seam."
    parts = math.ceil(across / width)
    return f"No turning makes it fit; pieced of {parts} parts with a seam between each it would, or take a wider cloth."
