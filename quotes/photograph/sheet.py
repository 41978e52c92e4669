"""Pieces from photographs as one sheet: each levelled by its waist notches, all in a row."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from shapely import get_coordinates, oriented_envelope

from quotes.pattern.geometry import Point, Polyline, as_polygon, turned
from quotes.pattern.sheet import Sheet, Stroke
from quotes.photograph.reading import PhotoPiece, PhotoReading

__all__ = ["laid_in_a_row", "sheet_of"]

_BETWEEN_MM = 40.0
"""Pieces stand this far from each other on a sheet."""


def sheet_of(readings: Sequence[PhotoReading]) -> Sheet:
    """Return all pieces as closed lines on one sheet, with the middles of their notches."""
    laid = laid_in_a_row(readings)
    return Sheet(
        strokes=tuple(
            Stroke(line=piece.outline, is_closed=True, where=f"{reading.photo}, piece {number}")
            for reading in laid
            for number, piece in enumerate(reading.pieces, start=1)
        ),
        mm_per_unit=1.0,
        unit_said="the printed cards",
        notches=tuple(notch for reading in laid for piece in reading.pieces for notch in piece.notches),
        findings=tuple(finding for reading in readings for finding in reading.findings),
    )


def laid_in_a_row(readings: Sequence[PhotoReading]) -> tuple[PhotoReading, ...]:
    """Return photographs with their pieces in one frame, in order from the left, their middles at one height.

    Nobody lays paper down exactly upright: a piece with a waist notch on either side is turned so that both are level.
    """
    left = 0.0
    laid = []
    for reading in readings:
        pieces = []
        for piece in map(_levelled, reading.pieces):
            xs, ys = zip(*piece.outline, strict=True)
            shift = (left - min(xs), -(min(ys) + max(ys)) / 2)
            left += max(xs) - min(xs) + _BETWEEN_MM
            pieces.append(
                replace(piece, outline=_shifted(piece.outline, shift), notches=_shifted(piece.notches, shift))
            )
        laid.append(replace(reading, pieces=tuple(pieces)))
    return tuple(laid)


def _levelled(piece: PhotoPiece) -> PhotoPiece:
    """The piece turned by less than 45 degrees, so that its two notches are level, or upright where it lies on its side."""
    if len(piece.notches) != 2:
        return piece
    heading = _heading_deg(*piece.notches)
    if abs(math.remainder(heading - _long_side_deg(piece.outline), 180.0)) < 45.0:
        # Both stand on the same edge.
        return piece
    off = math.remainder(heading, 90.0)
    return replace(piece, outline=turned(piece.outline, -off), notches=turned(piece.notches, -off))


def _long_side_deg(ring: Polyline) -> float:
    """The direction of the longer side of the smallest box round a ring."""
    corners = [(float(x), float(y)) for x, y in get_coordinates(oriented_envelope(as_polygon(ring)))]
    return _heading_deg(*max(pairwise(corners), key=lambda side: math.dist(*side)))


def _heading_deg(start: Point, end: Point) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _shifted(points: Polyline, shift: Point) -> Polyline:
    return tuple((x + shift[0], y + shift[1]) for x, y in points)
