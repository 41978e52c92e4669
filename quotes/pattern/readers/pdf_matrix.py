"""Affine matrices as PDF writes them, and Bézier curves as lines."""

import math
from collections.abc import Sequence

from quotes.pattern.drawing import FLATNESS_MM
from quotes.pattern.geometry import Point

__all__ = ["IDENTITY", "Matrix", "curve_points", "moved", "scale_of", "through"]

Matrix = tuple[float, float, float, float, float, float]
"""a b c d e f: (x, y) goes to (ax + cy + e, bx + dy + f) (ISO 32000-2, 8.3.3)."""
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_MOST_STEPS = 400


def through(first: Matrix, then: Matrix) -> Matrix:
    """Return what both do, one after the other.

    >>> through((2, 0, 0, 2, 0, 0), (1, 0, 0, 1, 5, 0))
    (2, 0, 0, 2, 5, 0)
    """
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def moved(matrix: Matrix, x: float, y: float) -> Point:
    """Return where a point goes."""
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def scale_of(matrix: Matrix) -> float:
    """Return by how much lengths grow, the mean of all directions for a matrix that stretches."""
    a, b, c, d, _, _ = matrix
    return math.sqrt(abs(a * d - b * c))


def curve_points(start: Point, bend: Point, other: Point, end: Point) -> Sequence[Point]:
    """Return the points of a cubic curve in mm after its start, no farther from it than `FLATNESS_MM`.

    With steps of h the chord lies within h² max|B″| / 8, and B″ within 6 times the greater second difference.
    """
    bulge = max(
        math.hypot(start[0] - 2 * bend[0] + other[0], start[1] - 2 * bend[1] + other[1]),
        math.hypot(bend[0] - 2 * other[0] + end[0], bend[1] - 2 * other[1] + end[1]),
    )
    if not math.isfinite(bulge):
        return (end,)
    steps = min(max(math.ceil(math.sqrt(0.75 * bulge / FLATNESS_MM)), 1), _MOST_STEPS)
    points = []
    for step in range(1, steps):
        t = step / steps
        u = 1 - t
        k0, k1, k2, k3 = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
        points.append(
            (
                k0 * start[0] + k1 * bend[0] + k2 * other[0] + k3 * end[0],
                k0 * start[1] + k1 * bend[1] + k2 * other[1] + k3 * end[1],
            )
        )
    points.append(end)
    return points
