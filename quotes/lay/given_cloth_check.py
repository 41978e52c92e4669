"""Is a lay on given cloth true? Repeats, flaws and remnants held against plain geometry, whoever made the lay."""

import math
from collections import Counter, defaultdict

import shapely
from shapely import Polygon
from shapely.affinity import rotate

from inventory.ground.findings import Finding, stop
from quotes.lay.check import TOLERANCE, outside, too_close
from quotes.lay.lay_plan import LayPiece, LayPlan, LayProblem, Placement

__all__ = ["given_cloth_faults"]


def given_cloth_faults(problem: LayProblem, plan: LayPlan) -> tuple[Finding, ...]:
    """Return what is wrong with a lay: pieces missing, deformed, outside, overlapping, off their repeat, on a flaw."""
    hair = TOLERANCE * problem.width
    faults = []
    wanted = Counter({piece.label: piece.copies for piece in problem.pieces})
    if Counter(row.label for row in plan.placements) != wanted:
        faults.append(stop("lay.pieces", "lay", "Some pieces are missing from the lay, or there too often."))
    pieces = {piece.label: piece for piece in problem.pieces}
    by_cloth: dict[int | None, list[Placement]] = defaultdict(list)
    for row in plan.placements:
        by_cloth[row.remnant].append(row)
        if row.label in pieces:
            faults += _own_faults(pieces[row.label], row, problem, hair)
    for which, rows in by_cloth.items():
        if which is None:
            width, length, flaws = problem.width, plan.length, problem.flaws
        elif 0 <= which < len(problem.remnants):
            width, length, flaws = problem.remnants[which].width, problem.remnants[which].length, ()
        else:
            faults.append(stop("lay.remnant", rows[0].label, f"There is no remnant {which}."))
            continue
        faults += outside(rows, width, length, hair)
        faults += _on_flaws(rows, flaws, hair)
        faults += too_close(rows, problem.spacing, hair)
    return tuple(faults)


def _own_faults(piece: LayPiece, row: Placement, problem: LayProblem, hair: float) -> list[Finding]:
    """What is wrong with a piece by itself: its turn, its shape, its repeat."""
    if not any(abs(math.remainder(row.rotation - turn, 360)) < 1e-6 for turn in piece.rotations):
        return [stop("lay.rotation", row.label, f"{row.label} is turned by {row.rotation:g}°.")]
    true = shapely.get_coordinates(rotate(Polygon(piece.outline), row.rotation, origin=(0, 0)).exterior)[:-1]
    if len(true) != len(row.outline):
        return [stop("lay.outline", row.label, f"{row.label} has not the outline of its piece.")]
    moves = shapely.get_coordinates(shapely.linestrings(row.outline)) - true
    move = moves.mean(axis=0)
    if abs(moves - move).max() > hair:
        return [stop("lay.outline", row.label, f"{row.label} has not the outline of its piece.")]
    repeat = problem.repeat
    for moved, every in zip(move.tolist(), (repeat.along, repeat.across) if repeat else (), strict=False):
        if every and abs(math.remainder(moved, every)) > hair:
            return [
                stop("lay.repeat", row.label, f"{row.label} lies off its repeat by {math.remainder(moved, every):.3g}.")
            ]
    return []


def _on_flaws(
    rows: list[Placement], flaws: tuple[tuple[float, float, float, float], ...], hair: float
) -> list[Finding]:
    places = [shapely.box(*flaw).buffer(-min(hair, (flaw[2] - flaw[0]) / 4, (flaw[3] - flaw[1]) / 4)) for flaw in flaws]
    return [
        stop("lay.on-flaw", row.label, f"{row.label} lies on a flaw.")
        for row in rows
        if any(Polygon(row.outline).intersects(place) for place in places)
    ]
