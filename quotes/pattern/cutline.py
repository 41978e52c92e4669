"""From the stitching line to the cut line and back: each edge by its own allowance, corners mitred."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString

from quotes.pattern.geometry import Point, Polyline, as_line, as_polygon, signed_area_mm2
from quotes.pattern.panels import EdgeName, Edges, Panel

__all__ = ["EdgeAllowances", "cut_area_mm2", "cut_outline", "cut_outline_area_mm2", "offset_ring", "stitching_from_cut"]

MITRE_LIMIT = 10.0
"""A corner is drawn out to its point up to this many allowances; a sharper one is cut off."""

_NOTHING_MM = 1e-6
"""An allowance below this is none; the geometry library fails on offsets that vanish."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeAllowances:
    """Seam allowance beyond each edge of one panel, mm, >= 0."""

    front_mm: float
    back_mm: float
    top_mm: float
    bottom_mm: float

    @property
    def around_mm(self) -> tuple[float, float, float, float]:
        """In the order of a counter-clockwise ring: bottom, back, top, front."""
        return self.bottom_mm, self.back_mm, self.top_mm, self.front_mm


def cut_area_mm2(panel: Panel, allowances: EdgeAllowances) -> float:
    """Return the cloth area of one cut piece, for costing, mm².

    Formula (common practice): net area + seam allowances × the lengths of the front and back edges + trimming × the
    widths of the panel at its top and bottom corners. Corners are left out; the lay takes the true cut line.
    """
    top_width = abs(panel.back[-1][0] - panel.front[-1][0])
    bottom_width = abs(panel.back[0][0] - panel.front[0][0])
    return (
        panel.net_area_mm2
        + allowances.front_mm * panel.edge_mm(EdgeName.FRONT)
        + allowances.back_mm * panel.edge_mm(EdgeName.BACK)
        + allowances.top_mm * top_width
        + allowances.bottom_mm * bottom_width
    )


def cut_outline_area_mm2(panel: Panel, allowances: EdgeAllowances) -> float:
    """Return the area inside the cut line as it is drawn, corners and all, mm²."""
    return float(as_polygon(cut_outline(panel, allowances)).area)


@lru_cache(maxsize=512)
def cut_outline(panel: Panel, allowances: EdgeAllowances) -> Polyline:
    """Return the cut line as a counter-clockwise ring that contains the stitching line.

    Kept, for one piece is asked for by its area, its lay, its papers and its layers.
    """
    edges = (panel.bottom, panel.back, tuple(reversed(panel.top)), tuple(reversed(panel.front)))
    ring = offset_ring(edges, allowances.around_mm)
    whole, sewn = as_polygon(ring), as_polygon(panel.outline)
    if whole.is_valid and whole.covers(sewn):
        return ring
    # Where an edge bends inward sharply the offset may loop on itself; the union of both areas mends it.
    whole = whole.buffer(0).union(sewn)
    if whole.geom_type != "Polygon":
        whole = max(whole.geoms, key=lambda part: part.area)
    points = _points(whole.exterior)[:-1]
    return points if signed_area_mm2(points) > 0 else tuple(reversed(points))


def stitching_from_cut(edges: Edges, allowances: EdgeAllowances) -> Edges | None:
    """Return the stitching edges inside four cut edges, each moved in by its allowance.

    None where nothing is left to sew: the piece is narrower somewhere than its allowances.
    """
    front, back, top, bottom = edges
    around = (bottom, back, tuple(reversed(top)), tuple(reversed(front)))
    moved = _offset_edges(around, [-distance for distance in allowances.around_mm])
    new_bottom, new_back, new_top, new_front = moved
    if any(len(edge) < 2 or edge[0] != moved[index - 1][-1] for index, edge in enumerate(moved)):
        return None
    ring = _joined(moved)
    sewn = as_polygon(ring)
    if not sewn.is_valid or signed_area_mm2(ring) <= 0 or not as_polygon(_joined(around)).covers(sewn):
        return None
    return tuple(reversed(new_front)), new_back, tuple(reversed(new_top)), new_bottom


def offset_ring(edges: Sequence[Polyline], distances_mm: Sequence[float]) -> Polyline:
    """Return the ring made of `edges` moved outward by `distances_mm` (inward where negative).

    `edges` follow each other counter-clockwise, each starting where the last one ended. Neighbouring offset edges are
    drawn out along their end directions, or shortened, until they meet (a mitred corner).
    """
    return _joined(_offset_edges(edges, distances_mm))


def _joined(edges: Sequence[Polyline]) -> Polyline:
    """The edges as one ring; a corner that two of them share stands once."""
    ring: list[Point] = []
    for index, edge in enumerate(edges):
        starts_new = edge[0] != edges[index - 1][-1]
        ring += edge if starts_new else edge[1:]
    return tuple(ring)


def _offset_edges(edges: Sequence[Polyline], distances_mm: Sequence[float]) -> tuple[Polyline, ...]:
    moved = [_offset_right(edge, distance) for edge, distance in zip(edges, distances_mm, strict=True)]
    reach = MITRE_LIMIT * max(abs(distance) for distance in distances_mm) + 1.0
    drawn_out = [_drawn_out(line, edge, reach) for line, edge in zip(moved, edges, strict=True)]
    meets = [_meeting(drawn_out[i - 1], drawn_out[i], edges[i][0]) for i in range(len(edges))]
    return tuple(
        _between(line, meets[index] or moved[index][0], meets[(index + 1) % len(edges)] or moved[index][-1])
        for index, line in enumerate(drawn_out)
    )


def _between(line: LineString, start: Point, end: Point) -> Polyline:
    """The part of a line from one of its points to another; only the start where the end comes before it."""
    begin_mm, finish_mm = shapely.line_locate_point(line, shapely.points([start, end])).tolist()
    if finish_mm <= begin_mm:
        return (start,)
    points = shapely.get_coordinates(line)
    places = np.cumsum(np.hypot(*np.diff(points, axis=0, prepend=points[:1]).T))
    inner = points[(places > begin_mm + _NOTHING_MM) & (places < finish_mm - _NOTHING_MM)]
    # Neighbouring edges carry exactly the same corner.
    return (start, *((x, y) for x, y in inner.tolist()), end)


def _offset_right(edge: Polyline, distance: float) -> Polyline:
    """The edge moved to its right, which is outward on a counter-clockwise ring."""
    if abs(distance) < _NOTHING_MM:
        return edge
    points = np.asarray(edge)
    legs = np.diff(points, axis=0)
    legs /= np.hypot(*legs.T)[:, np.newaxis]
    normals = np.column_stack((legs[:, 1], -legs[:, 0]))
    before, after = np.concatenate((normals[:1], normals)), np.concatenate((normals, normals[-1:]))
    # A mitred vertex lies along the sum of both normals; 1 + their product is 2 where the edge runs straight.
    straightness = 1 + np.sum(before * after, axis=1)
    if straightness.min() > 2 / MITRE_LIMIT**2:
        moved = points + distance * (before + after) / straightness[:, np.newaxis]
        if (np.sum(np.diff(moved, axis=0) * legs, axis=1) > 0).all():
            return tuple((x, y) for x, y in moved.tolist())
    # Legs would turn back: the edge bends more tightly than it is moved. The library takes the loops out; elsewhere it
    # is left alone, for it straightens shallow hollows by up to a hundredth of the distance.
    line = as_line(edge).offset_curve(-distance, join_style="mitre", mitre_limit=MITRE_LIMIT)
    if line.geom_type != "LineString":
        # Round a dent it comes back in parts that touch end to end.
        line = shapely.line_merge(line)
    if line.geom_type != "LineString":
        line = max(line.geoms, key=lambda part: part.length)
    return _points(line) or edge


def _drawn_out(line: Polyline, edge: Polyline, reach: float) -> LineString:
    """A moved edge drawn out at both ends, in the directions in which the edge itself ends."""
    return as_line((_ahead(line[0], edge[1], edge[0], reach), *line, _ahead(line[-1], edge[-2], edge[-1], reach)))


def _ahead(point: Point, before: Point, end: Point, reach: float) -> Point:
    """`reach` beyond a point, in the direction from `before` to `end`."""
    leg = math.dist(before, end)
    return point[0] + reach * (end[0] - before[0]) / leg, point[1] + reach * (end[1] - before[1]) / leg


def _meeting(line: LineString, following: LineString, corner: Point) -> Point | None:
    """Where two lines meet nearest to a corner; None where they run past each other."""
    points = shapely.get_coordinates(line.intersection(following))
    if not len(points):
        return None
    x, y = min(points.tolist(), key=lambda point: math.dist(point, corner))
    return float(x), float(y)


def _points(line: LineString) -> Polyline:
    return tuple((x, y) for x, y in shapely.get_coordinates(line).tolist())
