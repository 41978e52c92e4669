"""Is a lay true? Every placement is held against the pieces with plain geometry, whoever made it."""

import math
from collections import Counter
from collections.abc import Sequence
from itertools import chain

import numpy as np
import shapely
from shapely import STRtree
from shapely.affinity import translate

from inventory.ground.findings import Finding, stop
from quotes.lay.lay_plan import LayPlan, LayProblem, Placement
from quotes.pattern.geometry import Polyline, as_polygon, turned

__all__ = ["TOLERANCE", "lay_faults", "outside", "too_close"]

TOLERANCE = 1e-6
"""Share of the strip's width by which rounding may let a piece pass an edge or another: a thousandth of a millimetre."""


def lay_faults(problem: LayProblem, plan: LayPlan) -> tuple[Finding, ...]:
    """Return what is wrong with a lay: pieces missing, of another shape, turned as they must not be, outside, too close."""
    nowhere = [row.label for row in plan.placements if not all(map(math.isfinite, chain.from_iterable(row.outline)))]
    if nowhere:
        return tuple(stop("lay.shape", label, f"{label} does not have its own outline.") for label in nowhere)
    faults: list[Finding] = []
    slack = TOLERANCE * problem.width
    wanted = Counter({piece.label: piece.copies for piece in problem.pieces})
    placed = Counter(placement.label for placement in plan.placements)
    if wanted != placed:
        faults.append(stop("lay.pieces", "lay", "Some pieces are missing from the lay, or there too often."))
    pieces = {piece.label: piece for piece in problem.pieces}
    for placement in plan.placements:
        piece = pieces.get(placement.label)
        turns = piece.rotations if piece else ()
        if not any(abs(math.remainder(placement.rotation - turn, 360)) < 1e-3 for turn in turns):
            faults.append(
                stop("lay.rotation", placement.label, f"{placement.label} is turned by {placement.rotation:g}°.")
            )
        if piece and not _difference(turned(piece.outline, placement.rotation), placement.outline, slack) <= slack:
            faults.append(stop("lay.shape", placement.label, f"{placement.label} does not have its own outline."))
    faults += outside(plan.placements, problem.width, plan.length, slack)
    faults += too_close(plan.placements, problem.spacing, slack)
    return tuple(faults)


def outside(rows: Sequence[Placement], width: float, length: float, slack: float) -> list[Finding]:
    """Return the pieces that lie off a cloth of this size by more than the slack."""
    least, most = np.array((-slack, -slack)), np.array((length + slack, width + slack))
    return [
        stop("lay.outside", row.label, f"{row.label} lies outside the cloth.")
        for row in rows
        for corners in (np.asarray(row.outline),)
        if not ((corners >= least).all() and (corners <= most).all())
    ]


def too_close(rows: Sequence[Placement], spacing: float, slack: float) -> list[Finding]:
    """Return the pieces of one cloth that lie over another, or nearer to it than the spacing, by more than the slack."""
    if not rows:
        return []
    shapes = np.array([as_polygon(row.outline) for row in rows])
    one, other = STRtree(shapes).query(shapes, predicate="dwithin", distance=max(spacing, slack))
    one, other = one[is_first := one < other], other[is_first]
    shrunk = shapely.buffer(shapes, -slack, join_style="mitre")
    are_close = shapely.intersects(shrunk[one], shapes[other])
    if spacing:
        are_close |= shapely.distance(shapes[one], shapes[other]) < spacing - slack
    return [
        stop("lay.overlap", rows[index].label, f"{rows[index].label} and {rows[index_of_other].label} lie too close.")
        for index, index_of_other in sorted(zip(one[are_close].tolist(), other[are_close].tolist(), strict=True))
    ]


def _difference(outline: Polyline, other: Polyline, slack: float) -> float:
    """How far two outlines lie from each other at most, once the lowest and leftmost of one lies on that of the other."""
    corners, others = np.asarray(outline), np.asarray(other)
    if corners.shape == others.shape:
        # Corner for corner, as they are unless somebody drew the piece anew.
        moves = (corners - corners.min(axis=0)) - (others - others.min(axis=0))
        farthest = float(np.hypot(*moves.T).max())
        if farthest <= slack:
            return farthest
    shape, lying = as_polygon(outline), as_polygon(other)
    along, across = (lying.bounds[side] - shape.bounds[side] for side in (0, 1))
    return float(translate(shape, along, across).exterior.hausdorff_distance(lying.exterior))
