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

from inventory.ground.findings import Finding, Refused, stop
from quotes.defaults import desk_defaults
from quotes.lay.beginnings import begun
from quotes.lay.budget import Stop, Watch
from quotes.lay.check import lay_faults
from quotes.lay.fitting import breadth, width_faults
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem, Placement
from quotes.lay.packing import Ended, PackedItem, PackedLay, PackedPiece, pack
from quotes.lay.rows import row_lay
from quotes.lay.simpler import with_room
from quotes.lay.true_lays import is_at_bound, plan_of, true_lay
from quotes.pattern.geometry import as_polygon, at_origin, turned

__all__ = ["SEED", "WORKERS", "Search", "cpu_seconds", "lay", "problem_key", "relabelled"]

_DEFAULTS = desk_defaults().lay
WORKERS = 2
"""Threads of one search; more starts with less time each find worse lays than one start."""
SEED = 20
SIMPLER_SHARE = 5e-5
"""The engine gets outlines that are simpler, outward by this share of the width at most."""
NEAR_BOUND_SHARE = 0.1
"""A lay this little longer than that is pushed together as soon as it is found, in case it comes there."""
CONSIDERED_AGAIN_SHARE = 1e-3
"""So much shorter than the last one that was pushed together has the next one to be."""
CHOSEN_FROM = 5
"""Of the shortest lays so many are pushed together; now and then another than the shortest comes out best."""
BEGINNING_SHARE, CHOOSING_SHARE = 0.1, 0.05
"""Beside the seconds that the engine is given: so much of them at the most for what a lay begins with, and for pushing together
what the engine found."""
BEGINNING_TIMES, CHOOSING_TIMES = 0.5, 0.25
"""The same beside the time of an effort, which is shorter."""
MOST_PUSHED_SHARE = 0.05
"""A lay of the engine's that is longer than another by more than this share is not pushed together: that brings less."""
CHOOSING_CPU_SECONDS = 1.0
"""For more no other lay of the engine's is pushed together: only hundreds of pieces take that long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """How a lay is searched for, beside its effort.

    Attributes:
        cpu_seconds: of the processor for the engine, instead of what the effort gives to it.
        workers: threads of the engine.
        seed: of the engine, and of the orders that pieces are put down in on given cloth.
        niceness: how far the search stands back for other programs, from 0 to 19; of `lay` itself, the engine alone.
        on_progress: told of the length of each shorter lay as it is found.
        stop: asks the search to end; what was found by then is kept.
    """

    cpu_seconds: float | None = None
    workers: int = WORKERS
    seed: int = SEED
    niceness: int = 0
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
    # The engine reckons with single precision, which leaves few digits to an outline that is drawn far off.
    pieces = tuple(replace(piece, outline=at_origin(piece.outline)) for piece in problem.pieces)
    problem = replace(problem, pieces=pieces)
    rows = plan_of(problem, row_lay(problem)[1], "rows")
    if effort is Effort.NONE:
        best = _pushed_rows(problem, rows)
    else:
        best = _searched(problem, rows, _Time.of(problem, effort, search), search)
        if best.placements is rows.placements:
            best = replace(_pushed_rows(problem, rows), method=best.method)
        elif best.method == "stopped" and (pushed := true_lay(problem, rows)) and pushed.length < best.length:
            # It may have been stopped before it came to push the rows together.
            best = replace(pushed, method="stopped")
    return replace(best, effort=effort, seconds=time.monotonic() - started)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Time:
    """Seconds of the processor for what a lay begins with, for the engine and for choosing among what that found."""

    beginning: float
    engine: float
    choosing: float

    @classmethod
    def of(cls, problem: LayProblem, effort: Effort, search: Search) -> "_Time":
        engine = search.cpu_seconds
        beginning, choosing = BEGINNING_SHARE, CHOOSING_SHARE
        if engine is None:
            engine = cpu_seconds(problem, effort)
            beginning, choosing = BEGINNING_TIMES, CHOOSING_TIMES
        return cls(beginning=beginning * engine, engine=engine, choosing=min(CHOOSING_CPU_SECONDS, choosing * engine))


def _pushed_rows(problem: LayProblem, rows: LayPlan) -> LayPlan:
    best = true_lay(problem, rows)
    if best is None:
        raise Refused(lay_faults(problem, rows))
    return best


def _searched(problem: LayProblem, rows: LayPlan, time_for: _Time, search: Search) -> LayPlan:
    """The shortest of the rows, of what else a lay begins with, and of what the engine finds."""
    best = begun(problem, rows, seed=search.seed, seconds=time_for.beginning, watch=Watch(stop=search.stop))
    if is_at_bound(best):
        return best
    found = _Found(
        problem=problem, best=best, on_progress=search.on_progress, reported=best.length, seconds=time_for.choosing
    )
    ended = _packed(problem, time_for.engine, search, found)
    return replace(found.chosen(), method=found.method(ended))


def cpu_seconds(problem: LayProblem, effort: Effort) -> float:
    """Return for how many seconds of the processor a lay is searched for at an effort, all threads together."""
    if effort is Effort.NORMAL:
        count = sum(piece.copies for piece in problem.pieces)
        if count < _DEFAULTS.usual_pieces:
            return max(_DEFAULTS.quick_cpu_seconds, _DEFAULTS.normal_cpu_seconds * count / _DEFAULTS.usual_pieces)
        more = (count - _DEFAULTS.usual_pieces) * _DEFAULTS.normal_cpu_seconds_for_more
        return min(_DEFAULTS.normal_cpu_seconds + more, _DEFAULTS.thorough_cpu_seconds)
    of = {Effort.QUICK: _DEFAULTS.quick_cpu_seconds, Effort.THOROUGH: _DEFAULTS.thorough_cpu_seconds}
    return of.get(effort, 0.0)


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
        if not finite or len(piece.outline) < 3 or not as_polygon(piece.outline).is_valid:
            faults.append(stop("lay.outline", piece.label, f"The outline of {piece.label} is no simple closed shape."))
        elif piece.copies < 1 or not piece.rotations:
            faults.append(stop("lay.copies", piece.label, f"{piece.label} has no copies or no way to lie."))
        else:
            faults += width_faults((piece,), problem.width)
    return faults


@dataclass(slots=True, kw_only=True)
class _Found:
    """What a search has found: `best` of the true lays, and the shortest ones that the engine told of.

    Their lengths are the engine's: the true ones are a hair shorter, and much where the lay can be pushed together. `seconds` of
    the processor are left to push lays together: half of them while it is searched, those that may come to the bound.
    """

    problem: LayProblem
    best: LayPlan
    on_progress: Callable[[float], None] | None
    told: list[PackedLay] = field(default_factory=list)
    considered: float = math.inf
    reported: float
    seconds: float
    is_any_true: bool = False
    near: float = field(init=False)

    def __post_init__(self) -> None:
        self.near = self.seconds / 2

    def is_enough(self, lay: PackedLay) -> bool:
        """Take another lay, shorter than those before, and say whether none can be shorter than the best."""
        self.told = [lay, *self.told[: CHOSEN_FROM - 1]]
        length = lay.length - self.problem.spacing
        is_near = length < self.best.lower_bound * (1 + NEAR_BOUND_SHARE)
        if is_near and self.near > 0 and length < self.considered * (1 - CONSIDERED_AGAIN_SHARE):
            self.considered = length
            begun_at = time.thread_time()
            self.consider(lay, Watch().within(self.near))
            self.near -= time.thread_time() - begun_at
        shortest = min(length, self.best.length)
        if self.on_progress and shortest < self.reported:
            self.on_progress(shortest)
        self.reported = min(shortest, self.reported)
        return is_at_bound(self.best)

    def consider(self, lay: PackedLay, watch: Watch) -> None:
        """Keep what becomes of a lay that is pushed together where that is the shortest true one."""
        true = true_lay(self.problem, plan_of(self.problem, _placed(self.problem, lay.pieces), "packed"), watch)
        self.is_any_true = self.is_any_true or true is not None
        if true and true.length < self.best.length:
            self.best = true

    def chosen(self) -> LayPlan:
        """The shortest true lay that comes of those told of, or the one that was begun with."""
        watch = Watch().within(self.near + self.seconds / 2)
        for lay in self.told:
            is_close = lay.length - self.problem.spacing <= self.best.length * (1 + MOST_PUSHED_SHARE)
            # Whether any is true says whether rows lie there for want of anything better.
            has_to_be = self.best.method == "rows" and not self.is_any_true
            if not is_at_bound(self.best) and (has_to_be or (is_close and not watch.is_over())):
                self.consider(lay, watch)
        return self.best

    def method(self, ended: Ended) -> str:
        """What is said of how the best came about, once it is chosen."""
        if ended is Ended.STOPPED:
            return "stopped"
        if not self.is_any_true and self.best.method == "rows":
            return "failed"
        return "cut short" if ended is Ended.FAULT or not self.told else self.best.method


def _packed(problem: LayProblem, seconds: float, search: Search, found: _Found) -> Ended:
    """Let the engine search for so many seconds of the processor, and return why it ended."""
    # Half of the spacing goes with each piece. The engine could keep it too, but rounds the corners, which takes it longer.
    room, outward = problem.spacing / 2, SIMPLER_SHARE * problem.width
    items = [
        PackedItem(outline=with_room(piece.outline, room, outward), copies=piece.copies, rotations=piece.rotations)
        for piece in problem.pieces
    ]
    widest = max(min(breadth(item.outline, turn) for turn in item.rotations) for item in items)
    return pack(
        items,
        # Room at both edges, too; it is wanted between pieces only.
        width=max(problem.width + problem.spacing, widest),
        cpu_seconds=seconds,
        workers=search.workers,
        seed=search.seed,
        niceness=search.niceness,
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
