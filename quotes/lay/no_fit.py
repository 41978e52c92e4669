"""Where one piece must not lie because of another: the no-fit polygon.

Both outlines are parted into convex shapes; the places at which two convex shapes overlap are the hull of the differences of
their corners. Source: Bennell & Oliveira, "The geometry of nesting problems", European Journal of Operational Research 184, 2008.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from quotes.lay.convex import convex_parts
from quotes.pattern.geometry import Polyline

__all__ = ["convex_shapes", "no_fit"]

_ARC = 32
"""Corners of the polygon that stands for a circle, where spacing is kept."""
_LEAST = 1e-12
"""Share of its size by which a shape is not made larger or smaller: the geometry library fails on offsets that vanish."""


def convex_shapes(outline: Polyline) -> tuple[Polygon, ...]:
    """Return convex polygons that make up a simple shape."""
    return tuple(Polygon([outline[place] for place in part]) for part in convex_parts(outline))


def no_fit(fixed: Sequence[Polygon], moving: Sequence[Polygon], *, spacing: float, hair: float) -> BaseGeometry:
    """Return the moves by which a piece would lie over one that stays, or nearer to it than the spacing.

    Args:
        fixed, moving: the convex shapes of both pieces.
        hair: how much nearer than that they may lie, so that exact fits are not lost to rounding.
    """
    # The disc of the spacing is drawn as a polygon round it, so that no arc is cut short.
    reach = spacing / math.cos(math.pi / _ARC) - hair if spacing else -hair
    turns = np.arange(_ARC) * (2 * math.pi / _ARC)
    disc = reach * np.column_stack((np.cos(turns), np.sin(turns))) if reach > 0 else np.zeros((1, 2))
    hulls = [
        shapely.convex_hull(shapely.multipoints((one[:, None, None] - other[None, :, None] + disc).reshape(-1, 2)))
        for one in map(_corners, fixed)
        for other in map(_corners, moving)
    ]
    blocked = shapely.union_all(hulls)
    left, low, right, high = blocked.bounds
    if reach > -_LEAST * (right - left + high - low):
        return blocked
    return blocked.buffer(reach, join_style="mitre")


def _corners(part: Polygon) -> np.ndarray:
    return np.asarray(shapely.get_coordinates(part.exterior)[:-1])
