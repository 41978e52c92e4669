"""A drawing whose panels the file names itself, taken as the lines of a free drawing are: outlines that can be numbered."""

from collections.abc import Sequence
from dataclasses import replace

from quotes.pattern.drawing import Drawing, DrawnPanel
from quotes.pattern.edges import joined_edges
from quotes.pattern.geometry import Polyline
from quotes.pattern.table.said import Said
from quotes.pattern.taking.taken import Role, Taken, TakenOutline

__all__ = ["taken_of_named"]

_APART_MM = 30.0
"""How far apart panels are laid that the file draws over one another."""


def taken_of_named(drawing: Drawing, said: Said) -> Taken:
    """Return a drawing of named panels as it is taken, by the numbers of the file or those said in their place."""
    rings = [_ring(panel) for panel in drawing.panels]
    outlines, panels = [], []
    for index, (panel, ring, shift) in enumerate(zip(drawing.panels, rings, _shifts(rings), strict=True), start=1):
        number = said.of_piece(index).number
        number = panel.number if number is None else number
        if number:
            panels.append(replace(panel, number=number))
        outlines.append(
            TakenOutline(
                index=index,
                ring=_moved(ring, shift),
                role=Role.PANEL if number else Role.LEFT_OUT,
                why=_why(panel, number),
                panel=number or None,
                waist=None if panel.waist is None else _moved(panel.waist, shift),
                grain=None if panel.grain is None else (_at(panel.grain[0], shift), _at(panel.grain[1], shift)),
                notches=_moved(panel.notches, shift),
                may_be_panel=True,
                is_panel=bool(number),
            )
        )
    return Taken(outlines=tuple(outlines), scales=(), drawing=replace(drawing, panels=tuple(panels)))


def _why(panel: DrawnPanel, number: int | None) -> str:
    if number == panel.number:
        return "numbered by the file"
    return "numbered by you" if number else "left out by you"


def _ring(panel: DrawnPanel) -> Polyline:
    if panel.edges is not None:
        return joined_edges(panel)[0]
    return panel.stitching or panel.cut or ()


def _shifts(rings: Sequence[Polyline]) -> list[float]:
    """By how much each ring is moved along x: not at all, unless two of them would lie over each other."""
    boxes = [(min(ring)[0], min(y for _, y in ring), max(ring)[0], max(y for _, y in ring)) for ring in rings if ring]
    if not any(_overlap(one, other) for at, one in enumerate(boxes) for other in boxes[:at]):
        return [0.0] * len(rings)
    shifts, x = [], 0.0
    for ring in rings:
        left, right = (min(ring)[0], max(ring)[0]) if ring else (0.0, 0.0)
        shifts.append(x - left)
        x += right - left + _APART_MM
    return shifts


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _moved(line: Polyline, shift: float) -> Polyline:
    return tuple(_at(point, shift) for point in line)


def _at(point: tuple[float, float], shift: float) -> tuple[float, float]:
    return point[0] + shift, point[1]
