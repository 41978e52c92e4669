"""A camera that looks at a scene of `support_photographs`; its lens bends worse than the solver's model.

The table is in mm, x right, y DOWN, z into it.
"""

import math
from functools import cached_property
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from support_photographs import Scene

__all__ = ["Camera"]

Array = NDArray[np.float64]


class Camera:
    """Above the scene's table, so far away that all of it is seen."""

    def __init__(self, scene: "Scene") -> None:
        self.scene = scene
        tilt, towards, roll = (math.radians(v) for v in (scene.tilt_deg, scene.tilt_towards_deg, scene.roll_deg))
        axis = np.array([-math.sin(towards), math.cos(towards), 0.0])
        self.turn = cv2.Rodrigues(axis * tilt)[0] @ cv2.Rodrigues(np.array([0.0, 0.0, roll]))[0]
        middle = np.array([scene.width / 2, scene.height / 2, 0.0])
        self.distance = 0.8 * max(scene.width, scene.height)
        corners = np.array([(0, 0), (scene.width, 0), (scene.width, scene.height), (0, scene.height)], dtype=float)
        half = np.array(scene.size) / 2
        # Step back until the whole table is seen.
        while True:
            self.shift = np.array([0, 0, self.distance]) - self.turn @ middle
            seen = self.pixels(np.c_[corners, np.zeros(4)]) - half
            if (np.abs(seen) * scene.margin < half).all():
                break
            self.distance *= 1.01
        self.px_per_mm = scene.focal_px / self.distance

    def pixels(self, points: Array) -> Array:
        """Where points of the table (N, 3) are seen; the middle of the upper left pixel is 0, 0."""
        seen = points @ self.turn.T + self.shift
        a, b = seen[:, 0] / seen[:, 2], seen[:, 1] / seen[:, 2]
        a, b = self._bent(a, b)
        middle = (np.array(self.scene.size) - 1) / 2 + self.scene.off_axis
        return np.stack([a, b], axis=-1) * self.scene.focal_px + middle

    def _bent(self, a: Array, b: Array) -> tuple[Array, Array]:
        k1, k2, k3, p1, p2 = self.scene.distortion
        square = a * a + b * b
        radial = 1 + square * (k1 + square * (k2 + square * k3))
        return (
            a * radial + 2 * p1 * a * b + p2 * (square + 2 * a * a),
            b * radial + p1 * (square + 2 * b * b) + 2 * p2 * a * b,
        )

    @cached_property
    def rays(self) -> tuple[Array, Array]:
        """Undistorted directions of all pixels."""
        width, height = self.scene.size
        middle = (np.array(self.scene.size) - 1) / 2 + self.scene.off_axis
        wanted_a, wanted_b = np.meshgrid(
            (np.arange(width) - middle[0]) / self.scene.focal_px, (np.arange(height) - middle[1]) / self.scene.focal_px
        )
        a, b = wanted_a.copy(), wanted_b.copy()
        for _ in range(8 if any(self.scene.distortion) else 0):
            bent_a, bent_b = self._bent(a, b)
            a = np.clip(a + wanted_a - bent_a, -2, 2)
            b = np.clip(b + wanted_b - bent_b, -2, 2)
        return a, b

    def table_of_pixels(
        self, height: Array | float = 0.0, window: tuple[slice, slice] = (slice(None), slice(None))
    ) -> tuple[Array, Array]:
        """Where the rays of pixels meet the level `height` above the table."""
        a, b = (part[window] for part in self.rays)
        back = self.turn.T
        eye = -back @ self.shift
        dx, dy, dz = (back[i, 0] * a + back[i, 1] * b + back[i, 2] for i in range(3))
        far = (-height - eye[2]) / dz
        return eye[0] + far * dx, eye[1] + far * dy
