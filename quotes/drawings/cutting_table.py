"""A lay with all that the cutter needs on the table: cut lines, stitching lines, labels, grain, waist, notches, selvedges, sizes.

One drawing for all its papers: what is drawn is told by its kind, and each paper dresses kinds in its own way (a layer of a
DXF, a line of an SVG). x runs along the cloth, y across it, in mm; a lay without a unit is drawn 1 : 1 in mm, or enlarged.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import shapely
from shapely import Point as Spot
from shapely import Polygon

from quotes.lay.lay_plan import LayPlan, LayProblem, Placement
from quotes.pattern.geometry import Point, Polyline, turned
from quotes.takeoff.cut_pieces import CutPiece

__all__ = ["CuttingTable", "Kind", "Stroke", "TablePiece", "Words", "cutting_table", "table_piece"]

_LEAST_WIDTH_MM = 100.0
"""A strip without a unit that is narrower is drawn enlarged by a power of ten."""
_CLOTHS_APART_MM = 60.0
_LABEL_MM, _SMALL_MM = 12.0, 6.0
_GRAIN_MM = 90.0
_BARB_MM = 6.0
_MARGIN_MM = 14.0
"""How far sizes and selvedges' names stand from the cloth."""


class Kind(StrEnum):
    """What a line or a word of the table is."""

    CUT = "cut-line"
    STITCHING = "stitching-line"
    WAIST = "waist-line"
    GRAIN = "grain-line"
    NOTCH = "notch"
    LABEL = "label"
    NOTE = "note"
    SELVEDGE = "selvedge"
    CLOTH_END = "cloth-end"
    FLAW = "flaw"
    REPEAT = "repeat"
    MEASURE = "measure"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line of the table, or a ring."""

    kind: Kind
    points: Polyline
    is_closed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Words of the table around a point, `size` mm tall, turned counter-clockwise by degrees."""

    kind: Kind
    at: Point
    text: str
    size: float
    turned: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TablePiece:
    """One piece as it lies; `label` as on the cutting list, of both pieces where a fold cuts two, which is no mirrored one.

    `middle` is where its label and its grain stand.
    """

    label: str
    middle: Point
    outline: Polyline
    rotation: float
    is_mirrored: bool
    cloth: str
    strokes: tuple[Stroke, ...]
    words: tuple[Words, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingTable:
    """The whole drawing. `scale` is how many mm stand for one unit of a lay without a unit; 1 for one in mm.

    `width` and `length` are the roll's, as its lay tells them.
    """

    name: str
    width: float
    length: float
    scale: float
    is_in_mm: bool
    pieces: tuple[TablePiece, ...]
    cloth_strokes: tuple[Stroke, ...]
    cloth_words: tuple[Words, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The box around all that is drawn, mm: left, bottom, right, top."""
        points = [point for stroke in self.strokes for point in stroke.points] + [words.at for words in self.words]
        xs, ys = zip(*points, strict=True)
        return min(xs) - _MARGIN_MM, min(ys) - _MARGIN_MM, max(xs) + _MARGIN_MM, max(ys) + _MARGIN_MM

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """All lines, the cloth's first."""
        return (*self.cloth_strokes, *(stroke for piece in self.pieces for stroke in piece.strokes))

    @property
    def words(self) -> tuple[Words, ...]:
        """All words, the cloth's first."""
        return (*self.cloth_words, *(words for piece in self.pieces for words in piece.words))


def cutting_table(
    name: str,
    problem: LayProblem,
    plan: LayPlan,
    *,
    marked: Mapping[str, CutPiece],
    partners: Mapping[tuple[str, int], str],
    is_folded: bool,
    is_in_mm: bool,
    remnants: Sequence[str] = (),
) -> CuttingTable:
    """Return the drawing of a lay.

    Args:
        problem: what was laid; of a folded lay one thickness on half the width.
        marked: pieces of patterns by their labels, with stitching line, waist and notches; others show their outline alone.
        partners: by label and copy, what the lower thickness of a folded lay gives.
        remnants: what each of the problem's is called; their numbers where none are said.
    """
    names = remnants or [f"remnant {which}" for which in range(len(problem.remnants))]
    scale = 1.0 if is_in_mm else 10.0 ** max(0, math.ceil(math.log10(_LEAST_WIDTH_MM / problem.width)))
    sizes: dict[int | None, tuple[float, float]] = {None: (problem.width, plan.length)}
    sizes |= {which: (row.width, row.length) for which, row in enumerate(problem.remnants)}
    begun = sorted({row.remnant for row in plan.placements if row.remnant is not None})
    raised: dict[int | None, float] = {None: 0.0}
    top = problem.width * scale
    for number in begun:
        raised[number] = top + _CLOTHS_APART_MM
        top = raised[number] + problem.remnants[number].width * scale
    strokes: list[Stroke] = []
    words: list[Words] = []
    for which, base in raised.items():
        width, length = (size * scale for size in sizes[which])
        if length:
            title = "" if which is None else f"{names[which]}, "
            sized = _sized(title, sizes[which], is_in_mm)
            strokes += _cloth(width, length, base)
            words += _names_of_edges(width, length, base, sized, is_folded=is_folded)
    strokes += _flaws(problem, plan.length, scale)
    strokes += _repeats(problem, plan.length, scale)
    return CuttingTable(
        name=name,
        width=problem.width,
        length=plan.length,
        scale=scale,
        is_in_mm=is_in_mm,
        pieces=tuple(
            table_piece(
                row,
                marked.get(row.label),
                partner=partners.get((row.label, row.copy)),
                scale=scale,
                base=raised[row.remnant],
                cloth="roll" if row.remnant is None else names[row.remnant],
            )
            for row in plan.placements
        ),
        cloth_strokes=tuple(strokes),
        cloth_words=tuple(words),
    )


def table_piece(
    row: Placement,
    mark: CutPiece | None,
    *,
    partner: str | None = None,
    scale: float = 1.0,
    base: float = 0.0,
    cloth: str = "roll",
) -> TablePiece:
    """Return one piece with its marks as it lies.

    Args:
        mark: the piece of the pattern; None shows the outline alone.
        partner: what the lower thickness of a folded lay gives.
        scale: mm of the drawing for a unit of the lay.
        base: how far the lower edge of its cloth lies from the drawing's origin, mm.
        cloth: what that is called.
    """
    outline = tuple((x * scale, y * scale + base) for x, y in row.outline)
    strokes = [Stroke(kind=Kind.CUT, points=outline, is_closed=True)]
    label = row.label if partner is None else f"{row.label} + {partner}"
    turn = row.rotation % 360
    told = "" if not turn else "turned" if turn == 180 else f"turned {turn:g}°"
    shape = Polygon(outline)
    at, room = _roomiest(shape)
    if mark:
        moved = _mover(mark, row, base)
        strokes.append(Stroke(kind=Kind.STITCHING, points=moved(mark.stitching), is_closed=True))
        if mark.waist:
            strokes.append(Stroke(kind=Kind.WAIST, points=moved(mark.waist)))
        strokes += (Stroke(kind=Kind.NOTCH, points=moved(notch)) for notch in mark.notches)
        at = _above_waist(shape, mark, moved, at)
        strokes += _grain(shape, at, up=math.radians(turn))
    size = min(_LABEL_MM, room * 0.8)
    # Above the grain line where there is one, else in the middle; a letter is about 0.7 of its size tall.
    raised = 0.5 if mark else 0.0 if told else -0.35
    words = [Words(kind=Kind.LABEL, at=(at[0], at[1] + size * raised), text=label, size=size)]
    if mark:
        tip = strokes[-1].points[1]
        beyond = size * 0.8
        place = (tip[0] + beyond * math.cos(math.radians(turn)), tip[1] + beyond * math.sin(math.radians(turn)))
        words.append(Words(kind=Kind.NOTE, at=place, text="up", size=size / 2))
    if told:
        below = 1.4 if mark else 0.75
        words.append(Words(kind=Kind.NOTE, at=(at[0], at[1] - size * below), text=told, size=size / 2))
    return TablePiece(
        label=label,
        middle=at,
        outline=outline,
        rotation=turn,
        is_mirrored=mark is not None and mark.is_mirrored and partner is None,
        cloth=cloth,
        strokes=tuple(strokes),
        words=tuple(words),
    )


def _roomiest(shape: Polygon) -> tuple[Point, float]:
    """The middle of the largest circle in a piece, and its radius."""
    size = math.sqrt(shape.area)
    (x, y), edge = shapely.get_coordinates(shapely.maximum_inscribed_circle(shape, tolerance=size / 50)).tolist()
    return (x, y), math.dist((x, y), edge)


def _mover(mark: CutPiece, row: Placement, base: float) -> Callable[[Polyline], Polyline]:
    """What moves the marks of a piece to where it lies."""
    first, true = row.outline[0], turned(mark.outline[:1], row.rotation)[0]
    dx, dy = first[0] - true[0], first[1] - true[1] + base

    def moved(line: Polyline) -> Polyline:
        return tuple((x + dx, y + dy) for x, y in turned(line, row.rotation))

    return moved


def _above_waist(shape: Polygon, mark: CutPiece, moved: Callable[[Polyline], Polyline], middle: Point) -> Point:
    """Where label and grain stand clear of the waist line: half way from it to the upper end, within the piece."""
    if mark.waist is None:
        return middle
    (x0, y0), (x1, y1) = mark.waist
    top = max(x for x, _ in mark.stitching)
    (spot,) = moved(((((x0 + x1) / 2 + top) / 2, (y0 + y1) / 2),))
    return spot if shape.contains(Spot(spot)) else middle


def _grain(shape: Polygon, at: Point, *, up: float) -> list[Stroke]:
    """The warp through a piece as an arrow whose point is its upper end."""
    half = min(_GRAIN_MM, math.sqrt(shape.area) * 0.7) / 2
    cos, sin = math.cos(up), math.sin(up)
    tip, foot = (at[0] + half * cos, at[1] + half * sin), (at[0] - half * cos, at[1] - half * sin)
    barbs = [
        (tip[0] - _BARB_MM * math.cos(up + spread), tip[1] - _BARB_MM * math.sin(up + spread)) for spread in (0.4, -0.4)
    ]
    return [Stroke(kind=Kind.GRAIN, points=(foot, tip)), Stroke(kind=Kind.GRAIN, points=(barbs[0], tip, barbs[1]))]


def _cloth(width: float, length: float, base: float) -> list[Stroke]:
    edges = [Stroke(kind=Kind.SELVEDGE, points=((0.0, y), (length, y))) for y in (base, base + width)]
    ends = [Stroke(kind=Kind.CLOTH_END, points=((x, base), (x, base + width))) for x in (0.0, length)]
    return [*edges, *ends]


def _names_of_edges(
    width: float, length: float, base: float, sized: tuple[str, str], *, is_folded: bool
) -> list[Words]:
    below, above = ("fold", "both selvedges") if is_folded else ("selvedge", "selvedge")
    return [
        Words(kind=Kind.MEASURE, at=(length / 2, base - _MARGIN_MM), text=f"{below} · {sized[1]}", size=_SMALL_MM),
        Words(kind=Kind.MEASURE, at=(length / 2, base + width + _MARGIN_MM / 2), text=above, size=_SMALL_MM),
        Words(kind=Kind.MEASURE, at=(-_MARGIN_MM / 2, base + width / 2), text=sized[0], size=_SMALL_MM, turned=90.0),
    ]


def _sized(title: str, size: tuple[float, float], is_in_mm: bool) -> tuple[str, str]:
    """Width and length in words."""
    if is_in_mm:
        return f"{title}{size[0]:.0f} mm wide", f"{size[1]:.1f} mm long"
    return f"{title}{size[0]:g} wide", f"{size[1]:.6g} long"


def _flaws(problem: LayProblem, length: float, scale: float) -> list[Stroke]:
    strokes = []
    for x0, y0, x1, y1 in problem.flaws:
        left, low = max(x0, 0.0) * scale, max(y0, 0.0) * scale
        right, high = min(x1, length) * scale, min(y1, problem.width) * scale
        if left < right and low < high:
            ring = ((left, low), (right, low), (right, high), (left, high))
            strokes += [
                Stroke(kind=Kind.FLAW, points=ring, is_closed=True),
                Stroke(kind=Kind.FLAW, points=(ring[0], ring[2])),
                Stroke(kind=Kind.FLAW, points=(ring[1], ring[3])),
            ]
    return strokes


def _repeats(problem: LayProblem, length: float, scale: float) -> Sequence[Stroke]:
    """A tick at each whole repeat, on the selvedge and on the end of the cloth."""
    if not problem.repeat:
        return ()
    ticks = []
    for index in range(_ticks(length, problem.repeat.along)):
        x = index * problem.repeat.along * scale
        ticks.append(Stroke(kind=Kind.REPEAT, points=((x, 0.0), (x, -_SMALL_MM))))
    for index in range(_ticks(problem.width, problem.repeat.across)):
        y = index * problem.repeat.across * scale
        ticks.append(Stroke(kind=Kind.REPEAT, points=((0.0, y), (-_SMALL_MM, y))))
    return ticks


_MOST_TICKS = 500


def _ticks(size: float, repeat: float) -> int:
    """How many ticks are drawn; none where they would run together."""
    count = int(size / repeat) + 1 if repeat else 0
    return count if count <= _MOST_TICKS else 0
