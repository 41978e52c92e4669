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

_ARC = 12
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
    reach = spacing / math.cos(math.pi / _ARC) - hair if spacing else -hair
    stays = [_corners(_grown(part, reach) if reach > 0 else part) for part in fixed]
    moves = [_corners(part) for part in moving]
    differences = [(one[:, None] - other[None, :]).reshape(-1, 2) for one in stays for other in moves]
    owners = np.repeat(np.arange(len(differences)), [len(rows) for rows in differences])
    hulls = shapely.convex_hull(shapely.linestrings(np.concatenate(differences), indices=owners))
    blocked = shapely.union_all(hulls)
    left, low, right, high = blocked.bounds
    if reach > -_LEAST * (right - left + high - low):
        return blocked
    return blocked.buffer(reach, join_style="mitre")


def _grown(part: Polygon, reach: float) -> Polygon:
    """A convex part and all that lies nearer to it; the disc is a polygon round the circle, so that no arc is cut short."""
    turns = np.arange(_ARC) * (2 * math.pi / _ARC)
    disc = reach * np.column_stack((np.cos(turns), np.sin(turns)))
    return shapely.convex_hull(shapely.linestrings((_corners(part)[:, None] + disc[None, :]).reshape(-1, 2)))


def _corners(part: Polygon) -> np.ndarray:
    return np.asarray(shapely.get_coordinates(part.exterior)[:-1])
