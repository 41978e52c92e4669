"""Where four squares of a chequer board meet, fitted to the light round it: two smeared edges that cross."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FittedCorners", "fit_corners", "smeared_step"]

Array = NDArray[np.float64]
_STEPS = 12
_ENOUGH_PX = 1e-4
"""Corners that move by less in one step are found."""
_SLOPE, _CUBED = 1.128379167, 0.102776


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedCorners:
    """All by corner: `places` (N, 2) pixels, `blur_px` by which edges are smeared, light of `white` and `black`, and `misfit`,
    the root mean square of what the fit leaves, as a share of white less black."""

    places: Array
    blur_px: Array
    white: Array
    black: Array
    misfit: Array


def smeared_step(x: Array) -> Array:
    """Return a step from -1 to 1, smeared by a Gaussian of standard deviation 1 (erf(x / √2) within 0.0004).

    >>> smeared_step(np.array([-9.0, 0.0, 1.0])).round(3).tolist()
    [-1.0, 0.0, 0.683]
    """
    scaled = x / np.sqrt(2.0)
    return np.asarray(np.tanh(scaled * (_SLOPE + _CUBED * scaled * scaled)))


def fit_corners(light: NDArray[np.float32], start: Array, reach: float) -> FittedCorners:
    """Fit two crossing edges round each of `start` (N, 2), within `reach` pixels of it; all of that must be in the picture."""
    whole = int(np.ceil(reach))
    offsets = np.stack(np.meshgrid(*[np.arange(-whole, whole + 1)] * 2), axis=-1).reshape(-1, 2)
    offsets = offsets[np.hypot(*offsets.T) <= reach]
    middle = np.round(start).astype(int)
    seen = light[middle[:, 1, None] + offsets[:, 1], middle[:, 0, None] + offsets[:, 0]].astype(float)
    lo, hi = np.percentile(seen, 12, axis=1), np.percentile(seen, 88, axis=1)
    values = np.stack(
        [*(start - middle).T, *_edge_angles(seen, offsets), np.full(len(start), -0.1), (lo + hi) / 2, (hi - lo) / 2],
        axis=-1,
    )
    contrast = np.maximum(hi - lo, 1e-4)
    values[:, 5:] /= contrast[:, None]
    seen = seen / contrast[:, None]
    values[:, 6] *= np.sign((_crossing(values, offsets) - values[:, 5:6]) * (seen - values[:, 5:6])).sum(axis=1)
    values[:, 6] = np.sign(values[:, 6]) * 0.5
    damping = np.full(len(start), 1e-3)
    residuals = _crossing(values, offsets) - seen
    cost = (residuals**2).sum(axis=1)
    for _ in range(_STEPS):
        jacobian = _slopes(values, offsets)
        normal = np.swapaxes(jacobian, 1, 2) @ jacobian
        gradient = (np.swapaxes(jacobian, 1, 2) @ residuals[..., None])[..., 0]
        diagonal = np.einsum("nii->ni", normal)
        damped = normal + np.einsum("ni,ij->nij", diagonal * damping[:, None] + 1e-9, np.eye(values.shape[1]))
        step = np.linalg.solve(damped, gradient[..., None])[..., 0]
        tried = values - step
        left = _crossing(tried, offsets) - seen
        new = (left**2).sum(axis=1)
        better = new < cost
        values[better], residuals[better], cost[better] = tried[better], left[better], new[better]
        damping = np.where(better, damping / 10, damping * 10)
        if np.abs(step[:, :2]).max() < _ENOUGH_PX:
            break
    level, height = values[:, 5] * contrast, np.abs(values[:, 6]) * contrast
    return FittedCorners(
        places=values[:, :2] + middle,
        blur_px=np.exp(values[:, 4]),
        white=level + height,
        black=level - height,
        misfit=np.sqrt(cost / len(offsets)) / np.maximum(2 * np.abs(values[:, 6]), 1e-6),
    )


def _crossing(values: Array, offsets: Array) -> Array:
    """The model: light at `offsets` for each row of x, y, angles of both edges, log of blur, level, height."""
    one, two = (smeared_step(away) for away, _ in _away(values, offsets))
    return values[:, 5:6] + values[:, 6:7] * one * two


def _away(values: Array, offsets: Array) -> list[tuple[Array, Array]]:
    """How far `offsets` are from both edges and along them, in standard deviations of the blur."""
    x = offsets[:, 0] - values[:, 0:1]
    y = offsets[:, 1] - values[:, 1:2]
    blur = np.exp(np.clip(values[:, 4:5], -2.0, 3.0))
    turns = [(np.sin(values[:, edge : edge + 1]) / blur, np.cos(values[:, edge : edge + 1]) / blur) for edge in (2, 3)]
    return [(x * sin - y * cos, x * cos + y * sin) for sin, cos in turns]


def _slopes(values: Array, offsets: Array) -> Array:
    """The derivatives (…, 7) of the model by each of its values."""
    (away, along), (off, beside) = _away(values, offsets)
    one, two = smeared_step(away), smeared_step(off)
    height, blur = values[:, 6:7], np.exp(np.clip(values[:, 4:5], -2.0, 3.0))
    by_one, by_two = (
        height * other * (1 - step * step) * (_SLOPE + 1.5 * _CUBED * at * at) / np.sqrt(2.0)
        for at, step, other in ((away, one, two), (off, two, one))
    )
    (sin, cos), (sine, cosine) = ((np.sin(values[:, at : at + 1]), np.cos(values[:, at : at + 1])) for at in (2, 3))
    return np.stack(
        [
            -(by_one * sin + by_two * sine) / blur,
            (by_one * cos + by_two * cosine) / blur,
            by_one * along,
            by_two * beside,
            -by_one * away - by_two * off,
            np.ones_like(one),
            one * two,
        ],
        axis=-1,
    )


def _edge_angles(seen: Array, offsets: Array) -> tuple[Array, Array]:
    """Directions of both edges: where light round the corner changes sides, by its fourth-order angle."""
    angle = np.arctan2(offsets[:, 1], offsets[:, 0])
    away = np.hypot(*offsets.T)
    ring = (away > 1.5) & (away < away.max() + 1)
    # A chequer corner is light in two opposite quarters: sin of twice the angle, turned.
    phase = np.angle(((seen - seen.mean(axis=1, keepdims=True))[:, ring] * np.exp(-2j * angle[ring])).sum(axis=1))
    edge = -phase / 2 + np.pi / 4
    return edge, edge + np.pi / 2
