"""The ellipse that stands for the body at a height: where a length along its girth is seen from the front.

With half width a, half depth b and r = b ÷ a < 1, a point at the angle θ from centre front stands at (a sin θ, b cos θ), and
the girth from centre front to it is a ∫ √(1 − (1 − r²) sin² t) dt from 0 to θ: an elliptic integral of the second kind
(Abramowitz and Stegun, 17.2.8). As a share of the whole girth it does not depend on a, so one table serves every height.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "angle_at", "half_width_mm"]

Array = NDArray[np.float64]

_STEPS = 4096
"""Steps of the table over half a turn; its error is far below what a picture shows."""


def half_width_mm(girth_mm: Array, ratio: float) -> Array:
    """Return the half widths a of ellipses of these girths, whose depth is `ratio` of their width, 0 < ratio <= 1."""
    _, lengths = _table(ratio)
    return np.asarray(girth_mm / (2 * lengths[-1]), dtype=np.float64)


def angle_at(share: Array, ratio: float) -> Array:
    """Return the angles from centre front, in radians, at these shares of the girth, from 0 to 1; 0.25 is the side."""
    angles, lengths = _table(ratio)
    half = np.interp(np.minimum(share, 1 - share), lengths / (2 * lengths[-1]), angles)
    return np.asarray(np.where(share <= 0.5, half, 2 * np.pi - half), dtype=np.float64)


@cache
def _table(ratio: float) -> tuple[Array, Array]:
    """Angles over half a turn, and the lengths to them for a = 1: the midpoint rule, which is exact here to many digits."""
    angles = np.linspace(0, np.pi, _STEPS + 1)
    middles = (angles[1:] + angles[:-1]) / 2
    speeds = np.sqrt(1 - (1 - ratio**2) * np.sin(middles) ** 2)
    return angles, np.concatenate(([0.0], np.cumsum(speeds) * np.pi / _STEPS))
