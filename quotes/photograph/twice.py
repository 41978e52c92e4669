"""Pieces that several photographs of a set show: told by laying outlines onto each other, and counted once where they make a pattern."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing

from inventory.ground.findings import Finding, note, warn
from quotes.pattern.geometry import Point, Polyline, ring_area_mm2
from quotes.photograph.reading import PhotoPiece, PhotoReading, SameAs

__all__ = ["congruence_mm", "each_once"]

Array = NDArray[np.float64]
_AREA_SHARE = 0.02
"""Pieces whose areas differ by more are not compared."""
_LEAST_OFF_MM, _MOST_OFF_MM = 0.3, 0.4
"""Two outlines of one piece lie within what both together may be off, as a root mean square, but are not asked to lie nearer
than the first, for paper is not always laid equally flat, and never farther than the second: neighbouring panels may be as alike."""
_MAY_BE = 2.0
"""Up to so many times what both may be off they may be one, and are kept as two with a warning."""
_MUCH_EXACTER = 0.75
"""Of one piece the first outline is kept, unless a later one has less than this share of its ±: numbers by place stay what they were."""
_PLACES = 256
_STEPS = 8
_NOTCH_MM = 2.0
"""Notches of one piece lie this near to each other when its outlines do."""


def each_once(readings: Sequence[PhotoReading], *, leaves_out: bool = True) -> tuple[PhotoReading, ...]:
    """Return photographs with each piece in one of them only, which names the others (`same_as`).

    Equal pieces in one photograph are two pieces; mirrored ones always are.

    Args:
        leaves_out: False to have all pieces named and none left out.
    """
    kept = [list(reading.pieces) for reading in readings]
    told: list[list[Finding]] = [[] for _ in readings]
    pairs = _pairs(readings)
    alike: list[tuple[float, tuple[int, int], tuple[int, int]]] = []
    taken: set[tuple[int, int, int]] = set()
    gone: set[tuple[int, int]] = set()
    for off, one, two in sorted(pairs):
        # A piece has one counterpart in each other photograph, the nearest.
        if (*one, two[0]) in taken or (*two, one[0]) in taken or one in gone or two in gone:
            continue
        if off > _limit_mm(*(kept[photo][place] for photo, place in (one, two))):
            alike.append((off, one, two))
            continue
        taken |= {(*one, two[0]), (*two, one[0])}
        first, second = (kept[photo][place] for photo, place in (one, two))
        is_second_kept = second.plus_minus_mm < _MUCH_EXACTER * first.plus_minus_mm
        (photo, place), (other, again) = (two, one) if is_second_kept else (one, two)
        left_out = kept[other][again]
        names = (readings[photo].photo, readings[other].photo)
        same = SameAs(photo=names[1], piece=again + 1, difference_mm=round(off, 3))
        kept[photo][place] = replace(kept[photo][place], same_as=(*kept[photo][place].same_as, same, *left_out.same_as))
        if leaves_out:
            gone.add((other, again))
        told[photo].append(
            note(
                "photograph.seen-twice",
                names[0],
                f"Piece {place + 1} of {names[0]} and piece {again + 1} of {names[1]} are one: their outlines differ by {off:.2f} mm."
                + (f" It is counted once, as {names[0]} has it." if leaves_out else ""),
                "Where they are two pieces, lay both into one photograph." if leaves_out else "",
            )
        )
    for off, (photo, place), (other, again) in alike:
        if not {(photo, place), (other, again)} & gone:
            names = (readings[photo].photo, readings[other].photo)
            told[photo].append(
                warn(
                    "photograph.may-be-one",
                    names[0],
                    f"Piece {place + 1} of {names[0]} and piece {again + 1} of {names[1]} differ by {off:.2f} mm only, and are kept as two.",
                    "Where they are one, leave one of them out.",
                )
            )
    return tuple(
        replace(
            reading,
            pieces=tuple(piece for place, piece in enumerate(kept[photo]) if (photo, place) not in gone),
            findings=(*reading.findings, *told[photo]),
        )
        for photo, reading in enumerate(readings)
    )


def _pairs(readings: Sequence[PhotoReading]) -> list[tuple[float, tuple[int, int], tuple[int, int]]]:
    """Pieces of different photographs that may be one: how far they differ, and both by photograph and place."""
    places = [
        ((photo, place), piece) for photo, reading in enumerate(readings) for place, piece in enumerate(reading.pieces)
    ]
    found = []
    for number, (one, first) in enumerate(places):
        for two, second in places[number + 1 :]:
            if two[0] == one[0]:
                continue
            off = _same_mm(first, second)
            if off is not None:
                found.append((off, one, two))
    return found


def _limit_mm(one: PhotoPiece, two: PhotoPiece) -> float:
    """How far the outlines of one piece differ at the most."""
    return max(_LEAST_OFF_MM, min(math.hypot(one.plus_minus_mm, two.plus_minus_mm), _MOST_OFF_MM))


def _same_mm(one: PhotoPiece, two: PhotoPiece) -> float | None:
    """How far two outlines differ, or None where they are surely of two pieces."""
    area, other = ring_area_mm2(one.outline), ring_area_mm2(two.outline)
    if abs(area - other) > _AREA_SHARE * max(area, other) or len(one.notches) != len(two.notches):
        return None
    off, moved = _laid_upon(one.outline, two.outline, two.notches)
    if off > max(_LEAST_OFF_MM, _MAY_BE * math.hypot(one.plus_minus_mm, two.plus_minus_mm)):
        return None
    away = [min(math.dist(notch, there) for there in moved) for notch in one.notches]
    return off if all(distance < _NOTCH_MM for distance in away) else None


def congruence_mm(one: Polyline, two: Polyline) -> float:
    """Return the root mean square of the distance between two outlines laid onto each other by turning and shifting alone."""
    return _laid_upon(one, two, ())[0]


def _laid_upon(one: Polyline, two: Polyline, marks: Sequence[Point]) -> tuple[float, list[Point]]:
    """How far `two` lies from `one` once it was laid upon it, and where its marks come to lie.

    First by the best turn over all ways in which places along both rings can answer each other, then nearer by
    distances to the line (Gauss and Newton).
    """
    line = LinearRing(shapely.geometry.polygon.orient(shapely.Polygon(one)).exterior.coords)
    other = LinearRing(shapely.geometry.polygon.orient(shapely.Polygon(two)).exterior.coords)
    here, there = _spread(line), _spread(other)
    middle, start = here.mean(), there.mean()
    matched = np.fft.ifft(np.fft.fft(here - middle) * np.conj(np.fft.fft(there - start)))
    turn = matched[np.argmax(np.abs(matched))]
    turn = turn / max(abs(turn), 1e-12)
    shift = middle - start * turn
    points = there
    for _ in range(_STEPS):
        at = points * turn + shift
        foot = _spread(line, at)
        ahead = _spread(line, at, 0.5)
        along = ahead - foot
        normal = -1j * along / np.maximum(np.abs(along), 1e-9)
        off = np.real((at - foot) * np.conj(normal))
        spin = np.real(1j * (at - at.mean()) * np.conj(normal))
        basis = np.stack([spin, normal.real, normal.imag], axis=-1)
        angle, x, y = np.linalg.lstsq(basis, -off, rcond=None)[0]
        by = np.exp(1j * angle)
        turn, shift = turn * by, (shift - at.mean()) * by + at.mean() + complex(x, y)
    at = points * turn + shift
    off = np.abs(at - _spread(line, at))
    moved = [complex(*mark) * turn + shift for mark in marks]
    return float(np.sqrt((off**2).mean())), [(mark.real, mark.imag) for mark in moved]


def _spread(line: LinearRing, near: NDArray[np.complex128] | None = None, on: float = 0.0) -> NDArray[np.complex128]:
    """Places round a ring, evenly, or those nearest to given ones and so much farther on."""
    if near is None:
        places = np.arange(_PLACES) / _PLACES * line.length
    else:
        places = (shapely.line_locate_point(line, shapely.points(near.real, near.imag)) + on) % line.length
    x, y = shapely.get_coordinates(shapely.line_interpolate_point(line, places)).T
    return np.asarray(x + 1j * y, dtype=np.complex128)
