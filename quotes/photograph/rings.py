"""Lines across the outline of a piece, along which light is looked at."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

__all__ = ["lines_across"]

Array = NDArray[np.float64]


def lines_across(outline: Polygon, *, step_mm: float, fewest: int, beside_mm: float) -> tuple[Array, Array]:
    """Return points (N, 2) round an outline, counter-clockwise, and unit vectors (N, 2) outward there.

    Args:
        step_mm: from each point to the next, about; there are never fewer than `fewest`.
        beside_mm: a direction is square to the line between the places this far before and after the point.
    """
    corners = shapely.get_coordinates(shapely.geometry.polygon.orient(outline).exterior)
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    length = reached[-1]
    count = max(fewest, round(length / step_mm))
    places = np.arange(count) * length / count
    # Told by numpy: shapely walks the whole ring anew for each place.
    points, before, after = (
        np.stack([np.interp((places + way) % length, reached, side) for side in corners.T], axis=-1)
        for way in (0.0, -beside_mm, beside_mm)
    )
    along = after - before
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    return points, np.stack([along[:, 1], -along[:, 0]], axis=-1)
