"""Where paper ends, along lines across its first outline: at the half-way level between paper and ground, in linear light."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from quotes.photograph.corner_fit import smeared_step
from quotes.photograph.rings import lines_across
from quotes.photograph.view import View

__all__ = ["STEP_MM", "EdgeSamples", "sample_edge", "tidied"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STEP_MM = 1.0
"""Lines across the edge stand this far apart."""
_SPUR_MM, _MOUTH_MM = 1.6, 5.0
"""Half the width of what sticks out and is no paper, and of what is cut in and is a notch."""
_ACROSS_MM = 4.5
"""Lines reach this far to both sides of the first outline."""
_PAPER_MM, _GROUND_MM = (-4.5, -1.6), (1.2, 4.0)
"""Where, from the edge outwards, light is surely the paper's, or the ground's."""
_LEVEL_POINTS = 15
"""The paper's level at a line is the median of so many lines to both sides."""
_LEAST_STEP = 0.012
"""Of the light that a picture can show: paper and ground less apart than this are one."""
_CLEAR_STEP = 3.0
"""Paper and ground are this many times as far apart as either is uneven."""


@dataclass(frozen=True, kw_only=True)
class EdgeSamples:
    """The edge round a piece, one row a line across it, counter-clockwise as shapely has it.

    Attributes:
        points: (N, 2) mm on the table, at the half-way level.
        outward: (N, 2) unit vectors.
        offset: how far the first outline was moved, mm.
        clear: the half-way level was found, between levels that differ enough.
        paper: (N, 3) light of the paper near by; `ground` that beyond the edge; `apart` (3,) the colour that tells them apart.
        contrast: (N,) how far both lie apart along `apart`; `uneven` (N,) how much the ground varies there, same measure.
    """

    points: Array
    outward: Array
    offset: Array
    clear: Mask
    paper: Array
    ground: Array
    apart: Array
    contrast: Array
    uneven: Array


def tidied(area: Polygon) -> Polygon:
    """Return an outline without what is cut in or sticks out by little: notches closed, the ends of ruled lines taken off."""
    closed = area.buffer(_MOUTH_MM).buffer(-_MOUTH_MM - _SPUR_MM).buffer(_SPUR_MM)
    if closed.geom_type != "Polygon":
        closed = max(closed.geoms, key=lambda part: part.area)
    return Polygon(closed.exterior)


def sample_edge(view: View, outline: Polygon, blur_mm: float) -> EdgeSamples:
    """Return the edge near an outline that is right within some mm."""
    points, outward = lines_across(outline, step_mm=STEP_MM, fewest=24, beside_mm=3.0)
    reach = np.arange(-_ACROSS_MM, _ACROSS_MM + 1e-9, max(0.08, 0.4 / float(np.median(view.px_per_mm_at(points)))))
    light = view.light_across(points, outward, reach).astype(np.float64)
    shift = np.zeros(len(points))
    for _ in range(2):
        moved = _moved(light, reach, shift)
        inside, outside = _between(reach, _PAPER_MM), _between(reach, _GROUND_MM)
        paper = _smoothed_median(np.median(moved[:, inside], axis=1), _LEVEL_POINTS)
        ground = _smoothed_median(np.median(moved[:, outside], axis=1), 1)
        apart = _apart(moved[:, inside], moved[:, outside])
        high, low = paper @ apart, ground @ apart
        step = high - low
        share = (light @ apart - low[:, None]) / np.where(np.abs(step) < 1e-6, 1e-6, step)[:, None]
        shift = _best_step(share, reach, max(blur_mm, 0.15))
    crossing, crossed = _half_way(share, reach, shift)
    grained = moved[:, outside] @ apart
    uneven = np.maximum(np.percentile(grained, 84, axis=1) - np.percentile(grained, 16, axis=1), 1e-5) / 2
    sign = np.sign(np.median(step))
    clear = crossed & (sign * step > _LEAST_STEP) & (sign * step > _CLEAR_STEP * uneven)
    return EdgeSamples(
        points=points + outward * crossing[:, None],
        outward=outward,
        offset=crossing,
        clear=clear,
        paper=paper,
        ground=ground,
        apart=apart,
        contrast=sign * step,
        uneven=uneven,
    )


def _between(reach: Array, limits: tuple[float, float]) -> Mask:
    return np.asarray((reach >= limits[0]) & (reach <= limits[1]))


def _moved(light: Array, reach: Array, shift: Array) -> Array:
    """The rows of light counted from the edge as far as it is known, by whole steps."""
    step = reach[1] - reach[0]
    index = np.clip(np.arange(len(reach)) + np.round(shift / step).astype(int)[:, None], 0, len(reach) - 1)
    return np.take_along_axis(light, index[..., None], axis=1)


def _smoothed_median(rows: Array, half: int) -> Array:
    """The median of each row and its neighbours round the ring."""
    stacked = np.stack([np.roll(rows, shift, axis=0) for shift in range(-half, half + 1, max(1, half // 5))])
    return np.asarray(np.median(stacked, axis=0))


def _apart(paper: Array, ground: Array) -> Array:
    """The direction of colour along which paper and ground lie farthest apart for how much each varies (Fisher)."""
    one, two = paper.reshape(-1, 3), ground.reshape(-1, 3)
    spread = np.cov(one.T) + np.cov(two.T)
    between = np.median(one, axis=0) - np.median(two, axis=0)
    spread += np.eye(3) * max(0.02 * float(np.trace(spread)), 1e-7)
    direction = np.linalg.solve(spread, between)
    return np.asarray(direction / max(float(np.linalg.norm(direction)), 1e-12))


def _best_step(share: Array, reach: Array, blur_mm: float) -> Array:
    """Where a smeared step from 1 to 0 fits each row best."""
    places = np.arange(reach[0] + 1.0, reach[-1] - 1.0, 0.1)
    steps = 0.5 - 0.5 * smeared_step((reach - places[:, None]) / blur_mm)
    # Sums of squares by parts; far values count no more than a step does.
    share = np.clip(share, -0.5, 1.5)
    misfit = (share**2).sum(axis=1)[:, None] - 2 * share @ steps.T + (steps**2).sum(axis=1)
    # Of steps that fit equally well the nearer one counts.
    misfit += 0.02 * len(reach) * (places / _ACROSS_MM) ** 2
    return np.asarray(places[np.argmin(misfit, axis=1)])


def _half_way(share: Array, reach: Array, near: Array) -> tuple[Array, Mask]:
    """Where each row falls through the half nearest to `near`, and whether it does within a millimetre."""
    falls = (share[:, :-1] >= 0.5) & (share[:, 1:] < 0.5)
    part = (share[:, :-1] - 0.5) / np.where(falls, share[:, :-1] - share[:, 1:], 1.0)
    places = np.where(falls, reach[:-1] + part * (reach[1] - reach[0]), np.inf)
    best = np.argmin(np.abs(places - near[:, None]), axis=1)
    found = places[np.arange(len(places)), best]
    crossed = np.abs(found - near) < 1.0
    return np.where(crossed, found, near), crossed
