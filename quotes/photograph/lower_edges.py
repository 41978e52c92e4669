"""Paper upon paper in one outline: the edge of the upper sheet, seen as a faint line that begins at the outline.

It is told by the shadow that it casts or by the papers' colours: a line over which the light changes by a little, many times as long
as it is wide. Ink is much darker, a line that was drawn along an edge follows it, and a waist line ends at both notches.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

__all__ = ["InnerLine", "inner_lines"]

Array = NDArray[np.float64]
Image = NDArray[np.float32]
Mask = NDArray[np.bool_]
Light = Callable[[Array], NDArray[np.float32]]
_CELL_MM = 0.5
_EDGE_MM = 2.5
"""So near to the outline its own blur and shadow are seen."""
_LEVEL_MM = 4.0
"""Light is compared with that round it, over a standard deviation of this."""
_MOST_DIM = 0.12
"""Of the light: what is darker counts as this dark, so that a stroke of a pen does not count as a long line."""
_LINE_MM, _WIDE_MM = 24.0, 1.0
_WAYS = 24
_CLEAR = 3.0
"""A line shows over so many times what paper shows without one."""
_FAINTEST = 0.003
_SHORTEST_MM = 35.0
_BROAD = 0.3
"""What is broader, of its length, is a stain or a letter."""
_REACHES_MM = 9.0
"""An end at the outline lies no farther than this from it."""
_FOLLOWS_MM = 1.5
"""It follows the outline where its distance from it varies by less."""
_BLACK = 0.3
"""Ink takes away more of the light than this."""
_LEG_MM = (2.0, 10.0)
_END_MM = 8.0
_AT_NOTCH_MM = 8.0


@dataclass(frozen=True, kw_only=True)
class InnerLine:
    """A faint line inside an outline; the corner of a sheet upon another may end it inside.

    Attributes:
        ends: (2, 2) mm on the table; `length` between them.
        reaches: for each end, whether it lies at the outline.
        turns: by how much the outline turns inward beside each end, radians; not at a notch.
        at_notch: for each end, whether a notch was found there.
        follows: it runs along the outline.
    """

    ends: Array
    length: float
    reaches: tuple[bool, bool]
    turns: tuple[float, float]
    at_notch: tuple[bool, bool]
    follows: bool


def inner_lines(light_at: Light, ring: Array, notches: Sequence[Array]) -> list[InnerLine]:
    """Return the faint lines that begin at the outline of a piece, longest first. `light_at` answers points (…, 2) of the table, mm."""
    low = ring.min(axis=0) - _CELL_MM
    columns, rows = (int(count) for count in np.ceil((ring.max(axis=0) + _CELL_MM - low) / _CELL_MM))
    grid = np.stack(np.meshgrid(np.arange(columns), np.arange(rows)), axis=-1) * _CELL_MM + low
    inside = np.zeros((rows, columns), dtype=np.uint8)
    cv2.fillPoly(inside, [np.round((ring - low) / _CELL_MM).astype(np.int32)], 1)
    away = np.asarray(cv2.distanceTransform(inside, cv2.DIST_L2, 5)) * _CELL_MM
    within = away > _EDGE_MM
    if not within.any():
        return []
    seen = np.log(np.maximum(light_at(grid).mean(axis=-1), 1e-4)).astype(np.float32)
    beside = seen - _level(seen, within, _LEVEL_MM)
    shown = _along_lines(np.clip(beside, -_MOST_DIM, _MOST_DIM), within)
    usual = 1.4826 * float(np.median(shown[within]))
    lines = (shown > max(_CLEAR * usual, _FAINTEST)) & within
    count, labels, boxes, _ = cv2.connectedComponentsWithStats(lines.astype(np.uint8), connectivity=8)
    found = []
    for label in range(1, count):
        if max(boxes[label, cv2.CC_STAT_WIDTH], boxes[label, cv2.CC_STAT_HEIGHT]) * _CELL_MM < _SHORTEST_MM / 1.5:
            continue
        line = _line(labels == label, beside, away, low, ring, notches)
        if line is not None:
            found.append(line)
    return sorted(found, key=lambda line: -line.length)


def _level(seen: Image, within: Mask, spread_mm: float) -> Image:
    """The light round each cell, of cells within alone."""
    weight = within.astype(np.float32)
    sums, counts = (
        cv2.GaussianBlur(part, (0, 0), spread_mm / _CELL_MM, borderType=cv2.BORDER_CONSTANT)
        for part in (np.where(within, seen, 0.0).astype(np.float32), weight)
    )
    return np.asarray(np.where(within, sums / np.maximum(counts, 1e-3), seen), dtype=np.float32)


def _along_lines(beside: Image, within: Mask) -> Image:
    """By how much light differs on the best line through each cell, or changes over it, in any direction."""
    kept = np.where(within, beside, 0.0).astype(np.float32)
    half = round(_LINE_MM / 2 / _CELL_MM)
    x, y = np.meshgrid(np.arange(-half, half + 1), np.arange(-half, half + 1))
    best = np.zeros_like(kept)
    for way in np.arange(_WAYS) * math.pi / _WAYS:
        along = x * math.cos(way) + y * math.sin(way)
        across = (-x * math.sin(way) + y * math.cos(way)) * _CELL_MM
        near = np.exp(-((along / (half / 2)) ** 2) / 2) * (np.hypot(x, y) <= half)
        profile = np.exp(-((across / (_WIDE_MM / 2)) ** 2) / 2)
        wider = np.exp(-((across / (1.5 * _WIDE_MM)) ** 2) / 2)
        ridge = near * (profile / (near * profile).sum() - wider / (near * wider).sum())
        step = near * across * wider
        step = step / np.abs(step).sum()
        for kernel in (ridge, step):
            best = np.maximum(best, np.abs(cv2.filter2D(kept, cv2.CV_32F, kernel.astype(np.float32))))
    return np.asarray(best, dtype=np.float32)


def _line(
    cells: Mask, beside: Image, away: Image, low: Array, ring: Array, notches: Sequence[Array]
) -> InnerLine | None:
    """What a run of cells is: a line that begins at the outline, or None."""
    rows, columns = np.nonzero(cells)
    points = np.stack([columns, rows], axis=-1) * _CELL_MM + low
    middle = points - points.mean(axis=0)
    _, spread, axes = np.linalg.svd(middle, full_matrices=False)
    along = middle @ axes[0]
    ends = points[[int(np.argmin(along)), int(np.argmax(along))]]
    length = float(np.ptp(along))
    if length < _SHORTEST_MM or spread[1] > _BROAD * spread[0]:
        return None
    edge = LinearRing(ring)
    reaches = [bool(away_mm <= _REACHES_MM) for away_mm in shapely.distance(edge, shapely.points(ends))]
    if not any(reaches):
        return None
    # The darkest cell of each stretch: ink is black there.
    stretch = np.round((along - along.min()) / 4.0).astype(int)
    darkest = [float(beside[rows[stretch == one], columns[stretch == one]].min()) for one in np.unique(stretch)]
    if float(np.median(darkest)) < math.log(1 - _BLACK):
        return None
    distance = away[rows, columns][np.argsort(along)]
    means = [float(part.mean()) for part in np.array_split(distance, 8)][1:-1]
    return InnerLine(
        ends=ends,
        length=length,
        reaches=(reaches[0], reaches[1]),
        turns=(
            _turn_inward(edge, ends[0], notches) if reaches[0] else 0.0,
            _turn_inward(edge, ends[1], notches) if reaches[1] else 0.0,
        ),
        at_notch=(_is_near(ends[0], notches), _is_near(ends[1], notches)),
        follows=float(np.ptp(means)) < 2 * _FOLLOWS_MM,
    )


def _is_near(end: Array, notches: Sequence[Array]) -> bool:
    return any(math.dist(end, notch) < _AT_NOTCH_MM for notch in notches)


def _turn_inward(edge: LinearRing, end: Array, notches: Sequence[Array]) -> float:
    """The sharpest turn inward of an outline near a place, radians; 0 where it turns outward alone.

    A panel turns inward at its waist, where its notches are: there no turn counts.
    """
    line = LinearRing(shapely.geometry.polygon.orient(Polygon(edge)).exterior.coords)
    at = float(line.project(shapely.Point(end)))
    near, far = _LEG_MM
    places = at + np.arange(-_END_MM, _END_MM + 1e-9, 1.0)
    for notch in notches:
        beside = np.remainder(places - float(line.project(shapely.Point(notch))) + line.length / 2, line.length)
        places = places[np.abs(beside - line.length / 2) > _AT_NOTCH_MM]
    if not len(places):
        return 0.0
    one, two, three, four = (
        shapely.get_coordinates(shapely.line_interpolate_point(line, (places + off) % line.length))
        for off in (-far, -near, near, far)
    )
    before, after = two - one, four - three
    turns = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    return float(max(0.0, -turns.min()))
