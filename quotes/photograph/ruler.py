"""A ruler laid among the pieces: its length, as the maker says it, against that which the photograph has it."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from shapely import get_coordinates, oriented_envelope

from inventory.ground.findings import Finding, Refused, note, refuse, stop
from quotes.defaults import desk_defaults
from quotes.pattern.geometry import as_polygon
from quotes.photograph.reading import PhotoPiece, PhotoReading

__all__ = ["LONGEST_MM", "SHORTEST_MM", "without_ruler"]

SHORTEST_MM, LONGEST_MM = 100.0, 2000.0
"""Rulers that are believed."""

_LONGER = 4.0
"""A ruler is this many times as long as it is wide."""
_FILLED_SHARE = 0.92
"""It fills so much of the box round it; panels of a corset are curved."""


def without_ruler(readings: Sequence[PhotoReading], ruler_mm: float) -> tuple[PhotoReading, ...]:
    """Return photographs without the ruler that lies in one or more of them, `ruler_mm` long from end to end, and how long they show it.

    Raises:
        Refused: no photograph shows a ruler of that length, or one has it longer or shorter by more than is believed.
    """
    tolerance = desk_defaults().photograph.ruler_tolerance_share
    seen = [(reading, _ruler(reading, ruler_mm)) for reading in readings]
    lengths = {ruler: _sides(ruler)[1] / ruler_mm - 1 for _, ruler in seen if ruler is not None}
    if not lengths:
        raise refuse(
            "photograph.no-ruler",
            ", ".join(reading.photo for reading in readings),
            f"No straight thing about {ruler_mm:g} mm long is seen among the pieces.",
            "Lay a light ruler on the ground beside the pieces, all of it in the picture, and say its length from end to end.",
        )
    # Where one is as long as it should be, what else is straight and nearly as long is a piece.
    rulers = {ruler for ruler, off in lengths.items() if abs(off) <= tolerance} or set(lengths)
    faults: list[Finding] = []
    left: list[PhotoReading] = []
    for reading, ruler in seen:
        if ruler is None or ruler not in rulers:
            left.append(reading)
            continue
        off = lengths[ruler]
        if abs(off) > tolerance:
            faults.append(
                stop(
                    "photograph.ruler-off",
                    reading.photo,
                    f"The ruler of {ruler_mm:g} mm comes out as {(1 + off) * ruler_mm:.1f} mm: {abs(off):.1%} "
                    f"{'more' if off > 0 else 'less'}, and {tolerance:.0%} is the most.",
                    "Measure both bars of the printed sheet, or print it anew at 100 %, and give the ruler's length from end to end.",
                )
            )
        told = note(
            "photograph.ruler",
            reading.photo,
            f"The ruler of {ruler_mm:g} mm comes out as {(1 + off) * ruler_mm:.1f} mm ({off:+.2%}), and is no piece.",
        )
        pieces = tuple(piece for piece in reading.pieces if piece is not ruler)
        left.append(replace(reading, pieces=pieces, findings=(*reading.findings, told)))
    if faults:
        raise Refused(faults)
    return tuple(left)


def _ruler(reading: PhotoReading, ruler_mm: float) -> PhotoPiece | None:
    """The long straight piece whose length is nearest to the ruler's, where it is near at all."""
    near = desk_defaults().photograph.ruler_found_share
    found = []
    for piece in reading.pieces:
        width, length = _sides(piece)
        fills = as_polygon(piece.outline).area / (width * length)
        if length >= _LONGER * width and fills >= _FILLED_SHARE and abs(length / ruler_mm - 1) <= near:
            found.append((abs(length / ruler_mm - 1), piece))
    return min(found, key=lambda one: one[0])[1] if found else None


def _sides(piece: PhotoPiece) -> tuple[float, float]:
    """Shorter and longer side of the smallest box round a piece, mm."""
    corners = get_coordinates(oriented_envelope(as_polygon(piece.outline)))
    sides = sorted(float(np.hypot(*(end - start))) for start, end in pairwise(corners))
    return sides[0], sides[-1]
