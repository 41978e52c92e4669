"""Pieces as they are cut, with the marks that the cutter transfers, warp along x."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from string import ascii_uppercase

from quotes.construction.construction import Allowances, Construction
from quotes.pattern.cutline import cut_outline
from quotes.pattern.geometry import Point, Polyline, point_along, x_at
from quotes.pattern.panels import Panel, Pattern
from quotes.takeoff.pieces import edge_allowances, pieces_to_cut

__all__ = ["MOST_LAYERS", "CutPiece", "cut_pieces", "cut_pieces_of", "piece_outline", "waist_along"]

MOST_LAYERS = len(ascii_uppercase) // 2
"""Each layer takes two letters of the cutting labels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """One piece to cut, in mm, its warp along x, the upper end of the garment towards +x.

    Attributes:
        label: as on the cutting list.
        outline: the cut line, a ring from the origin up.
        stitching: the stitching line, a ring.
        waist: the waist line between front and back edge; None where it does not cross both.
        notches: short strokes across the stitching line.
        is_mirrored: whether it is the mirror image of what was drawn: a right half.
    """

    label: str
    outline: Polyline
    stitching: Polyline
    waist: Polyline | None
    notches: tuple[Polyline, ...]
    is_mirrored: bool


_NOTCH_MM = 4.0
"""How far a notch is drawn from the stitching line, to either side."""


def cut_pieces(pattern: Pattern, *, layers: int = 1) -> tuple[CutPiece, ...]:
    """Return every piece of a pattern in so many layers, labelled as on the cutting list: 1A right, 1B left, 1C right …

    The cut line lies outside the stitching line by the pattern's own seam allowance, else by the default ones.
    """
    allowances, panels = Allowances(), _panels(pattern)
    return tuple(
        _cut_piece(
            panels[half][panel.number], f"{panel.number}{ascii_uppercase[2 * depth + side]}", half, pattern, allowances
        )
        for panel in pattern.panels
        for depth in range(layers)
        for side, half in enumerate(("right", "left"))
    )


def cut_pieces_of(pattern: Pattern, construction: Construction) -> dict[str, CutPiece]:
    """Return every piece that a construction cuts of a pattern, by its label on the cutting list."""
    panels = _panels(pattern)
    return {
        piece.label: _cut_piece(
            panels[piece.half][piece.panel], piece.label, piece.half, pattern, construction.allowances
        )
        for piece in pieces_to_cut(pattern, construction)
    }


def _panels(pattern: Pattern) -> dict[str, dict[int, Panel]]:
    """The panels of both halves by their numbers."""
    return {
        half: {panel.number: panel for panel in side}
        for half, side in zip(("left", "right"), pattern.halves, strict=True)
    }


def piece_outline(panel: Panel, half: str, pattern: Pattern, allowances: Allowances) -> Polyline:
    """Return the cut line of a panel's piece for a half, its warp along x, moved to the origin."""
    outline = _cut_line(panel, pattern, allowances)
    place = _to_lay(panel, half, outline)
    ring = tuple(place(point) for point in outline)
    return tuple(reversed(ring)) if half == "right" else ring


def waist_along(panel: Panel, half: str, pattern: Pattern, allowances: Allowances) -> float:
    """Return where along the warp the waist of a panel's piece lies: its middle, from the piece's beginning."""
    waist = _waist(panel, _to_lay(panel, half, _cut_line(panel, pattern, allowances)))
    return math.fsum(x for x, _ in waist) / 2 if waist else 0.0


def _waist(panel: Panel, place: Callable[[Point], Point]) -> tuple[Point, Point] | None:
    """Both ends of the waist line on the piece; None where it crosses no edge."""
    front, back = x_at(panel.front, panel.waist_mm), x_at(panel.back, panel.waist_mm)
    return None if front is None or back is None else (place((front, panel.waist_mm)), place((back, panel.waist_mm)))


def _cut_line(panel: Panel, pattern: Pattern, allowances: Allowances) -> Polyline:
    return cut_outline(panel, edge_allowances(panel, pattern, allowances))


def _cut_piece(panel: Panel, label: str, half: str, pattern: Pattern, allowances: Allowances) -> CutPiece:
    place = _to_lay(panel, half, _cut_line(panel, pattern, allowances))
    return CutPiece(
        label=label,
        outline=piece_outline(panel, half, pattern, allowances),
        stitching=tuple(place(point) for point in panel.outline),
        waist=_waist(panel, place),
        notches=tuple(
            tuple(place(point) for point in _stroke(panel.edge(notch.edge), notch.along_mm)) for notch in panel.notches
        ),
        is_mirrored=half == "right",
    )


def _to_lay(panel: Panel, half: str, outline: Polyline) -> Callable[[Point], Point]:
    """What moves a point of a panel as drawn to where it lies on the piece: mirrored for the right half, warp along x."""
    degrees = panel.grain_deg if half == "left" else 180.0 - panel.grain_deg
    turn = math.radians(-degrees)
    cos, sin = math.cos(turn), math.sin(turn)
    flip = -1.0 if half == "right" else 1.0

    def turned(point: Point) -> Point:
        x, y = flip * point[0], point[1]
        return x * cos - y * sin, x * sin + y * cos

    moved = [turned(point) for point in outline]
    left, low = min(x for x, _ in moved), min(y for _, y in moved)

    def placed(point: Point) -> Point:
        x, y = turned(point)
        return x - left, y - low

    return placed


def _stroke(edge: Polyline, along_mm: float) -> Polyline:
    """A short stroke across an edge."""
    before, after = point_along(edge, along_mm - 1), point_along(edge, along_mm + 1)
    heading = math.atan2(after[1] - before[1], after[0] - before[0])
    x, y = point_along(edge, along_mm)
    across = (-math.sin(heading) * _NOTCH_MM, math.cos(heading) * _NOTCH_MM)
    return (x - across[0], y - across[1]), (x + across[0], y + across[1])
