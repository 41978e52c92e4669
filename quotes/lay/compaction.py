"""A lay pushed together: all pieces moved a little at once, turned none, so that the lay is as short as that makes it.

Two convex parts of different pieces keep apart along one straight line. Of the edges of both, the one that leaves most
room between them is chosen; along its normal the parts stay at least the spacing apart:

    n · (t + d_other − d_one) ≥ reach of one + spacing + hair

where t is where the pieces lie and d how far each is moved. With these lines held, the least length is a linear
programme; its answer is a true lay, from which other lines are chosen. Sources: Li and Milenkovic, Compaction and
separation algorithms for non-convex polygons, 1995; Gomes and Oliveira, Solving irregular strip packing problems by
hybridising simulated annealing and linear programming, 2006; Bennell and Oliveira, The geometry of nesting problems,
2008. HiGHS solves the programmes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import highspy
import numpy as np
from numpy.typing import NDArray
from shapely import STRtree, box

from quotes.lay.budget import ENDLESS, Watch
from quotes.lay.convex import convex_parts
from quotes.lay.simpler import simpler
from quotes.pattern.geometry import Polyline

__all__ = ["HAIR_SHARE", "compacted"]

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

SIMPLER_SHARE = 2e-4
"""Pieces are first moved far with outlines that are simpler, outward by this share of the width at most; then the true ones near by."""
MANY_CORNERS, LESS_SIMPLE_SHARE = 250, 1e-4
"""With more corners than this they are moved near by, too, as outlines that are simpler, by less: twenty pieces of five thousand
corners each took fifty seconds.
"""
FAR_SHARE, NEAR_SHARE = 0.05, 0.002
"""How far a piece may move in one programme, as a share of the width: lines chosen now are the right ones near by."""
FAR_GAIN_SHARE, NEAR_GAIN_SHARE = 1e-4, 1e-5
"""A programme that shortens the lay by less than this share of its length is the last: of those that move far, and near by."""
MOST_PROGRAMMES = 100
MOST_CPU_SECONDS = 2.0
"""No other programme is begun after so much time of the processor; a few dozen pieces take hundredths of a second."""
MOST_ITERATIONS = 20_000
"""Steps of the solver in one programme; hundreds of pieces take a few thousand."""
HAIR_SHARE = 1e-7
"""Kept beyond the spacing, as a share of the width, so that the solver's rounding leaves nothing too near."""
LEFTWARD_WEIGHT = 1e-4
"""What the mean place along the cloth counts beside the length: pieces with room lie to the left in it."""
DIGITS = 9
"""Decimals of a width that places of corners have: less than a hair."""
PAIRS_AT_ONCE = 4096
ALIKE_DIGITS = 9
"""Normals that agree so far are the same line's, reckoned from different copies of a piece."""
OPTIONS: Mapping[str, float | int | bool | str] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 1,
    "presolve": "off",
    "primal_feasibility_tolerance": 1e-9,
    "simplex_iteration_limit": MOST_ITERATIONS,
}


def compacted(
    outlines: Sequence[Polyline], *, width: float, spacing: float, watch: Watch = ENDLESS
) -> tuple[Polyline, ...]:
    """Return the outlines of a lay, moved so that it is shorter, or as they are where no programme makes it so.

    The lay begins at x = 0. Where pieces lie a little nearer than the spacing or a little off the cloth, they are first
    moved apart by as little as can be. Whoever asks checks what comes of it.

    Args:
        outlines: the true outlines as they lie, simple and closed, in the unit of `width`.
        width: usable width of the cloth.
        spacing: kept between pieces, not to the edges.
        watch: no other programme is begun when it is over; what was reached by then is returned.
    """
    apart = spacing / width + HAIR_SHARE
    watch = watch.within(MOST_CPU_SECONDS)
    true = _lay(outlines, width)
    far = _pushed(_lay(outlines, width, is_simple=True), apart, FAR_SHARE, FAR_GAIN_SHARE, watch)
    near = _pushed(true.moved(far.shifts) if far else true, apart, NEAR_SHARE, NEAR_GAIN_SHARE, watch)
    if near is None or (_is_true(true, apart) and near.length >= true.length):
        return tuple(outlines)
    return tuple(
        tuple((float(x + along), float(y + across)) for x, y in outline)
        for outline, (along, across) in zip(outlines, near.shifts * width, strict=True)
    )


def _pushed(lay: "_Lay", apart: float, moved: float, least_gain: float, watch: Watch) -> "_Lay | None":
    """The lay as short as programmes make it; None where its pieces cannot be moved apart.

    Args:
        apart: kept between pieces, in widths, a hair of it beyond the spacing.
        moved: how far a piece may move in one programme, in widths.
        least_gain: share of the length that a programme has to bring for another one.
        watch: no other programme is begun when it is over.
    """
    lines = _lines(lay, apart, moved)
    if lines.lack > 0:
        answer = _solved(lay, lines, moved, least_lack=True)
        if answer is None:
            return None
        lay = lay.moved(answer)
        lines = _lines(lay, apart, moved)
    hair = HAIR_SHARE
    for _ in range(MOST_PROGRAMMES):
        if watch.is_over():
            break
        answer = _solved(lay, lines, moved, least_lack=False)
        if answer is None and hair and not watch.is_over():
            # Pieces that fill the width exactly leave no room for one.
            apart, hair = apart - hair, 0.0
            lines = _lines(lay, apart, moved)
            answer = _solved(lay, lines, moved, least_lack=False)
        if answer is None:
            break
        before, lay = lay.length, lay.moved(answer)
        if before - lay.length < least_gain * before:
            break
        lines = _lines(lay, apart, moved)
    return lay


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lay:
    """A lay in widths: lows and highs of each piece, how far it was moved; corners of each convex part, and its piece.

    Parts have a common number of corners, the last of them repeated where a part has fewer.
    """

    lows: Numbers
    highs: Numbers
    shifts: Numbers
    corners: Numbers
    pieces: Places

    @property
    def length(self) -> float:
        return float(self.highs[:, 0].max())

    def moved(self, by: Numbers) -> "_Lay":
        """The lay with each piece moved by a row of `by`."""
        return _Lay(
            lows=self.lows + by,
            highs=self.highs + by,
            shifts=self.shifts + by,
            corners=self.corners + by[self.pieces][:, None, :],
            pieces=self.pieces,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lines:
    """Lines between parts that could meet: the pieces on both sides, normals, and the room beyond what is asked."""

    one: Places
    other: Places
    normals: Numbers
    room: Numbers

    @property
    def lack(self) -> float:
        """By how much the nearest two parts are too near; zero where none are."""
        return -float(self.room.min(initial=0.0))


def _is_true(lay: _Lay, apart: float) -> bool:
    """Whether all pieces lie on the cloth and apart, but for a hair."""
    is_on_cloth = bool((lay.lows[:, 1] >= -HAIR_SHARE).all() and (lay.highs[:, 1] <= 1 + HAIR_SHARE).all())
    return is_on_cloth and _lines(lay, apart, NEAR_SHARE).lack <= 2 * HAIR_SHARE


def _lay(outlines: Sequence[Polyline], width: float, *, is_simple: bool = False) -> _Lay:
    """The lay of true outlines, or of simpler ones around them, which reach farther; those of many corners are simpler in any case."""
    reached, parts = [], []
    for piece, outline in enumerate(outlines):
        corners = np.array(outline) / width
        outward = SIMPLER_SHARE if is_simple else LESS_SIMPLE_SHARE if len(outline) > MANY_CORNERS else 0.0
        around = (corners - corners[0]).round(DIGITS).tolist()
        drawn, own_parts = _shape(tuple((x, y) for x, y in around), outward)
        points = drawn + corners[0] if outward else corners
        reached.append(points if is_simple else corners)
        parts += [(piece, points[list(part)]) for part in own_parts]
    # Pieces that are too small beside the width to have parts are in nobody's way.
    most = max((len(part) for _, part in parts), default=1)
    filled = [np.concatenate([part, np.repeat(part[-1:], most - len(part), axis=0)]) for _, part in parts]
    return _Lay(
        lows=np.array([outline.min(axis=0) for outline in reached]),
        highs=np.array([outline.max(axis=0) for outline in reached]),
        shifts=np.zeros((len(outlines), 2)),
        corners=np.array(filled).reshape(-1, most, 2),
        pieces=np.array([piece for piece, _ in parts], dtype=np.int64),
    )


@lru_cache(maxsize=1024)
def _shape(outline: Polyline, outward: float) -> tuple[Numbers, tuple[tuple[int, ...], ...]]:
    """The corners of a piece around its first, in widths, and which of them each convex part has.

    The same pieces are pushed together in one lay after another.
    """
    drawn = simpler(outline, outward) if outward else outline
    return np.array(drawn), convex_parts(drawn)


def _lines(lay: _Lay, apart: float, moved: float) -> _Lines:
    """The line with most room between any two parts that could come too near where each piece is moved so far."""
    reach = apart + 2 * moved
    boxes = box(*(lay.corners.min(axis=1) - reach / 2).T, *(lay.corners.max(axis=1) + reach / 2).T)
    first, second = STRtree(boxes).query(boxes, predicate="intersects")
    are_pairs = lay.pieces[first] < lay.pieces[second]
    first, second = first[are_pairs], second[are_pairs]
    normals, room = np.empty((len(first), 2)), np.empty(len(first))
    for start in range(0, len(first), PAIRS_AT_ONCE):
        taken = slice(start, start + PAIRS_AT_ONCE)
        normals[taken], room[taken] = _widest(lay.corners[first[taken]], lay.corners[second[taken]])
    room -= apart
    can_bind = room < 2 * moved * np.abs(normals).sum(axis=1)
    one, other, normals, room = (values[can_bind] for values in (lay.pieces[first], lay.pieces[second], normals, room))
    # Of parallel lines between two pieces the one with least room holds the others.
    by_room = np.lexsort((room, *normals.T.round(ALIKE_DIGITS), other, one))
    lines = np.column_stack([one, other, normals.round(ALIKE_DIGITS)])[by_room]
    is_first = np.concatenate([[True], (lines[1:] != lines[:-1]).any(axis=1)])[: len(room)]
    kept = by_room[is_first]
    return _Lines(one=one[kept], other=other[kept], normals=normals[kept], room=room[kept])


def _widest(one: Numbers, other: Numbers) -> tuple[Numbers, Numbers]:
    """For pairs of convex parts, the unit normal from one to the other with most room between them, and that room."""
    normals = np.concatenate([_outward(one), -_outward(other)], axis=1)
    room = _along(normals, other).min(axis=2) - _along(normals, one).max(axis=2)
    # A corner that only fills up has no edge of its own.
    room[~normals.any(axis=2)] = -np.inf
    pairs, best = np.arange(len(one)), room.argmax(axis=1)
    return normals[pairs, best], room[pairs, best]


def _along(normals: Numbers, corners: Numbers) -> Numbers:
    """How far corners lie along each of the normals, by pair, normal and corner."""
    return normals[:, :, None, 0] * corners[:, None, :, 0] + normals[:, :, None, 1] * corners[:, None, :, 1]


def _outward(corners: Numbers) -> Numbers:
    """Unit normals of the edges of anticlockwise parts; zero for edges without length."""
    edges = np.roll(corners, -1, axis=1) - corners
    lengths = np.hypot(edges[..., 0], edges[..., 1])
    sizes = np.where(lengths > 0, lengths, 1.0)[..., None]
    normals: Numbers = np.stack([edges[..., 1], -edges[..., 0]], axis=-1) / sizes
    return normals


def _solved(lay: _Lay, lines: _Lines, moved: float, *, least_lack: bool) -> Numbers | None:
    """How far each piece is moved, `moved` at most: for the least length, or so that all lines hold and lack least.

    Columns: along and across of each piece, the length, and where lack counts one more a line.
    """
    pieces, count = len(lay.lows), len(lines.room)
    lacks = count if least_lack else 0
    shifts = 2 * pieces
    columns = shifts + 1 + lacks
    # A piece that lies off the cloth has to come back, however far that is.
    least = np.maximum(-moved, -lay.lows)
    most = np.full((pieces, 2), moved)
    most[:, 1] = np.minimum(most[:, 1], 1.0 - lay.highs[:, 1])
    most = np.maximum(most, least)

    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = columns, count + pieces
    costs = np.zeros(columns)
    if least_lack:
        costs[shifts + 1 :] = 1.0
    else:
        costs[0:shifts:2] = LEFTWARD_WEIGHT / pieces
        costs[shifts] = 1.0
    model.col_cost_ = costs
    model.col_lower_ = np.concatenate([least.ravel(), np.zeros(1 + lacks)])
    model.col_upper_ = np.concatenate([most.ravel(), np.full(1 + lacks, highspy.kHighsInf)])
    # Lines: n · d of the other − n · d of the one (+ lack) ≥ −room. Lengths: length − along of a piece ≥ its high.
    per_line = 5 if least_lack else 4
    places = np.empty((count, per_line), dtype=np.int32)
    factors = np.ones((count, per_line))
    places[:, 0], places[:, 1] = 2 * lines.other, 2 * lines.other + 1
    places[:, 2], places[:, 3] = 2 * lines.one, 2 * lines.one + 1
    factors[:, 0:2], factors[:, 2:4] = lines.normals, -lines.normals
    if least_lack:
        places[:, 4] = np.arange(shifts + 1, columns)
    lengths = np.column_stack([np.full(pieces, shifts), np.arange(0, shifts, 2)]).astype(np.int32)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.concatenate(
        [np.arange(count) * per_line, count * per_line + 2 * np.arange(pieces + 1)]
    ).astype(np.int32)
    model.a_matrix_.index_ = np.concatenate([places.ravel(), lengths.ravel()])
    model.a_matrix_.value_ = np.concatenate([factors.ravel(), np.tile([1.0, -1.0], pieces)])
    model.row_lower_ = np.concatenate([-lines.room, lay.highs[:, 0]])
    model.row_upper_ = np.full(count + pieces, highspy.kHighsInf)

    solver = highspy.Highs()
    for name, value in OPTIONS.items():
        solver.setOptionValue(name, value)
    solver.passModel(model)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    values: Numbers = np.array(solver.getSolution().col_value[:shifts]).reshape(pieces, 2)
    return values
