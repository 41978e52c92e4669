"""How an outline goes on beside each of its points: the directions of both its legs, by how much it turns and steps aside between them."""

import math

import numpy as np
from numpy.typing import NDArray

from quotes.photograph.edge import STEP_MM

__all__ = ["LEG_MM", "ROUNDED_MM", "direction", "directions", "largest_step", "turns_of"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Indices = NDArray[np.int64]
LEG_MM = 9.0
"""A corner is seen by the directions of the outline this far to both sides of it."""
ROUNDED_MM = 2.2
"""So near to a corner the edge is not believed: it is rounded by blur and by the first outline."""
_GOES_ON = math.radians(8.0)
"""An outline that turns by less beside a place goes on the same way there."""
_SEEN_OF_LEG = 0.6
"""So much of both legs must be seen for a step between them to be told."""


def turns_of(points: Array, trusted: Mask) -> Array:
    """Return how far an outline turns at each of its points (N, 2), radians; 0 where too little of it is seen on either side."""
    before, after = _legs(len(points))
    is_seen = (trusted[before].sum(axis=1) >= 4) & (trusted[after].sum(axis=1) >= 4)
    one, two = (directions(points[side], trusted[side]) for side in (before, after))
    return np.asarray(np.where(is_seen, np.arctan2(_cross(one, two), (one * two).sum(axis=1)), 0.0))


def largest_step(points: Array, trusted: Mask) -> float:
    """Return by how much an outline steps aside at the most and goes on the same way, mm, less three times what single points scatter.

    The middles of two equal runs of a curve lie in the direction that both have on the mean, however it bends.
    """
    before, after = _legs(len(points))
    one, from_, scatter_before = _run_of(points[before], trusted[before])
    two, to, scatter_after = _run_of(points[after], trusted[after])
    along = one + two
    aside = np.abs(_cross(along, to - from_)) / np.maximum(np.hypot(*along.T), 1e-9)
    goes_on = np.abs(np.arctan2(_cross(one, two), (one * two).sum(axis=1))) < _GOES_ON
    is_seen = np.minimum(trusted[before].mean(axis=1), trusted[after].mean(axis=1)) >= _SEEN_OF_LEG
    steps = aside - 3 * np.maximum(scatter_before, scatter_after)
    return float(np.where(goes_on & is_seen, steps, 0.0).max(initial=0.0))


def _legs(count: int) -> tuple[Indices, Indices]:
    """The points (N, W) of an outline before each of its points and after it, but for the next ones."""
    leg, shy = round(LEG_MM / STEP_MM), round(ROUNDED_MM / STEP_MM)
    at = np.arange(count)[:, None]
    return (at + np.arange(-leg, -shy + 1)) % count, (at + np.arange(shy, leg + 1)) % count


def _run_of(points: Array, counted: Mask) -> tuple[Array, Array, Array]:
    """Direction and middle of each row of points (N, W, 2), of those that are counted (N, W), and how far they scatter off its line."""
    count = np.maximum(counted.sum(axis=1), 1)
    way = directions(points, counted)
    middle = (points * counted[..., None]).sum(axis=1) / count[:, None]
    off = _cross(way[:, None], points - middle[:, None]) * counted
    return way, middle, np.sqrt((off**2).sum(axis=1) / count)


def direction(points: Array) -> Array:
    """Return the direction of points (N, 2), from the first to the last."""
    return np.asarray(directions(points[None], np.ones((1, len(points)), dtype=bool))[0])


def directions(points: Array, counted: Mask) -> Array:
    """Return the direction (N, 2) of each row of points (N, W, 2), from the first to the last of those that are counted (N, W)."""
    count = np.maximum(counted.sum(axis=1), 1)[:, None]
    x, y = np.moveaxis(
        (points - ((points * counted[..., None]).sum(axis=1) / count)[:, None]) * counted[..., None], 2, 0
    )
    # The longer axis of the scatter, by its angle.
    angle = np.arctan2(2 * (x * y).sum(axis=1), (x * x - y * y).sum(axis=1)) / 2
    along = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    rows, first, last = np.arange(len(points)), counted.argmax(axis=1), counted[:, ::-1].argmax(axis=1)
    chord = points[rows, -1 - last] - points[rows, first]
    return np.asarray(np.where(((along * chord).sum(axis=1) > 0)[:, None], along, -along))


def _cross(one: Array, two: Array) -> Array:
    return np.asarray(one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0])
