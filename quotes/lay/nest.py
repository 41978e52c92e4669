"""Drawing a lay: irregular strip packing by an engine in a process of its own, pushed together, checked, never worse than rows.

Effort is time of the processor that the engine may take for a lay, alike on an idle machine and on a busy one. With the same
seed the engine takes the same way; how far it comes in its time differs a little, so lays are kept rather than drawn again.
"""

import hashlib
import json
import math
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from shapely import Polygon

from inventory.ground.findings import Finding, Refused, stop
from quotes.defaults import desk_defaults
from quotes.lay.check import lay_faults
from quotes.lay.compaction import compacted
from quotes.lay.filling import bottom_left
from quotes.lay.fitting import breadth, width_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Placement
from quotes.lay.packing import Ended, PackedItem, PackedLay, PackedPiece, Stop, pack
from quotes.lay.rows import row_lay
from quotes.pattern.geometry import Polyline, turned

__all__ = ["CPU_SECONDS", "Search", "lay", "problem_key", "relabelled"]

_DEFAULTS = desk_defaults().lay
CPU_SECONDS = {
    Effort.QUICK: _DEFAULTS.quick_cpu_seconds,
    Effort.NORMAL: _DEFAULTS.normal_cpu_seconds,
    Effort.THOROUGH: _DEFAULTS.thorough_cpu_seconds,
}
"""What the engine may take for a lay, all its threads together."""
WORKERS = 2
"""Threads of one search; more starts with less time each find worse lays than one start."""
SEED = 20
SIMPLIFY_SHARE = 1e-4
"""The engine gets outlines simplified outward by this share of the width; what is drawn and checked is the true one."""
AT_BOUND_SHARE = 1e-6
"""A lay this little longer than what no lay can beat is searched no further."""
NEAR_BOUND_SHARE = 0.1
"""A lay this little longer than that is pushed together as soon as it is found, in case it comes there."""
CONSIDERED_AGAIN_SHARE = 1e-3
"""So much shorter than the last one that was pushed together has the next one to be."""
MOST_FILLED = 60
"""More pieces are not put down one by one: that takes longer than it is worth."""
CHOSEN_FROM = 5
"""Of the shortest lays so many are pushed together; now and then another than the shortest comes out best."""
CHOOSING_CPU_SECONDS = 1.0
"""After so much time of the processor no other is pushed together: only lays of hundreds of pieces take that long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """How a lay is searched for, beside its effort.

    Attributes:
        cpu_seconds: of the processor, instead of what the effort gives.
        workers: threads of the engine.
        seed: of the engine.
        on_progress: told of the length of each shorter lay as it is found.
        stop: asks the search to end; what was found by then is kept.
    """

    cpu_seconds: float | None = None
    workers: int = WORKERS
    seed: int = SEED
    on_progress: Callable[[float], None] | None = None
    stop: Stop | None = None


USUAL = Search()


def lay(problem: LayProblem, effort: Effort, search: Search = USUAL) -> LayPlan:
    """Return a checked lay.

    Args:
        search: how it is searched for, where the effort is not none.

    Raises:
        Refused: a piece that no allowed turning makes fit the width, an outline that is no simple shape, no pieces,
            or a width that is not more than zero; or no lay that is true.
    """
    faults = _faults(problem)
    if faults:
        raise Refused(faults)
    started = time.monotonic()
    rows = _plan(problem, row_lay(problem)[1], "rows")
    best = _true(problem, rows)
    if best is None:
        raise Refused(lay_faults(problem, rows))
    if effort is not Effort.NONE and not _is_at_bound(best):
        best = _filled(problem, best)
    if effort is not Effort.NONE and not _is_at_bound(best):
        found = _Found(problem=problem, best=best, on_progress=search.on_progress, reported=best.length)
        ended = _searched(problem, effort, search, found)
        best = replace(found.chosen(), method=found.method(ended))
    return replace(best, effort=effort, seconds=time.monotonic() - started)


def _filled(problem: LayProblem, best: LayPlan) -> LayPlan:
    """The shorter of the best so far and of pieces put down one by one, which finds exact fits that the engine misses."""
    if sum(piece.copies for piece in problem.pieces) > MOST_FILLED:
        return best
    placements = bottom_left(problem)
    filled = _true(problem, _plan(problem, placements, "filled")) if placements else None
    return filled if filled and filled.length < best.length else best


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
            faults += width_faults((piece,), problem.width)
    return faults


@dataclass(slots=True, kw_only=True)
class _Found:
    """What a search has found: `best` of the true lays, and the shortest ones that the engine told of.

    Their lengths are the engine's: the true ones are a hair shorter, and much where the lay can be pushed together.
    """

    problem: LayProblem
    best: LayPlan
    on_progress: Callable[[float], None] | None
    told: list[PackedLay] = field(default_factory=list)
    considered: float = math.inf
    reported: float
    is_any_true: bool = False

    def is_enough(self, lay: PackedLay) -> bool:
        """Take another lay, shorter than those before, and say whether none can be shorter than the best."""
        self.told = [lay, *self.told[: CHOSEN_FROM - 1]]
        length = lay.length - 2 * self.problem.spacing
        is_near = length < self.best.lower_bound * (1 + NEAR_BOUND_SHARE)
        if is_near and length < self.considered * (1 - CONSIDERED_AGAIN_SHARE):
            self.considered = length
            self.consider(lay)
        shortest = min(length, self.best.length)
        if self.on_progress and shortest < self.reported:
            self.on_progress(shortest)
        self.reported = min(shortest, self.reported)
        return _is_at_bound(self.best)

    def consider(self, lay: PackedLay) -> None:
        """Keep what becomes of a lay that is pushed together where that is the shortest true one."""
        true = _true(self.problem, _plan(self.problem, _placed(self.problem, lay.pieces), "packed"))
        self.is_any_true = self.is_any_true or true is not None
        if true and true.length < self.best.length:
            self.best = true

    def chosen(self) -> LayPlan:
        """The shortest true lay that comes of those told of, or the one in rows."""
        until = time.thread_time() + CHOOSING_CPU_SECONDS
        for lay in self.told:
            if not _is_at_bound(self.best) and (time.thread_time() < until or not self.is_any_true):
                self.consider(lay)
        return self.best

    def method(self, ended: Ended) -> str:
        """What is said of how the best came about, once it is chosen."""
        if ended is Ended.STOPPED:
            return "stopped"
        if not self.is_any_true:
            return "failed"
        return "cut short" if ended is Ended.FAULT else self.best.method


def _searched(problem: LayProblem, effort: Effort, search: Search, found: _Found) -> Ended:
    """Let the engine search, and return why it ended."""
    tolerance = SIMPLIFY_SHARE * problem.width
    items = [
        PackedItem(outline=_simplified(piece.outline, tolerance), copies=piece.copies, rotations=piece.rotations)
        for piece in problem.pieces
    ]
    widest = max(min(breadth(item.outline, turn) for turn in item.rotations) for item in items)
    return pack(
        items,
        # The engine keeps its spacing to both edges as well; here it is wanted between pieces only.
        width=max(problem.width, widest) + 2 * problem.spacing,
        spacing=problem.spacing,
        cpu_seconds=CPU_SECONDS[effort] if search.cpu_seconds is None else search.cpu_seconds,
        workers=search.workers,
        seed=search.seed,
        is_enough=found.is_enough,
        stop=search.stop,
    )


def _placed(problem: LayProblem, pieces: tuple[PackedPiece, ...]) -> tuple[Placement, ...]:
    """The true outlines where the engine placed its own, moved to where the cloth begins."""
    copies: Counter[int] = Counter()
    lying = []
    for row in pieces:
        piece = problem.pieces[row.item]
        copies[row.item] += 1
        # The engine reckons with single precision, and gives 180 as −180 now and then.
        turn = min(piece.rotations, key=lambda allowed: abs(math.remainder(row.turn - allowed, 360)))
        outline = tuple((x + row.x, y + row.y) for x, y in turned(piece.outline, turn))
        lying.append(Placement(label=piece.label, copy=copies[row.item], rotation=turn % 360, outline=outline))
    left = min(x for placement in lying for x, _ in placement.outline)
    low = min(y for placement in lying for _, y in placement.outline)
    return tuple(
        replace(placement, outline=tuple((x - left, y - low) for x, y in placement.outline)) for placement in lying
    )


def _true(problem: LayProblem, plan: LayPlan) -> LayPlan | None:
    """The lay pushed together, or as it was where that is shorter or not true; none where that is not true either."""
    outlines = compacted(
        [placement.outline for placement in plan.placements], width=problem.width, spacing=problem.spacing
    )
    moved = tuple(
        replace(placement, outline=outline) for placement, outline in zip(plan.placements, outlines, strict=True)
    )
    pushed = _plan(problem, moved, plan.method)
    lays = sorted((pushed, plan), key=lambda either: either.length)
    return next((either for either in lays if not lay_faults(problem, either)), None)


def _is_at_bound(plan: LayPlan) -> bool:
    return plan.length <= plan.lower_bound * (1 + AT_BOUND_SHARE)


def _simplified(outline: Polyline, tolerance: float) -> Polyline:
    """The outline with fewer points, nowhere inside the true one."""
    shape = Polygon(outline)
    if len(outline) <= 12:
        return outline
    outer = shape.buffer(tolerance, join_style="mitre").simplify(tolerance)
    whole = outer if outer.geom_type == "Polygon" and outer.contains(shape) else shape.buffer(tolerance)
    return tuple((float(x), float(y)) for x, y in whole.exterior.coords[:-1])


def _plan(problem: LayProblem, placements: tuple[Placement, ...], method: str) -> LayPlan:
    """A lay whose effort and time are not known yet."""
    area = math.fsum(Polygon(piece.outline).area * piece.copies for piece in problem.pieces)
    longest = max(_shortest_along(piece) for piece in problem.pieces)
    length = max(x for placement in placements for x, _ in placement.outline)
    return LayPlan(
        width=problem.width,
        length=length,
        density_share=area / (length * problem.width),
        lower_bound=max(area / problem.width, longest),
        placements=placements,
        effort=Effort.NONE,
        seconds=0.0,
        method=method,
    )


def _shortest_along(piece: LayPiece) -> float:
    """The least length along the cloth that a piece takes in any way it may lie."""
    spans = []
    for turn in piece.rotations:
        xs = [x for x, _ in turned(piece.outline, turn)]
        spans.append(max(xs) - min(xs))
    return min(spans)
