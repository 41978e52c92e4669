"""One panel as it will be sewn: upright, its front edge to the left, its waist a line that can be moved."""

import shapely

from inventory.ground.svg import Canvas
from quotes.pattern.geometry import Polyline, as_line, point_along, x_at
from quotes.pattern.panels import Panel

__all__ = ["piece_drawing"]

MARGIN_MM = 16.0
LETTERS_MM = 13.0
FINE_MM = 0.2
"""Points that cannot be seen are left out."""
TICK_MM = 5.0


def piece_drawing(panel: Panel, *, height_mm: float) -> str:
    """Return an SVG of the panel in a window `height_mm` high, so that several stand at one scale, bottoms level."""
    (left, bottom), (right, _) = panel.bounds
    canvas = Canvas(
        title=f"Panel {panel.number}, front edge to the left",
        left=left - MARGIN_MM,
        bottom=bottom - MARGIN_MM,
        width=right - left + 2 * MARGIN_MM,
        height=height_mm + 2 * MARGIN_MM,
        classes="drawing drawing-piece",
    )
    if panel.cut_line:
        canvas.line(_fine((*panel.cut_line, panel.cut_line[0])), "cut-line")
    canvas.line(_fine((*panel.outline, panel.outline[0])), "stitching-line")
    for notch in panel.notches:
        x, y = point_along(panel.edge(notch.edge), notch.along_mm)
        canvas.line(((x - TICK_MM / 2, y), (x + TICK_MM / 2, y)), "notch-tick")
    ends = x_at(panel.front, panel.waist_mm), x_at(panel.back, panel.waist_mm)
    if ends[0] is not None and ends[1] is not None:
        canvas.line(((ends[0], panel.waist_mm), (ends[1], panel.waist_mm)), "waist-line")
    canvas.text(
        ((left + right) / 2, (bottom + panel.bounds[1][1]) / 2 + 2 * LETTERS_MM),
        str(panel.number),
        "panel-number",
        size=2 * LETTERS_MM,
    )
    return canvas.markup()


def _fine(line: Polyline) -> Polyline:
    return tuple((x, y) for x, y in shapely.get_coordinates(as_line(line).simplify(FINE_MM)).tolist())
