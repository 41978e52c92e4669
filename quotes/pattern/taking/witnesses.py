"""What on a drawing says how long its unit is: squares and bars marked with their length, a waist stated in words."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np
import shapely

from quotes.pattern.geometry import Polyline, as_line, length_mm
from quotes.pattern.sheet import Label, Sheet, Stroke
from quotes.pattern.taking.closing import Closed, area_inside, diagonal
from quotes.pattern.taking.nesting import is_rectangle
from quotes.pattern.taking.words import STRONG, Said, said

__all__ = ["StatedWaist", "Witness", "bars", "stated_waists", "test_squares"]

_SQUARE_SHARE = 0.03
"""Sides of a test square differ by less than this."""
_NEAR_SHARE = 0.8
"""A length belongs to a square that is this share of its side away at most."""
_BAR_SHARE = 0.05
"""A scale bar is at least this share of the longest line."""
_FEWEST_DIMENSIONS = 3
"""So many lengths at lines are the dimensions of a drawing; fewer may be a scale bar in two units."""
_ROUNDED_SHARE = 0.03
"""By so much dimensions may be rounded; common practice, no source: 1/8 in on a panel's width of 50 to 60 mm."""
_STRAIGHT = 1.005
_SHORT_WORDS = 18


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """Something of a length that is written beside it; `mm_per_unit` is what it makes of the sheet's unit."""

    mm_per_unit: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """A length in words and a line that it may be written at, so far away."""

    away: float
    line: Stroke
    length_mm: float
    label: Label

    @property
    def mm_per_unit(self) -> float:
        return self.length_mm / _span(self.line.line)

    @property
    def witness(self) -> Witness:
        return Witness(mm_per_unit=self.mm_per_unit, words=f'the bar marked "{self.label.text.strip()[:40]}"')


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedWaist:
    """A waist in words, mm; `is_closed` where it is said to be that of the closed garment."""

    waist_mm: float
    words: str
    is_closed: bool


def test_squares(closed: Sequence[Closed], labels: Sequence[Label]) -> dict[int, tuple[str, Witness | None]]:
    """Return the places of test squares, each with why and what it is witness of (None where no length is written)."""
    sides = {place: box for place, one in enumerate(closed) if (box := is_rectangle(one.ring)) is not None}
    found: dict[int, tuple[str, Witness | None]] = {}
    spoken: set[int] = set()
    for place, (short, long) in sides.items():
        for name in closed[place].stroke.layers:
            words = said(name)
            if words.sureness == STRONG:
                continue
            if words.lengths_mm and (words.is_scale or _is_square(short, long)):
                found[place] = (f'named "{name[:40]}"', _witness(words, short, long, name))
            elif words.is_scale and not words.number:
                found.setdefault(place, (f'named "{name[:40]}"', None))
    # Each square has the words that stand nearest to it: those in it before those that measure what lies beside it.
    for _, _, place, label in sorted(_words_near(closed, sides, labels), key=lambda row: row[:2]):
        if (found.get(place) or ("", None))[1] is None and id(label) not in spoken:
            spoken.add(id(label))
            words = said(label.text)
            found[place] = (
                f'"{label.text.strip()[:40]}" stands at it',
                _witness(words, *sides[place], label.text.strip()),
            )
    return found


def _words_near(
    closed: Sequence[Closed], sides: Mapping[int, tuple[float, float]], labels: Sequence[Label]
) -> Iterator[tuple[float, bool, int, Label]]:
    """Lengths in words and the rectangles that they may belong to: how far away, whether it is no square, which, what."""
    for label in labels:
        words = said(label.text)
        if not (words.lengths_mm or words.is_scale) or not _speaks_of_length_alone(label, words):
            continue
        for place, (short, long) in sides.items():
            away = _away(closed[place].ring, label)
            if away <= _NEAR_SHARE * short and _may_be_marked((short, long), words):
                yield away, not _is_square(short, long), place, label


def bars(lines: Sequence[Stroke], labels: Sequence[Label], closed: Sequence[Closed]) -> list[tuple[Stroke, Witness]]:
    """Return straight lines that are scale bars, with what they are witness of; all dimension lines are one witness."""
    longest = max((diagonal(one.ring) for one in closed), default=0.0)
    straight = [line for line in lines if length_mm(line.line) <= _STRAIGHT * _span(line.line) and _span(line.line) > 0]
    rings = [area_inside(one.ring) for one in closed]
    found: list[tuple[Stroke, Witness]] = []
    dimensions: list[list[_Pair]] = []
    for label in labels:
        words = said(label.text)
        if not words.lengths_mm or not _speaks_of_length_alone(label, words):
            continue
        spot = shapely.Point(label.at)
        near: list[_Pair] = []
        are_marked = False
        for line in straight:
            shape = as_line(line.line)
            is_marked = words.is_scale or any(said(name).is_scale for name in line.layers)
            if not is_marked and (
                _span(line.line) < _BAR_SHARE * longest or any(ring.intersects(shape) for ring in rings)
            ):
                continue
            away = float(shape.distance(spot))
            if away <= max(0.3 * _span(line.line), 3 * label.height):
                near.append(_Pair(away=away, line=line, length_mm=words.lengths_mm[0], label=label))
                are_marked = are_marked or is_marked
        if near and are_marked:
            nearest = min(near, key=lambda pair: pair.away)
            found.append((nearest.line, nearest.witness))
        elif near and not any(ring.contains(spot) for ring in rings):
            dimensions.append(near)
    return [*found, *_dimensions(dimensions)]


def _dimensions(labels: Sequence[Sequence[_Pair]]) -> list[tuple[Stroke, Witness]]:
    """The lines that lengths in words belong to: of few the nearest; of many those that bear each other out.

    A drawing with dimensions has more lines than one near each of its lengths, and lengths that were rounded. What most of
    them make of the unit counts, their middle, in the words of the longest.
    """
    nearest = [min(near, key=lambda pair: pair.away) for near in labels]
    if len(labels) >= _FEWEST_DIMENSIONS:
        pairs = sorted(
            ((pair.mm_per_unit, at, pair) for at, near in enumerate(labels) for pair in near), key=lambda row: row[:2]
        )
        scales = [scale for scale, _, _ in pairs]
        most: dict[int, _Pair] = {}
        for first, scale in enumerate(scales):
            alike: dict[int, _Pair] = {}
            for _, at, pair in pairs[first : bisect_right(scales, scale * (1 + _ROUNDED_SHARE))]:
                alike[at] = min(alike.get(at, pair), pair, key=lambda one: one.away)
            most = alike if len(alike) > len(most) else most
        if len(most) > 1:
            longest = max(most.values(), key=lambda pair: _span(pair.line.line))
            told = replace(longest.witness, mm_per_unit=median(pair.mm_per_unit for pair in most.values()))
            return [(pair.line, told) for pair in most.values()]
    return [(pair.line, pair.witness) for pair in nearest]


def stated_waists(sheet: Sheet) -> list[StatedWaist]:
    """Return the waists that labels state."""
    return [
        StatedWaist(waist_mm=words.waist_mm, words=label.text.strip()[:40], is_closed=words.is_closed)
        for label in sheet.labels
        if (words := said(label.text)).waist_mm is not None
    ]


def _witness(words: Said, short: float, long: float, text: str) -> Witness | None:
    if not words.lengths_mm:
        return None
    told = words.lengths_mm
    length = max(told[:2]) if len(told) > 1 and not _is_square(short, long) else told[0]
    side = (short + long) / 2 if _is_square(short, long) else long
    return Witness(
        mm_per_unit=length / side, words=f'the {"square" if _is_square(short, long) else "bar"} marked "{text[:40]}"'
    )


def _speaks_of_length_alone(label: Label, words: Said) -> bool:
    if words.sureness == STRONG or words.allowance_mm is not None:
        return False
    return words.is_scale or len(label.text.strip()) <= _SHORT_WORDS


def _may_be_marked(sides: tuple[float, float], words: Said) -> bool:
    """A square takes any length; an oblong only two of them, or a word that says what it is for."""
    return _is_square(*sides) or words.is_scale or len(words.lengths_mm) > 1 or sides[1] > 4 * sides[0]


def _is_square(short: float, long: float) -> bool:
    return long - short <= _SQUARE_SHARE * long


def _away(ring: Polyline, label: Label) -> float:
    return float(area_inside(ring).distance(shapely.Point(label.at)))


def _span(line: Polyline) -> float:
    return float(np.hypot(line[-1][0] - line[0][0], line[-1][1] - line[0][1]))
