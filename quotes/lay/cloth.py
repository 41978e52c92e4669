"""Pieces laid on the roll with its repeat and its flaws, or on a remnant, as far as a budget goes."""

import math
import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace

import shapely

from inventory.ground.findings import refuse
from quotes.lay.budget import ENDLESS, Budget, OverError, Stop, Watch
from quotes.lay.filling import Cloth, Filling, Shapes
from quotes.lay.fitting import extents, that_fit
from quotes.lay.lay_plan import Box, LayPiece, LayPlan, LayProblem, Placement
from quotes.lay.remnants import used_of_remnants
from quotes.lay.true_lays import pushed_together
from quotes.pattern.geometry import Polyline, as_polygon, ring_area_mm2

__all__ = ["Laid", "Maker", "PlainLay", "areas_of", "placed_on"]

_ENGINE_SHARE, _FILLING_SHARE = 0.5, 0.4
"""Of what a roll with flaws may take: for the engine, and for pieces put down one by one; the rest is for mending."""

PlainLay = Callable[[LayProblem, float], LayPlan]
"""Lays a problem without repeat, flaws and remnants in so many seconds of the processor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """Pieces on the roll and on remnants; `length` of the roll."""

    length: float
    placements: tuple[Placement, ...]
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Maker:
    """Lays any of the pieces of a problem on the roll or on a remnant.

    Attributes:
        plain: lays what has neither repeat nor flaws; the same pieces on the same width are laid once.
        seed: of the orders that pieces are put down in.
        on_progress: told of the length of each shorter lay whose pieces are put down one after the other.
        stop: asks to end; what was found by then is kept.
    """

    problem: LayProblem
    plain: PlainLay
    seed: int
    on_progress: Callable[[float], None] | None = None
    stop: Stop | None = None
    _known: dict[LayProblem, LayPlan] = field(default_factory=dict)
    _drawn: list[Shapes] = field(default_factory=list)

    @property
    def searches_of_roll(self) -> int:
        """How many searches a lay on the roll takes: where it has flaws, its pieces are put down one after the other too."""
        return 2 if self.problem.flaws and not self.problem.repeat else 1

    def on_roll(self, labels: Sequence[str], budget: Budget) -> Laid:
        """The pieces on the roll alone; copies are numbered by whoever joins cloths."""
        if not labels:
            return Laid(length=0.0, placements=(), method="packed")
        if self.problem.repeat:
            return self.filled(labels, budget)
        roll = self.pieces_of(labels)
        if not self.problem.flaws:
            plain = self._plain(roll, budget)
            return Laid(length=plain.length, placements=plain.placements, method=plain.method)
        plain = self._plain(roll, budget.parted(_ENGINE_SHARE))
        shifted = _past_flaws(plain, roll, self.problem.flaws)
        filled = self.filled(labels, budget.parted(_FILLING_SHARE))
        mended = self.mended(plain, budget.parted(1 - _ENGINE_SHARE - _FILLING_SHARE))
        return min(filled, shifted, *mended, key=lambda laid: laid.length)

    def without(self, roll: Laid, labels: Sequence[str], watch: Watch) -> Laid:
        """The roll as it was laid, but with these of its pieces alone, those that lie nearest to its beginning; pushed together
        where nothing has to match and nothing to be left out.
        """
        left = Counter(labels)
        rows = []
        for row in sorted(roll.placements, key=lambda row: max(x for x, _ in row.outline)):
            if left[row.label]:
                left[row.label] -= 1
                rows.append(row)
        problem = self.pieces_of(labels)
        if rows and replace(self.problem, remnants=()).is_plain:
            first = min(x for row in rows for x, _ in row.outline)
            moved = tuple(replace(row, outline=tuple((x - first, y) for x, y in row.outline)) for row in rows)
            plan = pushed_together(problem, moved, watch)
            if plan is not None:
                return Laid(length=plan.length, placements=plan.placements, method=roll.method)
        length = max((x for row in rows for x, _ in row.outline), default=0.0)
        return Laid(length=length, placements=tuple(rows), method=roll.method)

    def pieces_of(self, labels: Sequence[str]) -> LayProblem:
        """The plain problem of some of the pieces."""
        pieces = tuple(
            replace(piece, copies=count) for piece in self.problem.pieces if (count := labels.count(piece.label))
        )
        return replace(self.problem, pieces=pieces, repeat=None, flaws=(), remnants=())

    @property
    def shapes(self) -> Shapes:
        """Of all pieces; where each two of them must not lie is worked out once, on whatever cloth."""
        if not self._drawn:
            self._drawn.append(self._shapes())
        return self._drawn[0]

    def _shapes(self, *, are_boxes: bool = False) -> Shapes:
        problem = self.problem
        return Shapes(
            problem.pieces,
            width=problem.width,
            spacing=problem.spacing,
            repeat=problem.repeat,
            are_boxes=are_boxes,
        )

    @property
    def roll(self) -> Cloth:
        return Cloth(width=self.problem.width, flaws=self.problem.flaws, repeat=self.problem.repeat)

    def filled(self, labels: Sequence[str], budget: Budget) -> Laid:
        """The pieces put on the roll one after the other, in the order that comes out shortest.

        One round is made in any case: where its time is over, or somebody asks to stop, with boxes around the pieces.
        """
        kept = list[Filling]()
        watch = Watch(stop=self.stop).within(budget.seconds)
        # An effort says how long orders are tried, seconds how long all may take.
        first = watch if budget.is_for_all else replace(watch, until=math.inf)
        for order in _orders(self.pieces_of(labels).pieces, labels, kept, self.seed):
            filling = Filling(self.roll, self.shapes, watch if kept else first)
            try:
                is_shorter = _is_shorter(filling, order, kept)
            except OverError:
                break
            if is_shorter:
                kept.append(filling)
                self._tell(filling.length)
            if watch.is_over():
                break
        if not kept:
            kept.append(Filling(self.roll, self._shapes(are_boxes=True), replace(ENDLESS, stop=_Heard(self.stop))))
            areas = areas_of(self.problem.pieces)
            _is_shorter(kept[0], sorted(labels, key=lambda label: -areas[label]), ())
            self._tell(kept[0].length)
        is_stopped = bool(self.stop and self.stop.is_set())
        return Laid(
            length=kept[-1].length,
            placements=kept[-1].placements(),
            method="stopped" if is_stopped else "filled",
        )

    def _tell(self, length: float) -> None:
        if self.on_progress:
            self.on_progress(length)

    def mended(self, plain: LayPlan, budget: Budget) -> Iterator[Laid]:
        """A plain lay whose pieces on flaws are put elsewhere, largest first; none where that takes too long."""
        filling = Filling(self.roll, self.shapes, Watch(stop=self.stop).within(budget.seconds))
        moved = []
        for row in plain.placements:
            if _is_on(row.outline, self.problem.flaws):
                moved.append(row.label)
            else:
                turns = self.shapes.turns(row.label)
                turn = min(
                    range(len(turns)), key=lambda index: abs(math.remainder(turns[index].rotation - row.rotation, 360))
                )
                first, true = row.outline[0], turns[turn].outline[0]
                filling.keep(row.label, turn, (first[0] - true[0], first[1] - true[1]))
        areas = areas_of(self.problem.pieces)
        with suppress(OverError):
            if all(filling.add(label) for label in sorted(moved, key=lambda label: -areas[label])):
                yield Laid(length=filling.length, placements=filling.placements(), method="packed")

    def on_remnant(self, labels: Sequence[str], which: int, watch: Watch) -> tuple[tuple[Placement, ...], list[str]]:
        """What of the pieces fills a remnant best, and what is left of them. Raises OverError when the watch is over."""
        remnant = self.problem.remnants[which]
        cloth = Cloth(width=remnant.width, length=remnant.length, repeat=self.problem.repeat)
        areas, spans = areas_of(self.problem.pieces), spans_of(self.problem.pieces)
        fitting = that_fit(self.problem.pieces, remnant)
        found = []
        for weight in (areas, spans):
            filling = Filling(cloth, self.shapes, watch)
            full: set[str] = set()
            for label in sorted(labels, key=lambda label: -weight[label]):
                if label in fitting and label not in full and not filling.add(label):
                    full.add(label)
            found.append((math.fsum(areas[label] for label, _, _ in filling.put), filling))
        _, best = max(found, key=lambda pair: pair[0])
        left = list(labels)
        for label, _, _ in best.put:
            left.remove(label)
        return best.placements(remnant=which), left

    def plain_on(self, labels: Sequence[str], which: int, budget: Budget) -> LayPlan:
        """The engine's lay of some of the pieces on the width of a remnant, however long it is."""
        return self._plain(replace(self.pieces_of(labels), width=self.problem.remnants[which].width), budget)

    def _plain(self, problem: LayProblem, budget: Budget) -> LayPlan:
        if problem not in self._known:
            self._known[problem] = self.plain(problem, budget.seconds)
        return self._known[problem]

    def may_tighten(self, placements: Sequence[Placement]) -> tuple[int, ...]:
        """The remnants whose rest would go back, so that it counts how much of them is used."""
        if self.problem.repeat:
            return ()
        begun = used_of_remnants(placements)
        return tuple(which for which in begun if self.problem.remnants[which].keep_length is not None)

    def tightened(self, placements: Sequence[Placement], budget: Budget) -> tuple[Placement, ...]:
        """Pieces on remnants laid anew by the engine where that takes less of a remnant, so that more of it goes back."""
        may = self.may_tighten(placements)
        if not may:
            return tuple(placements)
        tight: list[Placement] = []
        for which, used in used_of_remnants(placements).items():
            rows = tuple(row for row in placements if row.remnant == which)
            if which in may:
                plan = self.plain_on([row.label for row in rows], which, budget)
                rows = placed_on(which, plan) if plan.length < used else rows
            tight += rows
        return tuple(tight)


@dataclass(frozen=True, slots=True)
class _Heard:
    """Gives signs of life, and is not stopped: what somebody who asks to stop has to wait for is soon over."""

    stop: Stop | None

    def is_set(self) -> bool:
        if self.stop:
            self.stop.is_set()
        return False


def _is_shorter(filling: Filling, order: Sequence[str], kept: Sequence[Filling]) -> bool:
    """Put pieces down in an order, as long as that is shorter than what was kept last, and tell whether it is in the end."""
    for label in order:
        if not filling.add(label):
            raise refuse(
                "lay.no-place",
                f"piece {label}",
                f"Piece {label} finds no place on the cloth.",
                "Take a wider cloth.",
            )
        if kept and filling.length >= kept[-1].length:
            return False
    return True


def placed_on(which: int, plan: LayPlan) -> tuple[Placement, ...]:
    """The pieces of a plan, as they lie on a remnant."""
    return tuple(replace(row, remnant=which) for row in plan.placements)


def _orders(
    pieces: Sequence[LayPiece], labels: Sequence[str], kept: Sequence[Filling], seed: int
) -> Iterator[list[str]]:
    """Orders to put pieces down in: by area, by length, by breadth, then the last one kept with some places changed."""
    areas, spans, breadths = areas_of(pieces), spans_of(pieces), spans_of(pieces, axis=1)
    for weight in (areas, spans, breadths):
        yield sorted(labels, key=lambda label: (-weight[label], label))
    dice = random.Random(seed)
    while True:
        order = [label for label, _, _ in kept[-1].put]
        for _ in range(dice.randint(1, 3)):
            here, there = dice.randrange(len(order)), dice.randrange(len(order))
            order.insert(there, order.pop(here))
        yield order


def _past_flaws(plain: LayPlan, problem: LayProblem, flaws: tuple[Box, ...]) -> Laid:
    """A plain lay moved along until no piece lies on a flaw, as it is or turned end for end where all pieces may be."""
    laid = [plain.placements]
    if all(
        any(abs(math.remainder(turn - other - 180, 360)) < 1e-6 for other in piece.rotations)
        for piece in problem.pieces
        for turn in piece.rotations
    ):
        laid.append(
            tuple(
                replace(
                    row,
                    rotation=(row.rotation + 180) % 360,
                    outline=tuple((plain.length - x, problem.width - y) for x, y in row.outline),
                )
                for row in plain.placements
            )
        )
    found = []
    for rows in laid:
        for offset in sorted({0.0, *(max(flaw[2], 0.0) for flaw in flaws)}):
            moved = tuple(replace(row, outline=tuple((x + offset, y) for x, y in row.outline)) for row in rows)
            if not any(_is_on(row.outline, flaws) for row in moved):
                found.append(Laid(length=plain.length + offset, placements=moved, method=plain.method))
                break
    return min(found, key=lambda one: one.length)


def _is_on(outline: Polyline, flaws: Sequence[Box]) -> bool:
    shape = as_polygon(outline)
    return any(shape.intersects(flaw := shapely.box(*corners)) and not shape.touches(flaw) for corners in flaws)


def areas_of(pieces: Sequence[LayPiece]) -> dict[str, float]:
    return {piece.label: ring_area_mm2(piece.outline) for piece in pieces}


def spans_of(pieces: Sequence[LayPiece], axis: int = 0) -> dict[str, float]:
    """How far each piece reaches along the cloth (axis 0) or across it, at least, in its turns."""
    return {piece.label: min(extent[axis] for extent in extents(piece)) for piece in pieces}
