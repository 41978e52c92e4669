"""Notches: where paper is cut in from its edge, and the middle of each mouth, from where its flanks meet the edge."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

from quotes.photograph.edge import EdgeSamples
from quotes.photograph.rings import lines_across
from quotes.photograph.view import View

__all__ = ["NEAR_NOTCH_MM", "Notch", "find_notches", "near_notches", "pockets"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
_STEP_MM = 0.15
_DEPTHS_MM = np.arange(-1.5, 9.0, 0.15)
"""Lines across the edge stand this far apart, and light is looked at along them this far inside it."""
_SHALLOW_MM = (1.0, 1.8)
_BAND_MM = np.arange(1.05, 1.85, 0.15)
"""A notch is at least this deep: along this band inside the edge there is ground."""
_WIDEST_MM, _NARROWEST_MM = 12.0, 1.2
"""Of its mouth."""
_FROM_CORNERS_MM, _FROM_EACH_OTHER_MM = 5.0, 12.0
_POCKET_MM2, _POCKET_EDGE_MM = 2.0, 0.3
_GROUND_SHARE = 0.62
"""Less of the way from ground to paper is a gap."""
NEAR_NOTCH_MM = 1.5
"""Beyond its mouth the edge is rounded by blur this far."""
_FLANK_FROM_MM = 0.45
"""Nearer to the edge a flank is rounded by blur."""


@dataclass(frozen=True, kw_only=True)
class Notch:
    """A notch: the `middle` of its mouth on the edge, `mouth` wide there, `depth` deep; `scatter` of its flanks, all mm."""

    middle: Array
    mouth: float
    depth: float
    scatter: float


def find_notches(view: View, ring: Array, edge: EdgeSamples, corners: Array) -> list[Notch]:
    """Return the notches of a piece: `ring` its outline as far as known, mm on the table."""
    points, outward = lines_across(Polygon(ring), step_mm=_STEP_MM, fewest=64, beside_mm=6.0)
    count = len(points)
    nearest = shapely.STRtree(shapely.points(edge.points)).nearest(shapely.points(points))
    high, low = (edge.paper @ edge.apart)[nearest], (_calm(edge.ground) @ edge.apart)[nearest]

    def share_of(lines: Indices, depths: Array) -> Array:
        """How far light is on the way from ground (0) to paper (1), at depths inside the edge."""
        light = view.light_across(points[lines], -outward[lines], depths).astype(np.float64)
        return np.asarray((light @ edge.apart - low[lines, None]) / (high - low)[lines, None])

    band = share_of(np.arange(count), _BAND_MM)
    found = []
    step = LinearRing(ring).length / count
    for start, end in _gaps(band.mean(axis=1) < _GROUND_SHARE):
        width = (end - start) * step
        middle = (start + end) // 2 % count
        far = np.hypot(*(corners - points[middle]).T).min() if len(corners) else math.inf
        if width > _WIDEST_MM or far < _FROM_CORNERS_MM:
            continue
        reach = round(_WIDEST_MM / step)
        window = (middle + np.arange(-reach, reach + 1)) % count
        notch = _measured(share_of(window, _DEPTHS_MM), points[window], step)
        if notch is not None:
            found.append(notch)
    # What is seen twice, by parts of its flanks, is the larger one.
    found.sort(key=lambda notch: -notch.mouth * notch.depth)
    return [
        notch
        for number, notch in enumerate(found)
        if all(math.dist(notch.middle, other.middle) > _FROM_EACH_OTHER_MM for other in found[:number])
    ]


def pockets(area: Polygon, tidied: Polygon) -> list[Notch]:
    """Return where a first outline is cut in, roughly: `tidied` is the same outline with what is cut in closed."""
    cut_in = tidied.difference(area.buffer(0.05))
    found = []
    ring = LinearRing(tidied.exterior.coords)
    for part in getattr(cut_in, "geoms", [cut_in]):
        if part.area < _POCKET_MM2:
            continue
        corners = shapely.get_coordinates(part.exterior)
        depth = shapely.distance(ring, shapely.points(corners))
        on_edge = corners[depth < _POCKET_EDGE_MM]
        if depth.max() < _SHALLOW_MM[0] or len(on_edge) < 2:
            continue
        mouth = float(np.hypot(*np.ptp(on_edge, axis=0)))
        # The middle between both ends: corners of the first outline stand unevenly along the mouth.
        middle = (on_edge.min(axis=0) + on_edge.max(axis=0)) / 2
        at = ring.interpolate(ring.project(shapely.points(middle)))
        found.append(Notch(middle=shapely.get_coordinates(at)[0], mouth=mouth, depth=float(depth.max()), scatter=mouth))
    return found


def _calm(ground: Array) -> Array:
    """The ground's light, without single marks on it: its median over a stretch."""
    stacked = np.stack([np.roll(ground, shift, axis=0) for shift in range(-12, 13, 2)])
    return np.asarray(np.median(stacked, axis=0))


def _gaps(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Runs of True round a ring, as start and end; the end may lie beyond the ring's length."""
    if mask.all() or not mask.any():
        return []
    first = int(np.argmin(mask))
    turned = np.roll(mask, -first)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], turned.astype(int), [0]])))
    return [(int(start) + first, int(end) + first) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _measured(share: Array, points: Array, step: float) -> Notch | None:
    """The notch in the middle of a stretch of the edge: both flanks followed from depth to depth, and where they meet the edge.

    `share` (N, D) is that of each line a `step` apart, from `points` (N, 2) on, at each of the depths.
    """
    flanks, deepest = [], 0.0
    tip = float(len(points) // 2)
    for index in np.flatnonzero(_DEPTHS_MM >= _FLANK_FROM_MM):
        row = share[:, index]
        near = slice(max(0, round(tip) - round(2.5 / step)), round(tip) + round(2.5 / step) + 1)
        lowest = near.start + int(np.argmin(row[near]))
        if row[lowest] > 0.5:
            break
        left, right = _crossing(row[lowest::-1]), _crossing(row[lowest:])
        if left is None or right is None:
            # So near to the edge the mouth may run out of the window only where there is no notch.
            if _DEPTHS_MM[index] > _SHALLOW_MM[0]:
                return None
            continue
        flanks.append((float(_DEPTHS_MM[index]), lowest - left, lowest + right))
        tip = lowest + (right - left) / 2
        deepest = float(_DEPTHS_MM[index])
    if deepest < _SHALLOW_MM[1] - 0.3 or len(flanks) < 5:
        return None
    rows = np.array(flanks)
    # Towards the tip blur fills the gap from both sides.
    kept = rows[rows[:, 0] <= max(0.75 * deepest, 1.6)]
    (left, left_off), (right, right_off) = (_at_edge(kept[:, 0], kept[:, side]) for side in (1, 2))
    mouth = (right - left) * step
    if not _NARROWEST_MM <= mouth <= _WIDEST_MM:
        return None
    at = (left + right) / 2
    place = np.array([np.interp(at, np.arange(len(points)), side) for side in points.T])
    return Notch(middle=place, mouth=mouth, depth=deepest, scatter=math.hypot(left_off, right_off) * step / 2)


def _crossing(row: Array) -> float | None:
    """How far along a row, from its start, the share first rises to a half."""
    above = np.flatnonzero(row >= 0.5)
    if not len(above):
        return None
    index = int(above[0])
    if index == 0:
        return 0.0
    return float(index - 1 + (0.5 - row[index - 1]) / max(row[index] - row[index - 1], 1e-9))


def _at_edge(depths: Array, places: Array) -> tuple[float, float]:
    """Where a flank's line meets the edge, and how exactly that is known, in steps; far points count little."""
    weight: Array = np.ones(len(depths))
    basis = np.stack([np.ones_like(depths), depths], axis=-1)
    terms: Array = np.zeros(2)
    off: Array = np.zeros(len(depths))
    for _ in range(5):
        terms = np.asarray(np.linalg.lstsq(basis * weight[:, None], places * weight, rcond=None)[0], dtype=np.float64)
        off = np.abs(places - basis @ terms)
        scatter = max(0.3, 1.4826 * float(np.median(off)))
        weight = np.asarray(1 / np.sqrt(1 + (off / scatter) ** 2))
    return float(terms[0]), float(np.sqrt(np.mean(off**2)) * 2 / math.sqrt(len(off)))


def near_notches(points: Array, notches: Sequence[Notch]) -> NDArray[np.bool_]:
    """Return which points of an edge lie in the mouth of a notch or so near that blur reaches them."""
    near = np.zeros(len(points), dtype=bool)
    for notch in notches:
        near |= np.hypot(*(points - notch.middle).T) < notch.mouth / 2 + NEAR_NOTCH_MM
    return near
