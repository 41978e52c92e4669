"""One sheet of paper seen from straight above, its light known at every place: for what reads edges without a whole picture."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from support_rendering import coverage

__all__ = ["SeenPaper"]

Array = NDArray[np.float64]
_DOTS = 8.0
_EDGE_MM = 15.0


@dataclass(frozen=True, kw_only=True)
class SeenPaper:
    """Paper that covers `area` (mm), smeared by a Gaussian; answers what `View` does of light and size.

    `marks` are areas with the share of the light that is left there; `stains` the same, smeared more, as shadows are.
    """

    area: Polygon
    paper: float = 0.7
    ground: float = 0.05
    blur_mm: float = 0.3
    px_per_mm: float = 3.0
    noise: float = 0.004
    marks: Sequence[tuple[BaseGeometry, float]] = ()
    stains: Sequence[tuple[BaseGeometry, float]] = ()
    ground_marks: Sequence[tuple[BaseGeometry, float]] = field(default=())
    """Areas of the ground with their light."""

    @cached_property
    def _light(self) -> tuple[NDArray[np.float32], Array]:
        left, top, right, bottom = self.area.buffer(_EDGE_MM).bounds
        width, height = round((right - left) * _DOTS), round((bottom - top) * _DOTS)

        def covered(area: BaseGeometry) -> NDArray[np.float32]:
            return coverage(area, width, height, left, top, _DOTS)

        ground = np.full((height, width), self.ground, dtype=np.float32)
        for area, light in self.ground_marks:
            ground += (light - ground) * covered(area)
        paper = np.full_like(ground, self.paper)
        for area, left_over in self.marks:
            paper *= 1 - (1 - left_over) * covered(area)
        for area, left_over in self.stains:
            paper *= 1 - (1 - left_over) * cv2.GaussianBlur(covered(area), (0, 0), 0.6 * _DOTS)
        on_paper = covered(self.area)
        seen = cv2.GaussianBlur(ground + (paper - ground) * on_paper, (0, 0), self.blur_mm * _DOTS)
        # Noise of single pixels of the camera, each as wide as so many dots.
        pixels = (round(height * self.px_per_mm / _DOTS), round(width * self.px_per_mm / _DOTS))
        noise = np.random.default_rng(1).normal(0, self.noise, pixels).astype(np.float32)
        seen += cv2.resize(noise, (width, height), interpolation=cv2.INTER_LINEAR)
        return seen.astype(np.float32), np.array([left, top])

    def light_at(self, points: Array) -> NDArray[np.float32]:
        light, corner = self._light
        at = ((points.reshape(-1, 2) - corner) * _DOTS - 0.5).astype(np.float32)
        rows = np.concatenate([at, np.zeros((-len(at) % 2000, 2), dtype=np.float32)]).reshape(-1, 2000, 2)
        seen = cv2.remap(light, rows, np.empty(0), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).ravel()[: len(at)]
        return np.repeat(seen.reshape(*points.shape[:-1], 1), 3, axis=-1)

    def px_per_mm_at(self, points: Array) -> Array:
        return np.full(len(points), self.px_per_mm)

    def light_across(self, points: Array, outward: Array, reach: Array) -> NDArray[np.float32]:
        return self.light_at(points[:, None] + outward[:, None] * reach[:, None])
