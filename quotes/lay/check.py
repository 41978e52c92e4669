"""Is a lay true? Every placement is held against the pieces with plain geometry, whoever made it."""

import math
from collections import Counter
from collections.abc import Sequence
from itertools import chain

from shapely import Polygon, STRtree, box
from shapely.affinity import rotate, translate

from inventory.ground.findings import Finding, stop
from quotes.lay.lay_plan import LayPlan, LayProblem, Placement

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
    shapes = [Polygon(placement.outline) for placement in plan.placements]
    for placement, shape in zip(plan.placements, shapes, strict=True):
        piece = pieces.get(placement.label)
        turns = piece.rotations if piece else ()
        if not any(abs(math.remainder(placement.rotation - turn, 360)) < 1e-3 for turn in turns):
            faults.append(
                stop("lay.rotation", placement.label, f"{placement.label} is turned by {placement.rotation:g}°.")
            )
        as_turned = rotate(Polygon(piece.outline), placement.rotation, origin=(0, 0)) if piece else shape
        if not _difference(as_turned, shape) <= slack:
            faults.append(stop("lay.shape", placement.label, f"{placement.label} does not have its own outline."))
    faults += outside(plan.placements, problem.width, plan.length, slack)
    faults += too_close(plan.placements, problem.spacing, slack)
    return tuple(faults)


def outside(rows: Sequence[Placement], width: float, length: float, slack: float) -> list[Finding]:
    """Return the pieces that lie off a cloth of this size by more than the slack."""
    cloth = box(-slack, -slack, length + slack, width + slack)
    return [
        stop("lay.outside", row.label, f"{row.label} lies outside the cloth.")
        for row in rows
        if not cloth.contains(Polygon(row.outline))
    ]


def too_close(rows: Sequence[Placement], spacing: float, slack: float) -> list[Finding]:
    """Return the pieces of one cloth that lie over another, or nearer to it than the spacing, by more than the slack."""
    shapes = [Polygon(row.outline) for row in rows]
    shrunk = [shape.buffer(-slack, join_style="mitre") for shape in shapes]
    tree = STRtree(shapes)
    faults = []
    for index, shape in enumerate(shapes):
        for other in tree.query(shape, predicate="dwithin", distance=max(spacing, slack)):
            if other <= index:
                continue
            overlaps = bool(shrunk[index].intersects(shapes[other]))
            if overlaps or (spacing and shape.distance(shapes[other]) < spacing - slack):
                faults.append(
                    stop(
                        "lay.overlap",
                        rows[index].label,
                        f"{rows[index].label} and {rows[int(other)].label} lie too close.",
                    )
                )
    return faults


def _difference(shape: Polygon, other: Polygon) -> float:
    """How far two outlines lie from each other at most, once the lowest and leftmost of one lies on that of the other."""
    along, across = (other.bounds[side] - shape.bounds[side] for side in (0, 1))
    return float(translate(shape, along, across).exterior.hausdorff_distance(other.exterior))
