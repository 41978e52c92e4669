"""The half garment on the drafting table: panels side by side, with what a maker looks for on each.

Stitching line solid, cut line thin, grain an arrow, notches ticks, the waist and the channels dashed, lengths along
the edges in the maker's unit.
"""

import math

from shapely import LineString

from inventory.ground.svg import Canvas
from inventory.ground.units import LengthUnit, format_length
from quotes.construction.construction import Construction
from quotes.pattern.cutline import cut_outline
from quotes.pattern.geometry import Point, Polyline, length_mm, point_along, x_at
from quotes.pattern.panels import Panel, Pattern
from quotes.takeoff.lacing import grommet_heights_mm
from quotes.takeoff.pieces import edge_allowances

__all__ = ["half_drawing"]

GAP_MM = 34.0
MARGIN_MM = 22.0
GROMMET_RADIUS_MM = 2.5
CHANNEL_SPACING_MM = 9.0
"""How far apart channels of one seam are drawn; a picture, not a measure."""


def half_drawing(pattern: Pattern, *, unit: LengthUnit, construction: Construction | None = None) -> str:
    """Return an SVG of one half, centre front to the left. With a construction, its cut lines and channels too."""
    placed = _side_by_side(pattern.panels)
    tops = [panel.bounds[1][1] - panel.waist_mm for panel in pattern.panels]
    bottoms = [panel.bounds[0][1] - panel.waist_mm for panel in pattern.panels]
    last, shift = placed[-1]
    width = shift + last.bounds[1][0] + MARGIN_MM + GAP_MM
    height = max(tops) - min(bottoms) + 4 * MARGIN_MM
    canvas = Canvas(
        title=f"{pattern.name}: one half, {len(placed)} panels from centre front to centre back",
        left=-MARGIN_MM - GAP_MM,
        bottom=min(bottoms) - 2 * MARGIN_MM,
        width=width + MARGIN_MM + GAP_MM,
        height=height,
        classes="drawing drawing-half",
    )
    for panel, offset in placed:
        _draw_panel(canvas, panel, offset, pattern, construction, unit)
    return canvas.markup()


def _side_by_side(panels: tuple[Panel, ...]) -> list[tuple[Panel, float]]:
    """Each panel with the x by which it is moved, so that boxes stand `GAP_MM` apart."""
    placed, x = [], 0.0
    for panel in panels:
        (left, _), (right, _) = panel.bounds
        placed.append((panel, x - left))
        x += right - left + GAP_MM
    return placed


def _draw_panel(
    canvas: Canvas,
    panel: Panel,
    offset: float,
    pattern: Pattern,
    construction: Construction | None,
    unit: LengthUnit,
) -> None:
    def at(line: Polyline) -> Polyline:
        return tuple((x + offset, y - panel.waist_mm) for x, y in line)

    is_first, is_last = panel.number == 1, panel.number == pattern.panels_per_half
    if construction is not None:
        cut = cut_outline(panel, edge_allowances(panel, pattern, construction.allowances))
        canvas.line(at(cut), "cut-line", closed=True)
        for channel in _channels(panel, construction, is_last=is_last):
            canvas.line(at(channel), "channel-line")
        if is_last:
            column = construction.grommets
            for height in grommet_heights_mm(panel, column):
                back_x = x_at(panel.back, panel.waist_mm + height)
                if back_x is not None:
                    canvas.ring((back_x - column.inset_mm + offset, height), GROMMET_RADIUS_MM, "grommet-ring")
    canvas.line(at(panel.outline), "stitching-line", closed=True)

    front_x, back_x = x_at(panel.front, panel.waist_mm), x_at(panel.back, panel.waist_mm)
    if front_x is not None and back_x is not None:
        canvas.line(at(((front_x, panel.waist_mm), (back_x, panel.waist_mm))), "waist-line")
        middle = ((front_x + back_x) / 2 + offset, 3.0)
        canvas.text(middle, format_length(back_x - front_x, unit), "measure")
        _grain_arrow(canvas, panel, (front_x + back_x) / 2 + offset)
    for notch in panel.notches:
        _tick(canvas, at(panel.edge(notch.edge)), notch.along_mm)
    _edge_length(canvas, at(panel.back), unit, side=1)
    if is_first:
        _edge_length(canvas, at(panel.front), unit, side=-1)
        canvas.text((at(panel.front)[0][0] - 20, 0), "centre front", "place", turned=90)
    if is_last:
        canvas.text((at(panel.back)[0][0] + 24, 0), "centre back", "place", turned=90)
    (left, low), (right, high) = panel.bounds
    canvas.text(((left + right) / 2 + offset, high - panel.waist_mm - 34), str(panel.number), "panel-number")
    canvas.text(((left + right) / 2 + offset, low - panel.waist_mm - 18), panel.name[:24], "panel-name")


def _channels(panel: Panel, construction: Construction, *, is_last: bool) -> list[Polyline]:
    """Centre lines of the channels that this panel shows: those at its front seam, down its middle, at the back."""
    lines = []
    if panel.number > 1:
        for index in range(construction.channels.bones_per_seam):
            distance = CHANNEL_SPACING_MM * (index + 0.5)
            shifted = LineString(panel.front).offset_curve(-distance)
            lines.append(tuple((float(x), float(y)) for x, y in shifted.coords))
    if panel.number in construction.channels.mid_panel:
        (_, low), (_, high) = panel.bounds
        levels = [low + (high - low) * step / 20 for step in range(1, 20)]
        crossings = [(x_at(panel.front, y), x_at(panel.back, y), y) for y in levels]
        lines.append(tuple(((f + b) / 2, y) for f, b, y in crossings if f is not None and b is not None))
    if is_last:
        for distance in (CHANNEL_SPACING_MM * 0.7, CHANNEL_SPACING_MM * 2.9):
            shifted = LineString(panel.back).offset_curve(distance)
            lines.append(tuple((float(x), float(y)) for x, y in shifted.coords))
    return [line for line in lines if len(line) > 1]


def _grain_arrow(canvas: Canvas, panel: Panel, x: float) -> None:
    """An arrow along the warp, above the waist."""
    half = 16.0
    direction = math.radians(panel.grain_deg)
    centre = (x, 34.0)
    start = (centre[0] - half * math.cos(direction), centre[1] - half * math.sin(direction))
    end = (centre[0] + half * math.cos(direction), centre[1] + half * math.sin(direction))
    canvas.line((start, end), "grain-line")
    for tip, towards in ((end, direction), (start, direction + math.pi)):
        barbs = tuple(
            (tip[0] - 5 * math.cos(towards + turn), tip[1] - 5 * math.sin(towards + turn)) for turn in (0.45, -0.45)
        )
        canvas.line((barbs[0], tip, barbs[1]), "grain-line")


def _tick(canvas: Canvas, edge: Polyline, along_mm: float) -> None:
    """A short stroke across an edge."""
    before, after = point_along(edge, along_mm - 1), point_along(edge, along_mm + 1)
    heading = math.atan2(after[1] - before[1], after[0] - before[0])
    x, y = point_along(edge, along_mm)
    across = (-math.sin(heading) * 3.5, math.cos(heading) * 3.5)
    canvas.line(((x - across[0], y - across[1]), (x + across[0], y + across[1])), "notch-tick")


def _edge_length(canvas: Canvas, edge: Polyline, unit: LengthUnit, *, side: int) -> None:
    """The length of an edge, written along it, above the waist and outside the panel."""
    total = length_mm(edge)
    place: Point = point_along(edge, total * 0.72)
    before, after = point_along(edge, total * 0.66), point_along(edge, total * 0.78)
    heading = math.degrees(math.atan2(after[1] - before[1], after[0] - before[0]))
    away = math.radians(heading - 90 * side)
    spot = (place[0] + 5.0 * math.cos(away), place[1] + 5.0 * math.sin(away))
    canvas.text(spot, format_length(total, unit), "measure", turned=heading if side < 0 else heading - 180)
