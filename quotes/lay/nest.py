"""Drawing a lay: irregular strip packing by an engine in a process of its own, checked, never worse than rows.

Effort is time: quick 1 s, normal 2 s, thorough 20 s a lay. The same problem gives the same lay where the search ends
before its time; where the clock binds, runs may differ by a little, so lays are kept rather than drawn again.
"""

import hashlib
import json
import math
import os
import subprocess
import sys
import time
from collections.abc import Hashable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import repeat
from pathlib import Path
from typing import TypeVar

from shapely import Polygon

from inventory.ground.findings import Finding, Refused, stop
from quotes.lay.check import lay_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Placement
from quotes.lay.rows import row_lay
from quotes.pattern.geometry import Polyline

__all__ = ["lay", "lay_all", "problem_key", "relabelled"]

SECONDS = {Effort.QUICK: 1, Effort.NORMAL: 2, Effort.THOROUGH: 20}
LAYS_AT_ONCE = 2
STARTING_SECONDS = 10.0
"""How much longer than its search a packing process may live."""
SIMPLIFY_SHARE = 5e-4
"""The engine gets outlines simplified outward by this share of the width; what is drawn and checked is the true one."""
Key = TypeVar("Key", bound=Hashable)
_PROJECT = Path(__file__).resolve().parents[2]


def lay(problem: LayProblem, effort: Effort) -> LayPlan:
    """Return a checked lay.

    Raises:
        Refused: a piece that no allowed turning makes fit the width, an outline that is no simple shape, no pieces,
            or a width that is not more than zero.
    """
    faults = _faults(problem)
    if faults:
        raise Refused(faults)
    started = time.monotonic()
    length, placements, method = *row_lay(problem), "rows"
    if effort in SECONDS:
        packed = _packed(problem, SECONDS[effort])
        packed_length = max((x for placement in packed for x, _ in placement.outline), default=0.0)
        if packed_length < length:
            is_true = packed and not lay_faults(problem, _plan(problem, packed_length, packed, effort, 0.0, "packed"))
            length, placements, method = (
                (packed_length, packed, "packed") if is_true else (length, placements, "failed")
            )
    return _plan(problem, length, placements, effort, time.monotonic() - started, method)


def lay_all(problems: Mapping[Key, LayProblem], effort: Effort) -> dict[Key, LayPlan]:
    """Return the lays of several cloths by their keys, two drawn at a time.

    Problems that differ only in their labels are drawn once.
    """
    distinct = {problem_key(problem, effort): problem for problem in problems.values()}
    with ThreadPoolExecutor(LAYS_AT_ONCE) as pool:
        plans = dict(zip(distinct, pool.map(lay, distinct.values(), repeat(effort)), strict=True))
    return {
        key: relabelled(plans[same], distinct[same], problem)
        for key, problem in problems.items()
        for same in (problem_key(problem, effort),)
    }


def relabelled(plan: LayPlan, drawn: LayProblem, problem: LayProblem) -> LayPlan:
    """Return the plan of one problem with the labels of another that is alike but for them."""
    names = {old.label: new.label for old, new in zip(drawn.pieces, problem.pieces, strict=True)}
    return replace(plan, placements=tuple(replace(row, label=names[row.label]) for row in plan.placements))


def problem_key(problem: LayProblem, effort: Effort) -> str:
    """Return a key that is the same for the same lay, whatever its pieces are called, to keep drawn lays by."""
    told = json.dumps(
        [
            effort.value,
            round(problem.width, 4),
            round(problem.spacing, 4),
            [
                [piece.copies, piece.rotations, [[round(x, 3), round(y, 3)] for x, y in piece.outline]]
                for piece in problem.pieces
            ],
            *([] if problem.is_plain else [repr((problem.repeat, problem.flaws, problem.remnants))]),
        ]
    )
    return hashlib.sha256(told.encode()).hexdigest()


def _faults(problem: LayProblem) -> list[Finding]:
    if not (math.isfinite(problem.width) and problem.width > 0):
        return [stop("lay.width", "width", f"A width of {problem.width:g} is not more than zero.")]
    if not problem.pieces:
        return [stop("lay.no-pieces", "lay", "There is nothing to lay.")]
    faults = []
    for piece in problem.pieces:
        finite = all(math.isfinite(value) for point in piece.outline for value in point)
        if not finite or len(piece.outline) < 3 or not Polygon(piece.outline).is_valid:
            faults.append(stop("lay.outline", piece.label, f"The outline of {piece.label} is no simple closed shape."))
        elif piece.copies < 1 or not piece.rotations:
            faults.append(stop("lay.copies", piece.label, f"{piece.label} has no copies or no way to lie."))
        else:
            across = min(_extent(_turned(piece.outline, turn)) for turn in piece.rotations)
            if across > problem.width * (1 + 1e-9):
                faults.append(
                    stop(
                        "lay.piece-wider-than-cloth",
                        piece.label,
                        f"{piece.label} is {across:.0f} wide; the cloth is {problem.width:.0f} wide.",
                        "Take a wider cloth, or part the piece.",
                    )
                )
    return faults


def _packed(problem: LayProblem, seconds: int) -> tuple[Placement, ...]:
    """The engine's placements of the true outlines; none where it failed."""
    tolerance = SIMPLIFY_SHARE * problem.width
    request = {
        # The engine keeps its spacing to the edges as well; here it is wanted between pieces only.
        "width": problem.width + problem.spacing,
        "spacing": problem.spacing,
        "seconds": seconds,
        "items": [
            {
                "outline": _simplified(piece.outline, tolerance),
                "copies": piece.copies,
                "rotations": list(piece.rotations),
            }
            for piece in problem.pieces
        ],
    }
    try:
        done = subprocess.run(
            [sys.executable, "-m", "quotes.lay.packer"],
            input=json.dumps(request).encode(),
            capture_output=True,
            timeout=seconds + STARTING_SECONDS,
            env={**os.environ, "PYTHONPATH": str(_PROJECT)},
            cwd=_PROJECT,
            check=True,
        )
        answer = json.loads(done.stdout)
    except (OSError, subprocess.SubprocessError, ValueError):
        return ()
    if not answer:
        return ()
    copies: dict[int, int] = {}
    moved = []
    for row in answer:
        piece = problem.pieces[row["item"]]
        copies[row["item"]] = copies.get(row["item"], 0) + 1
        outline = tuple((x + row["x"], y + row["y"]) for x, y in _turned(piece.outline, row["turn"]))
        moved.append((piece, copies[row["item"]], row["turn"] % 360, outline))
    left = min(x for _, _, _, outline in moved for x, _ in outline)
    low = min(y for _, _, _, outline in moved for _, y in outline)
    return tuple(
        Placement(label=piece.label, copy=copy, rotation=turn, outline=tuple((x - left, y - low) for x, y in outline))
        for piece, copy, turn, outline in moved
    )


def _simplified(outline: Polyline, tolerance: float) -> list[tuple[float, float]]:
    """The outline with fewer points, nowhere inside the true one."""
    shape = Polygon(outline)
    if len(outline) <= 12:
        return list(outline)
    outer = shape.buffer(tolerance, join_style="mitre").simplify(tolerance)
    whole = outer if outer.geom_type == "Polygon" and outer.contains(shape) else shape.buffer(tolerance)
    return [(float(x), float(y)) for x, y in whole.exterior.coords[:-1]]


def _plan(
    problem: LayProblem,
    length: float,
    placements: tuple[Placement, ...],
    effort: Effort,
    seconds: float,
    method: str,
) -> LayPlan:
    area = math.fsum(Polygon(piece.outline).area * piece.copies for piece in problem.pieces)
    longest = max(_shortest_along(piece) for piece in problem.pieces)
    return LayPlan(
        width=problem.width,
        length=length,
        density_share=area / (length * problem.width),
        lower_bound=max(area / problem.width, longest),
        placements=placements,
        effort=effort,
        seconds=seconds,
        method=method,
    )


def _shortest_along(piece: LayPiece) -> float:
    """The least length along the cloth that a piece takes in any way it may lie."""
    spans = []
    for turn in piece.rotations:
        xs = [x for x, _ in _turned(piece.outline, turn)]
        spans.append(max(xs) - min(xs))
    return min(spans)


def _extent(outline: Polyline) -> float:
    ys = [y for _, y in outline]
    return max(ys) - min(ys)


def _turned(outline: Polyline, degrees: float) -> Polyline:
    turn = math.radians(degrees)
    cos, sin = math.cos(turn), math.sin(turn)
    return tuple((x * cos - y * sin, x * sin + y * cos) for x, y in outline)
