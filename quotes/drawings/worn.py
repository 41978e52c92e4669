"""The garment worn: from its panels to what is seen of them, on a body that is an ellipse at every height.

At a height the panels lie side by side around an ellipse, from centre front to centre back, with the lacing gap behind; the
widths of all panels and the gap are its girth. What lies before the sides is seen from the front, the rest from the back.
A panel's own edges say where it ends above and below. Heights stay as drawn: that cloth leans outward above and below the
waist is not taken from them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from quotes.commission.commission import Quotation
from quotes.construction.construction import Channels, Grommets
from quotes.defaults import desk_defaults
from quotes.drawings.ellipse import Array, angle_at, half_width_mm
from quotes.pattern.geometry import Polyline, as_line, as_polygon
from quotes.pattern.panels import Panel, Pattern
from quotes.seal.worn import Outline, WornGarment, WornPanel, WornView
from quotes.takeoff.lacing import grommet_heights_mm
from quotes.takeoff.takeoff import Takeoff

__all__ = ["worn_garment", "worn_garments"]

_STEP_MM = 4.0
"""How far apart levels and points of a line are reckoned."""
_FINE_MM = 0.1
"""How far a drawn line may be from the reckoned one."""
_SIDE = np.pi / 2
_ANGLE_SCALE = 150.0
"""Angles are laid out as lengths, a radian about as long as on the body, so that lines are divided evenly."""
_CHANNEL_MM = 9.0
"""How wide a channel is drawn; a picture, not a measure."""


def worn_garments(quotation: Quotation) -> tuple[WornGarment, ...]:
    """Return every option's garment as it is worn."""
    return tuple(worn_garment(option.takeoff, option=option.name) for option in quotation.options)


def worn_garment(takeoff: Takeoff, *, option: str) -> WornGarment:
    """Return a garment as it is worn, with the gap that the takeoff reckoned with; each panel in its outermost cloth."""
    pattern, construction = takeoff.pattern, takeoff.construction
    of_role = {cloth.role: cloth.material for cloth in takeoff.cloths}
    outside = tuple(
        (
            panel.number,
            next((of_role[layer.role] for layer in construction.layers if layer.has_panel(panel.number)), ""),
        )
        for panel in pattern.panels
    )
    gap = max(0.0, takeoff.worn_waist_mm - pattern.closed_waist_mm)
    front, back = _views(pattern, construction.channels, construction.grommets, outside, gap)
    return WornGarment(option=option, front=front, back=back)


@lru_cache(maxsize=32)
def _views(
    pattern: Pattern, channels: Channels, grommets: Grommets, outside: tuple[tuple[int, str], ...], gap_mm: float
) -> tuple[WornView, WornView]:
    """Front and back. Kept, for a draft is worked out anew at every change of a price that moves no line of it."""
    halves = _worn_halves(pattern, gap_mm)
    front, back = (_view(halves, channels, grommets, dict(outside), is_back=is_back) for is_back in (False, True))
    return front, back


@dataclass(frozen=True, slots=True)
class _Half:
    """One half around the body. Arrays over `levels`, heights above the waist in mm; panels in their order.

    `starts` is where each panel begins, as a length from centre front, and where the last one ends; `fronts` and `widths` are
    the panel's own, on the drawing; `girths` are those of the whole garment. `side` is 1 for the wearer's left, else -1.
    """

    panels: tuple[Panel, ...]
    side: int
    levels: Array
    starts: Array
    fronts: Array
    widths: Array
    girths: Array

    def around(self, index: int, points: Array) -> Array:
        """Points of a panel (x, y as drawn, an array of pairs) as angle from centre front, scaled, and height."""
        heights = points[:, 1] - self.panels[index].waist_mm
        front, width, start, end, girth = (
            np.interp(heights, self.levels, row)
            for row in (
                self.fronts[index],
                self.widths[index],
                self.starts[index],
                self.starts[index + 1],
                self.girths,
            )
        )
        share = np.clip((points[:, 0] - front) / np.maximum(width, 1e-9), 0, 1)
        angles = angle_at((start + share * (end - start)) / girth, _ratio())
        return np.column_stack((angles * _ANGLE_SCALE, heights))

    def seen(self, around: Array, *, is_back: bool) -> Array:
        """The same points as they are seen, x to the viewer's right."""
        half = half_width_mm(np.interp(around[:, 1], self.levels, self.girths), _ratio())
        x = self.side * half * np.sin(around[:, 0] / _ANGLE_SCALE)
        return np.column_stack((-x if is_back else x, around[:, 1]))


def _ratio() -> float:
    return desk_defaults().worn.depth_share


def _worn_halves(pattern: Pattern, gap_mm: float) -> tuple[_Half, _Half]:
    reaches = [
        (low - panel.waist_mm, high - panel.waist_mm)
        for half in pattern.halves
        for panel in half
        for (_, low), (_, high) in [panel.bounds]
    ]
    lowest, highest = min(low for low, _ in reaches), max(high for _, high in reaches)
    levels = np.linspace(lowest, highest, max(2, round((highest - lowest) / _STEP_MM) + 1))
    drawn = [_across(half, levels) for half in pattern.halves]
    lengths = [
        np.vstack((np.zeros_like(levels), np.cumsum([_bent(row, levels) for row in widths], axis=0)))
        for _, widths in drawn
    ]
    girths = lengths[0][-1] + lengths[1][-1] + gap_mm
    left, right = (
        _Half(half, side, levels, starts, fronts, widths, girths)
        for half, side, starts, (fronts, widths) in zip(pattern.halves, (1, -1), lengths, drawn, strict=True)
    )
    return left, right


def _across(panels: Sequence[Panel], levels: Array) -> tuple[Array, Array]:
    """Each panel's front edge and width at the levels; beyond the ends of an edge it goes on as it ends."""
    fronts, backs = (
        np.array([_edge_at(edge, levels + panel.waist_mm) for panel, edge in rows])
        for rows in ([(panel, panel.front) for panel in panels], [(panel, panel.back) for panel in panels])
    )
    return fronts, np.maximum(backs - fronts, 0.0)


def _edge_at(edge: Polyline, heights: Array) -> Array:
    """Where an edge first crosses each height, counted from below."""
    x, y = np.asarray(edge, dtype=float).T
    return np.asarray(np.interp(heights, np.maximum.accumulate(y), x), dtype=np.float64)


def _bent(widths: Array, levels: Array) -> Array:
    """A width over the levels without corners: boned cloth bends in a curve. What is straight stays as it is."""
    step = (levels[-1] - levels[0]) / (len(levels) - 1)
    spread = desk_defaults().worn.bend_mm / step
    reach = min(round(3 * spread), len(widths) - 1)
    if reach < 1:
        return widths
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / spread) ** 2)
    before, after = 2 * widths[0] - widths[reach:0:-1], 2 * widths[-1] - widths[-2 : -reach - 2 : -1]
    smooth = np.convolve(np.concatenate((before, widths, after)), weights / weights.sum(), mode="valid")
    return np.asarray(np.maximum(smooth, 0.0), dtype=np.float64)


def _view(
    halves: tuple[_Half, _Half], channels: Channels, grommets: Grommets, outside: dict[int, str], *, is_back: bool
) -> WornView:
    left = halves[0]
    widths = half_width_mm(left.girths, _ratio())
    panels: list[WornPanel] = []
    seams: list[Outline] = []
    channel_lines: list[Outline] = []
    edges: list[Outline] = []
    closing: list[Outline] = []
    grommet_columns: list[Outline] = []
    for half in halves:
        for index, panel in enumerate(half.panels):
            rings = _seen_ring(half, index, is_back=is_back)
            if rings:
                panels.append(WornPanel(number=panel.number, cloth=outside.get(panel.number, ""), rings=rings))
            is_last = index == len(half.panels) - 1
            if not is_last:
                seams += _seen_lines(half, index, [panel.back], is_back=is_back)
            channel_lines += _seen_lines(
                half, index, _stitched(panel, channels, grommets, is_last=is_last), is_back=is_back
            )
        for name in ("top", "bottom"):
            edges += _seen_edge(half, name, is_back=is_back)
        last = len(half.panels) - 1
        if is_back:
            closing += _seen_lines(half, last, [half.panels[last].back], is_back=True)
            grommet_columns.append(_column(half, grommets))
    if not is_back:
        closing += _seen_lines(left, 0, [left.panels[0].front], is_back=False)
    return WornView(
        silhouette=_rounded(np.column_stack((widths, left.levels))),
        panels=tuple(panels),
        seams=tuple(seams),
        channels=tuple(channel_lines),
        edges=tuple(edges),
        closing=tuple(closing),
        grommets=tuple(grommet_columns),
    )


def _stitched(panel: Panel, channels: Channels, grommets: Grommets, *, is_last: bool) -> list[Polyline]:
    """Lines of stitching beside the seams, down the middle and beside the grommets, on the panel as drawn."""
    low, high = panel.bounds[0][1], panel.bounds[1][1]
    heights = np.linspace(low, high, max(2, round((high - low) / _STEP_MM) + 1))
    front, back = _edge_at(panel.front, heights), _edge_at(panel.back, heights)
    wanted = []
    if panel.number > 1:
        wanted += [front + _CHANNEL_MM * (row + 1) for row in range(channels.bones_per_seam)]
    if panel.number in channels.mid_panel:
        wanted += [(front + back + _CHANNEL_MM * way) / 2 for way in (-1, 1)]
    if is_last:
        inset = grommets.inset_mm
        wanted += [back - inset + _CHANNEL_MM * way for way in (-2, -1, 1)]
    area = as_polygon(panel.outline)
    lines = []
    for x in wanted:
        line = shapely.linestrings(np.column_stack((x, heights)))
        if area.is_valid:
            lines += [_points(part) for part in _parts(shapely.intersection(line, area), "LineString")]
    return lines


def _seen_ring(half: _Half, index: int, *, is_back: bool) -> tuple[Outline, ...]:
    ring = half.panels[index].outline
    drawn = shapely.get_coordinates(shapely.segmentize(as_line((*ring, ring[0])), _STEP_MM))
    around = shapely.polygons(half.around(index, drawn))
    outlines = []
    for part in _parts(shapely.clip_by_rect(around, *_seen_from(is_back)), "Polygon"):
        fine = shapely.get_coordinates(shapely.segmentize(part.exterior, _STEP_MM))
        outlines.append(_outline(half.seen(fine, is_back=is_back))[:-1])
    return tuple(outline for outline in outlines if len(outline) > 2)


def _seen_lines(half: _Half, index: int, lines: Sequence[Polyline], *, is_back: bool) -> list[Outline]:
    found = []
    for line in lines:
        drawn = shapely.get_coordinates(shapely.segmentize(as_line(line), _STEP_MM))
        found += _clipped(half, half.around(index, drawn), is_back=is_back)
    return found


def _seen_edge(half: _Half, name: str, *, is_back: bool) -> list[Outline]:
    """The top or bottom edge of a half from centre front to centre back, as far as it is seen."""
    around = []
    for index, panel in enumerate(half.panels):
        edge = panel.top if name == "top" else panel.bottom
        around.append(half.around(index, shapely.get_coordinates(shapely.segmentize(as_line(edge), _STEP_MM))))
    return _clipped(half, np.concatenate(around), is_back=is_back)


def _clipped(half: _Half, around: Array, *, is_back: bool) -> list[Outline]:
    seen = shapely.clip_by_rect(shapely.linestrings(around), *_seen_from(is_back))
    return [_outline(half.seen(shapely.get_coordinates(part), is_back=is_back)) for part in _parts(seen, "LineString")]


def _column(half: _Half, grommets: Grommets) -> Outline:
    panel = half.panels[-1]
    heights = np.asarray(grommet_heights_mm(panel, grommets)) + panel.waist_mm
    across = _edge_at(panel.back, heights) - grommets.inset_mm
    around = half.around(len(half.panels) - 1, np.column_stack((across, heights)))
    return _rounded(half.seen(around, is_back=True))


def _seen_from(is_back: bool) -> tuple[float, float, float, float]:
    side, around, far = _SIDE * _ANGLE_SCALE, 2 * np.pi * _ANGLE_SCALE, 1e6
    return (side, -far, around - side, far) if is_back else (-1.0, -far, side, far)


def _parts(found: shapely.Geometry, kind: str) -> list[shapely.Geometry]:
    return [part for part in shapely.get_parts(found) if part.geom_type == kind and not part.is_empty]


def _points(line: shapely.Geometry) -> Polyline:
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(line))


def _outline(points: Array) -> Outline:
    """A line as it is kept: without points that lie on the way between others."""
    return _rounded(shapely.get_coordinates(shapely.linestrings(points).simplify(_FINE_MM)))


def _rounded(points: Array) -> Outline:
    return tuple((round(float(x), 1) + 0.0, round(float(y), 1) + 0.0) for x, y in points)
