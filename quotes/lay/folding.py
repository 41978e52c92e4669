"""The folded lay: the cloth doubled along its length, each pair cut through both thicknesses at once.

The fold makes the mirror image, across the cloth, of whatever is cut. So two pieces are a pair where one, in a turn that it may
lie in, is the mirror image of the other; a piece that has no such partner is odd: cut once, it comes out twice.
Source: common practice (lays on the fold).
"""

from dataclasses import dataclass, replace

import shapely
from shapely import Polygon

from inventory.ground.findings import Finding, warn
from quotes.lay.lay_plan import LayPiece, LayProblem
from quotes.pattern.geometry import Polyline, at_origin, turned

__all__ = ["FoldedLay", "folded"]

_ALIKE = 1e-4
"""Mirror images may differ by this share of the piece's size: what drawing and rounding leave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoldedLay:
    """The problem of one thickness on half the width.

    `partners` has, by the label and copy of what is laid, the label of the piece that the lower thickness gives; what is odd
    is missing in it and named by a finding.
    """

    problem: LayProblem
    partners: dict[tuple[str, int], str]
    findings: tuple[Finding, ...]


def folded(problem: LayProblem) -> FoldedLay:
    """Return the folded lay of a problem: pairs once, odd pieces once and named."""
    left = {piece.label: piece.copies for piece in problem.pieces}
    laid: list[LayPiece] = []
    partners: dict[tuple[str, int], str] = {}
    findings = []
    for index, piece in enumerate(problem.pieces):
        copies = 0
        mirror = tuple((x, -y) for x, y in piece.outline)
        for other in problem.pieces[index:]:
            pairs = left[piece.label] // 2 if other is piece else min(left[piece.label], left[other.label])
            if pairs and _lies_like(other, mirror):
                partners |= {(piece.label, copies + count): other.label for count in range(1, pairs + 1)}
                left[piece.label] -= pairs
                left[other.label] -= pairs
                copies += pairs
        if odd := left[piece.label]:
            copies += odd
            left[piece.label] = 0
            findings.append(_odd(piece.label, odd))
        if copies:
            laid.append(replace(piece, copies=copies))
    problem = replace(problem, width=problem.width / 2, pieces=tuple(laid))
    return FoldedLay(problem=problem, partners=partners, findings=tuple(findings))


def _odd(label: str, count: int) -> Finding:
    which = f"Piece {label} has" if count == 1 else f"{count} copies of piece {label} have"
    return warn(
        "lay.odd-piece",
        f"piece {label}",
        f"{which} no mirror image in the lay: cut through both thicknesses, each comes out twice.",
        "Cut it from the open cloth, or keep the second one.",
    )


def _lies_like(piece: LayPiece, mirror: Polyline) -> bool:
    """Whether a piece, turned as it may be, is the shape of a mirror image, wherever it lies."""
    wanted = Polygon(at_origin(mirror))
    left, low, right, high = wanted.bounds
    slack = _ALIKE * max(right - left, high - low)
    return any(_is_same(Polygon(at_origin(turned(piece.outline, turn))), wanted, slack) for turn in piece.rotations)


def _is_same(one: Polygon, other: Polygon, slack: float) -> bool:
    if max(abs(a - b) for a, b in zip(one.bounds, other.bounds, strict=True)) > slack:
        return False
    return float(shapely.hausdorff_distance(one.exterior, other.exterior)) <= slack
