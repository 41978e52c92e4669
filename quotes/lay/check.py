"""Is a lay true? Every placement is held against the pieces with plain geometry, whoever made it."""

import math
from collections import Counter
from itertools import chain

from shapely import Polygon, STRtree
from shapely.affinity import rotate, translate

from inventory.ground.findings import Finding, stop
from quotes.lay.lay_plan import LayPlan, LayProblem

__all__ = ["lay_faults"]

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
        left, low, right, high = shape.bounds
        if left < -slack or low < -slack or right > plan.length + slack or high > problem.width + slack:
            faults.append(stop("lay.outside", placement.label, f"{placement.label} lies outside the cloth."))
    tree = STRtree(shapes)
    gap = max(problem.spacing - slack, 0.0)
    for index, shape in enumerate(shapes):
        for other in tree.query(shape.buffer(problem.spacing), predicate="intersects"):
            if other <= index:
                continue
            neighbour = shapes[other]
            if _overlap(shape, neighbour, slack) or (gap and shape.distance(neighbour) < gap):
                faults.append(
                    stop(
                        "lay.overlap",
                        plan.placements[index].label,
                        f"{plan.placements[index].label} and {plan.placements[int(other)].label} lie too close.",
                    )
                )
    return tuple(faults)


def _overlap(shape: Polygon, other: Polygon, slack: float) -> bool:
    """Whether two pieces lie over each other by more than rounding: also once each is made smaller by the slack."""
    if shape.intersection(other).area <= slack * slack:
        return False
    inner, other_inner = (each.buffer(-slack, join_style="mitre") for each in (shape, other))
    return bool(inner.intersection(other_inner).area > 0)


def _difference(shape: Polygon, other: Polygon) -> float:
    """How far two outlines lie from each other at most, once the lowest and leftmost of one lies on that of the other."""
    along, across = (other.bounds[side] - shape.bounds[side] for side in (0, 1))
    return float(translate(shape, along, across).exterior.hausdorff_distance(other.exterior))
