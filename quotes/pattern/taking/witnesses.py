"""What on a drawing says how long its unit is: squares and bars marked with their length, a waist stated in words."""

from collections.abc import Sequence
from dataclasses import dataclass

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
_STRAIGHT = 1.005
_SHORT_WORDS = 18


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """Something of a length that is written beside it; `mm_per_unit` is what it makes of the sheet's unit."""

    mm_per_unit: float
    words: str


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
    for place, (short, long) in sides.items():
        for name in closed[place].stroke.layers:
            words = said(name)
            if words.sureness == STRONG:
                continue
            if words.lengths_mm and (words.is_scale or _is_square(short, long)):
                found[place] = (f'named "{name[:40]}"', _witness(words, short, long, name))
            elif words.is_scale and not words.number:
                found.setdefault(place, (f'named "{name[:40]}"', None))
    for label in labels:
        words = said(label.text)
        if not (words.lengths_mm or words.is_scale) or not _speaks_of_length_alone(label, words):
            continue
        near = [
            (_away(closed[place].ring, label), not _is_square(*sides[place]), place)
            for place in sides
            if (found.get(place) or ("", None))[1] is None and _may_be_marked(sides[place], words)
        ]
        near = [row for row in near if row[0] <= _NEAR_SHARE * sides[row[2]][0]]
        if not near:
            continue
        place = min(near)[2]
        found[place] = (f'"{label.text.strip()[:40]}" stands at it', _witness(words, *sides[place], label.text.strip()))
    return found


def bars(lines: Sequence[Stroke], labels: Sequence[Label], closed: Sequence[Closed]) -> list[tuple[Stroke, Witness]]:
    """Return straight lines that are scale bars, with what they are witness of."""
    longest = max((diagonal(one.ring) for one in closed), default=0.0)
    straight = [line for line in lines if length_mm(line.line) <= _STRAIGHT * _span(line.line) and _span(line.line) > 0]
    rings = [area_inside(one.ring) for one in closed]
    found = []
    for label in labels:
        words = said(label.text)
        if not words.lengths_mm or not _speaks_of_length_alone(label, words):
            continue
        spot = shapely.Point(label.at)
        near = []
        for line in straight:
            named = any(said(name).is_scale for name in line.layers)
            shape = as_line(line.line)
            is_marked = named or words.is_scale
            if not is_marked and _span(line.line) < _BAR_SHARE * longest:
                continue
            if not is_marked and any(ring.intersects(shape) for ring in rings):
                continue
            away = float(shape.distance(spot))
            if away <= max(0.3 * _span(line.line), 3 * label.height):
                near.append((away, line))
        if near:
            line = min(near, key=lambda row: row[0])[1]
            witness = Witness(
                mm_per_unit=words.lengths_mm[0] / _span(line.line), words=f'the bar marked "{label.text.strip()[:40]}"'
            )
            found.append((line, witness))
    return found


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
