"""Is a lay true? Every placement is held against the pieces with plain geometry, whoever made it."""

import math
from collections import Counter

from shapely import Polygon, STRtree

from inventory.ground.findings import Finding, stop
from quotes.lay.lay_plan import LayPlan, LayProblem

__all__ = ["lay_faults"]

TOLERANCE = 1e-6
"""Share of the strip's width by which rounding may let a piece pass an edge or another: a thousandth of a millimetre."""


def lay_faults(problem: LayProblem, plan: LayPlan) -> tuple[Finding, ...]:
    """Return what is wrong with a lay: pieces missing, turned as they must not be, outside, overlapping, too close."""
    faults: list[Finding] = []
    slack = TOLERANCE * problem.width
    wanted = Counter({piece.label: piece.copies for piece in problem.pieces})
    placed = Counter(placement.label for placement in plan.placements)
    if wanted != placed:
        faults.append(stop("lay.pieces", "lay", "Some pieces are missing from the lay, or there too often."))
    allowed = {piece.label: piece.rotations for piece in problem.pieces}
    shapes = [Polygon(placement.outline) for placement in plan.placements]
    for placement, shape in zip(plan.placements, shapes, strict=True):
        turns = allowed.get(placement.label, ())
        if not any(abs(math.remainder(placement.rotation - turn, 360)) < 1e-3 for turn in turns):
            faults.append(
                stop("lay.rotation", placement.label, f"{placement.label} is turned by {placement.rotation:g}°.")
            )
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
            overlap = shape.intersection(neighbour).area
            if overlap > slack * slack or (gap and shape.distance(neighbour) < gap):
                faults.append(
                    stop(
                        "lay.overlap",
                        plan.placements[index].label,
                        f"{plan.placements[index].label} and {plan.placements[int(other)].label} lie too close.",
                    )
                )
    return tuple(faults)
