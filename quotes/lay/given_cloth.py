"""Lays on given cloth: a repeat to match, flaws to leave out, remnants to use first.

Least is the length of the roll together with the worth of every remnant that is begun, in lengths of the roll. Each choice of
remnants is tried where there are few; one is taken only where it costs less than the roll alone.
"""

import math
import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import shapely
from shapely import Polygon

from inventory.ground.findings import Finding, Refused, refuse, stop
from quotes.lay.filling import Cloth, Filling, Shapes
from quotes.lay.fitting import width_faults
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.lay_plan import Box, Effort, LayPiece, LayPlan, LayProblem, Placement, Remnant
from quotes.pattern.geometry import Polyline, turned

__all__ = ["MOST_REMNANTS_TRIED", "lay_on_given_cloth"]

MOST_REMNANTS_TRIED = 6
"""So many remnants are tried in every choice; of more, one by one and from the least worth for its area up."""
_ENGINE_TRIES = 3
"""Choices of remnants whose rest is laid by the engine; more are judged by their area."""
SEED = 20
PlainLay = Callable[[LayProblem], LayPlan]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """Pieces on the roll and on remnants; `length` of the roll."""

    length: float
    placements: tuple[Placement, ...]
    method: str


def lay_on_given_cloth(problem: LayProblem, effort: Effort, *, plain: PlainLay, seconds: float) -> LayPlan:
    """Return a checked lay on cloth with a repeat, flaws or remnants.

    Args:
        plain: lays a problem without any of them.
        seconds: of work for pieces put down one after the other; one round is made in any case.

    Raises:
        Refused: a piece that no allowed turning or whole repeat makes fit the roll.
    """
    started = time.monotonic()
    if faults := [*width_faults(problem.pieces, problem.width), *_repeat_faults(problem)]:
        raise Refused(faults)
    rows = [piece.label for piece in problem.pieces for _ in range(piece.copies)]
    maker = _Maker(problem=problem, effort=effort, plain=plain, seconds=seconds)
    best = maker.on_roll(rows)
    if problem.remnants:
        best = _with_remnants(maker, rows, best)
    plan = _plan(problem, best, effort, time.monotonic() - started)
    if faults := list(given_cloth_faults(problem, plan)):
        raise RuntimeError(f"A lay that is not true was made: {faults[0].message}")
    return plan


@dataclass(frozen=True, slots=True, kw_only=True)
class _Maker:
    """Lays any of the pieces of a problem on the roll or on a remnant."""

    problem: LayProblem
    effort: Effort
    plain: PlainLay
    seconds: float

    def on_roll(self, labels: Sequence[str]) -> _Laid:
        """The pieces on the roll alone; copies are numbered by whoever joins cloths."""
        if not labels:
            return _Laid(length=0.0, placements=(), method="packed")
        roll = self.pieces_of(labels)
        if self.problem.repeat:
            return self.filled(labels)
        plain = self.plain(roll)
        if not self.problem.flaws:
            return _Laid(length=plain.length, placements=plain.placements, method=plain.method)
        shifted = _past_flaws(plain, roll, self.problem.flaws)
        return min(self.filled(labels), shifted, self.mended(plain, labels), key=lambda laid: laid.length)

    def pieces_of(self, labels: Sequence[str]) -> LayProblem:
        """The plain problem of some of the pieces."""
        pieces = tuple(
            replace(piece, copies=count) for piece in self.problem.pieces if (count := labels.count(piece.label))
        )
        return LayProblem(width=self.problem.width, pieces=pieces, spacing=self.problem.spacing)

    def shapes(self, labels: Sequence[str]) -> Shapes:
        pieces = self.pieces_of(labels).pieces
        return Shapes(pieces, width=self.problem.width, spacing=self.problem.spacing, repeat=self.problem.repeat)

    @property
    def roll(self) -> Cloth:
        return Cloth(width=self.problem.width, flaws=self.problem.flaws, repeat=self.problem.repeat)

    def filled(self, labels: Sequence[str]) -> _Laid:
        """The pieces put on the roll one after the other, in the order that comes out shortest in the time."""
        shapes, kept = self.shapes(labels), list[Filling]()
        until = time.process_time() + self.seconds
        for order in _orders(self.pieces_of(labels).pieces, labels, kept):
            filling = Filling(self.roll, shapes)
            for label in order:
                if not filling.add(label):
                    raise refuse(
                        "lay.no-place",
                        f"piece {label}",
                        f"Piece {label} finds no place on the cloth.",
                        "Take a wider cloth.",
                    )
                if kept and filling.length >= kept[-1].length:
                    break
            else:
                kept.append(filling)
            if kept and time.process_time() >= until:
                break
        return _Laid(length=kept[-1].length, placements=kept[-1].placements(), method="filled")

    def mended(self, plain: LayPlan, labels: Sequence[str]) -> _Laid:
        """A plain lay whose pieces on flaws are put elsewhere, largest first."""
        shapes = self.shapes(labels)
        filling = Filling(self.roll, shapes)
        moved = []
        for row in plain.placements:
            if _is_on(row.outline, self.problem.flaws):
                moved.append(row.label)
            else:
                turns = shapes.turns(row.label)
                turn = min(
                    range(len(turns)), key=lambda index: abs(math.remainder(turns[index].rotation - row.rotation, 360))
                )
                first, true = row.outline[0], turns[turn].outline[0]
                filling.keep(row.label, turn, (first[0] - true[0], first[1] - true[1]))
        areas = _areas(self.problem.pieces)
        for label in sorted(moved, key=lambda label: -areas[label]):
            if not filling.add(label):
                return _Laid(length=math.inf, placements=(), method="filled")
        return _Laid(length=filling.length, placements=filling.placements(), method="packed")

    def on_remnant(self, labels: Sequence[str], which: int) -> tuple[tuple[Placement, ...], list[str]]:
        """What of the pieces fills a remnant best, and what is left of them."""
        remnant = self.problem.remnants[which]
        cloth = Cloth(width=remnant.width, length=remnant.length, repeat=self.problem.repeat)
        areas, spans = _areas(self.problem.pieces), _spans(self.problem.pieces)
        fitting = _that_fit(self.problem.pieces, remnant)
        shapes = self.shapes(labels)
        found = []
        for weight in (areas, spans):
            filling = Filling(cloth, shapes)
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


def _with_remnants(maker: _Maker, labels: Sequence[str], roll: _Laid) -> _Laid:
    """The least cost over the choices of remnants; the roll alone where none is worth it."""
    problem = maker.problem
    areas = _areas(problem.pieces)
    whole = math.fsum(areas[label] for label in labels)
    tried = []
    for choice in _choices(problem.remnants):
        placed: list[Placement] = []
        left = list(labels)
        for which in sorted(choice, key=lambda which: -problem.remnants[which].width * problem.remnants[which].length):
            if left:
                rows, left = maker.on_remnant(left, which)
                placed += rows
        worth = math.fsum(
            problem.remnants[which].worth for which in {row.remnant for row in placed} if which is not None
        )
        share = math.fsum(areas[label] for label in left) / whole
        if placed and worth < roll.length:
            tried.append((worth + roll.length * share, worth, tuple(placed), left))
    tried.sort(key=lambda one: one[0])
    best, cost = roll, roll.length
    for _, worth, placed_rows, left in tried[:_ENGINE_TRIES]:
        rest = maker.on_roll(left)
        if worth + rest.length < cost - 1e-9 * roll.length:
            cost = worth + rest.length
            best = _Laid(length=rest.length, placements=(*placed_rows, *rest.placements), method=rest.method)
    return best


def _choices(remnants: Sequence[Remnant]) -> Iterator[tuple[int, ...]]:
    """Which remnants to try together."""
    numbers = range(len(remnants))
    if len(remnants) <= MOST_REMNANTS_TRIED:
        for count in numbers:
            yield from combinations(numbers, count + 1)
        return
    yield from ((number,) for number in numbers)
    cheap = sorted(
        numbers, key=lambda number: remnants[number].worth / (remnants[number].width * remnants[number].length)
    )
    yield from (tuple(cheap[:count]) for count in range(2, len(cheap) + 1))


def _orders(pieces: Sequence[LayPiece], labels: Sequence[str], kept: Sequence[Filling]) -> Iterator[list[str]]:
    """Orders to put pieces down in: by area, by length, by breadth, then the last one kept with some places changed."""
    areas, spans, breadths = _areas(pieces), _spans(pieces), _spans(pieces, axis=1)
    for weight in (areas, spans, breadths):
        yield sorted(labels, key=lambda label: (-weight[label], label))
    dice = random.Random(SEED)
    while True:
        order = [label for label, _, _ in kept[-1].put]
        for _ in range(dice.randint(1, 3)):
            here, there = dice.randrange(len(order)), dice.randrange(len(order))
            order.insert(there, order.pop(here))
        yield order


def _past_flaws(plain: LayPlan, problem: LayProblem, flaws: tuple[Box, ...]) -> _Laid:
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
                found.append(_Laid(length=plain.length + offset, placements=moved, method=plain.method))
                break
    return min(found, key=lambda one: one.length)


def _is_on(outline: Polyline, flaws: Sequence[Box]) -> bool:
    shape = Polygon(outline)
    return any(shape.intersects(flaw := shapely.box(*corners)) and not shape.touches(flaw) for corners in flaws)


def _that_fit(pieces: Sequence[LayPiece], remnant: Remnant) -> set[str]:
    """The pieces whose box, in a turn that they may lie in, fits a remnant."""
    return {
        piece.label
        for piece in pieces
        if any(
            _extent(outline, 0) <= remnant.length * (1 + 1e-9) and _extent(outline, 1) <= remnant.width * (1 + 1e-9)
            for outline in (turned(piece.outline, turn) for turn in piece.rotations)
        )
    }


def _areas(pieces: Sequence[LayPiece]) -> dict[str, float]:
    return {piece.label: float(Polygon(piece.outline).area) for piece in pieces}


def _spans(pieces: Sequence[LayPiece], axis: int = 0) -> dict[str, float]:
    """How far each piece reaches along the cloth (axis 0) or across it, at least, in its turns."""
    return {
        piece.label: min(_extent(turned(piece.outline, turn), axis) for turn in piece.rotations) for piece in pieces
    }


def _extent(outline: Polyline, axis: int) -> float:
    values = [point[axis] for point in outline]
    return max(values) - min(values)


def _repeat_faults(problem: LayProblem) -> list[Finding]:
    """Pieces that fit the width, but at no whole repeat across."""
    across = problem.repeat.across if problem.repeat else 0.0
    if not across:
        return []
    faults = []
    for piece in problem.pieces:
        spans = [[y for _, y in turned(piece.outline, turn)] for turn in piece.rotations]
        if not any(_has_whole(-min(ys), problem.width - max(ys), across) for ys in spans):
            faults.append(
                stop(
                    "lay.repeat-too-wide",
                    f"piece {piece.label}",
                    f"Piece {piece.label} fits the cloth at no whole repeat of {across:g} across.",
                    "Move the origin of its outline to where the repeat is to meet it, or take a wider cloth.",
                )
            )
    return faults


def _has_whole(least: float, most: float, repeat: float) -> bool:
    hair = 1e-9 * (abs(least) + abs(most) + repeat)
    return math.ceil((least - hair) / repeat) <= math.floor((most + hair) / repeat)


def _plan(problem: LayProblem, laid: _Laid, effort: Effort, seconds: float) -> LayPlan:
    areas, spans = _areas(problem.pieces), _spans(problem.pieces)
    begun = {row.remnant for row in laid.placements if row.remnant is not None}
    whole = math.fsum(areas[piece.label] * piece.copies for piece in problem.pieces)
    on_remnants = math.fsum(row.width * row.length for row in problem.remnants)
    on_roll = [
        piece.label
        for piece in problem.pieces
        if not any(piece.label in _that_fit((piece,), row) for row in problem.remnants)
    ]
    longest = max((spans[label] for label in on_roll), default=0.0)
    cloth = laid.length * problem.width + math.fsum(
        problem.remnants[which].width * problem.remnants[which].length for which in begun
    )
    copies: dict[str, int] = {}
    placements = []
    for row in laid.placements:
        copies[row.label] = copies.get(row.label, 0) + 1
        placements.append(replace(row, copy=copies[row.label]))
    return LayPlan(
        width=problem.width,
        length=laid.length,
        density_share=whole / cloth,
        lower_bound=max((whole - on_remnants) / problem.width, longest, 0.0),
        placements=tuple(placements),
        effort=effort,
        seconds=seconds,
        method=laid.method,
    )
