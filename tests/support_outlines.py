"""How far outlines that were read are from the true ones: laid onto each other by turning and shifting alone."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import least_squares
from shapely import LinearRing, Polygon
from support_photographs import Scene

from quotes.photograph.reading import PhotoPiece

__all__ = ["Error", "errors"]

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Error:
    """Of one piece, all in mm but the area's share: outline points each mm, and both waist notches."""

    rms: float
    near_all: float
    """19 of 20 outline points lie nearer."""
    worst: float
    area_share: float
    notches: tuple[float, ...]
    waist: float | None
    missing_notches: int
    plus_minus: float

    @property
    def holds(self) -> bool:
        return self.near_all <= self.plus_minus


def errors(pieces: Sequence[PhotoPiece], scene: Scene) -> list[Error]:
    """The error of each piece against that piece of the scene which it fits best."""
    found = []
    for piece in pieces:
        area = Polygon(piece.outline).area
        alike = [true for true in scene.truth() if abs(math.log(Polygon(true[0]).area / area)) < 0.08]
        if not alike:
            alike = [min(scene.truth(), key=lambda true: abs(math.log(Polygon(true[0]).area / area)))]
        found.append(min((_error(piece, *true) for true in alike), key=lambda error: error.rms))
    return found


def _error(piece: PhotoPiece, outline: Array, notches: Array) -> Error:
    edge, area = LinearRing(outline), Polygon(outline)
    points = _each_mm(LinearRing(piece.outline))
    middle = points.mean(axis=0)

    def moved(by: Array, what: Array) -> Array:
        cos, sin = math.cos(by[0]), math.sin(by[0])
        return (what - middle) @ np.array([[cos, sin], [-sin, cos]]) + middle + by[1:]

    def off(by: Array) -> Array:
        at = shapely.points(moved(by, points))
        return shapely.distance(edge, at) * np.where(shapely.contains(area, at), -1, 1)

    start = np.array([0.0, *np.subtract(area.centroid.coords[0], Polygon(piece.outline).centroid.coords[0])])
    best = least_squares(off, start)
    distance = np.abs(best.fun)
    back = shapely.distance(LinearRing(moved(best.x, points)), shapely.points(_each_mm(edge)))
    seen = moved(best.x, np.array(piece.notches).reshape(-1, 2))
    nearest = [float(np.hypot(*(seen - notch).T).min()) if len(seen) else math.inf for notch in notches]
    waist = None
    if len(seen) == 2 and len(notches) == 2:
        waist = abs(math.dist(*seen) - math.dist(*notches))
    return Error(
        rms=float(np.sqrt((distance**2).mean())),
        near_all=float(np.percentile(distance, 95)),
        worst=float(max(distance.max(), back.max())),
        area_share=Polygon(piece.outline).area / area.area - 1,
        notches=tuple(nearest),
        waist=waist,
        missing_notches=max(0, len(notches) - len(seen)),
        plus_minus=piece.plus_minus_mm,
    )


def _each_mm(ring: LinearRing) -> Array:
    return shapely.get_coordinates(shapely.line_interpolate_point(ring, np.arange(0, ring.length, 1.0)))
