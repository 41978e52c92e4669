"""From the stitching line to the cut line and back: each edge by its own allowance, corners mitred."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import LineString, Polygon

from quotes.pattern.geometry import Point, Polyline, signed_area_mm2
from quotes.pattern.model import EdgeName, Panel

__all__ = ["EdgeAllowances", "cut_area_mm2", "cut_outline", "offset_ring"]


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


def cut_outline(panel: Panel, allowances: EdgeAllowances) -> Polyline:
    """Return the cut line as a counter-clockwise ring that contains the stitching line."""
    edges = (panel.bottom, panel.back, tuple(reversed(panel.top)), tuple(reversed(panel.front)))
    ring = offset_ring(edges, allowances.around_mm)
    # Where an edge bends inward sharply the offset may loop on itself; the union of both areas mends it.
    whole = Polygon(ring).buffer(0).union(Polygon(panel.outline))
    if whole.geom_type != "Polygon":
        whole = max(whole.geoms, key=lambda part: part.area)
    coordinates = list(whole.exterior.coords)[:-1]
    points = tuple((float(x), float(y)) for x, y in coordinates)
    return points if signed_area_mm2(points) > 0 else tuple(reversed(points))


def offset_ring(edges: Sequence[Polyline], distances_mm: Sequence[float]) -> Polyline:
    """Return the ring made of `edges` moved outward by `distances_mm` (inward where negative).

    `edges` follow each other counter-clockwise, each starting where the last one ended. Neighbouring offset edges are
    extended along their end directions until they meet (a mitred corner).
    """
    moved = [_offset_right(edge, distance) for edge, distance in zip(edges, distances_mm, strict=True)]
    ring: list[Point] = []
    for index, line in enumerate(moved):
        ring += [_meet(moved[index - 1], line), *line[1:-1]]
    return tuple(ring)


def _offset_right(edge: Polyline, distance: float) -> Polyline:
    """The edge moved to its right, which is outward on a counter-clockwise ring."""
    if abs(distance) < _NOTHING_MM:
        return edge
    moved = LineString(edge).offset_curve(-distance, join_style="mitre", mitre_limit=10.0)
    if moved.geom_type != "LineString":
        moved = max(moved.geoms, key=lambda part: part.length)
    return tuple((float(x), float(y)) for x, y in moved.coords)


def _meet(line: Polyline, following: Polyline) -> Point:
    """Where the last leg of a line and the first leg of the following one, both extended, cross."""
    (ax, ay), (bx, by) = line[-2], line[-1]
    (cx, cy), (dx, dy) = following[0], following[1]
    rx, ry, sx, sy = bx - ax, by - ay, dx - cx, dy - cy
    cross = rx * sy - ry * sx
    if abs(cross) < 1e-9 * math.hypot(rx, ry) * math.hypot(sx, sy):
        return ((bx + cx) / 2, (by + cy) / 2)
    t = ((cx - ax) * sy - (cy - ay) * sx) / cross
    return (ax + t * rx, ay + t * ry)
