"""A photograph together with its solve: from millimetres on the table to light and back.

The table's frame here is that of the solve: mm, x right, y DOWN, as seen from above.
"""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from quotes.photograph.cards import cards
from quotes.photograph.picture import Photo, linear_light
from quotes.photograph.solve import Solved, is_before_lens_folds, project, table_of_pixels

__all__ = ["View"]

Array = NDArray[np.float64]
Light = NDArray[np.float32]
_ROWS = 2000
"""Points are looked up in rows of so many: OpenCV takes no longer ones than 32767."""


@dataclass(frozen=True, kw_only=True)
class View:
    """What both give together."""

    photo: Photo
    solved: Solved

    @cached_property
    def linear(self) -> NDArray[np.uint16]:
        """The picture in linear light, 65535 for white."""
        return linear_light(self.photo.pixels)

    def pixels_of(self, points: Array) -> Array:
        """Return the pixels (N, 2) of points (N, 2) on the table."""
        flat = np.concatenate([points, np.zeros((len(points), 1))], axis=1)
        return project(self.solved.values, flat, self.solved.prior)

    def may_see(self, points: Array) -> NDArray[np.bool_]:
        """Return which points (N, 2) on the table lie so near to the lens's axis that what is known of it holds there."""
        flat = np.concatenate([points, np.zeros((len(points), 1))], axis=1)
        return is_before_lens_folds(self.solved.values, flat)

    def table_of(self, pixels: Array) -> Array:
        """Return the points (N, 2) of the table that are seen at pixels (N, 2)."""
        return table_of_pixels(self.solved.values, pixels, self.solved.prior)

    def light_at(self, points: Array) -> Light:
        """Return the light (…, 3), red, green, blue, 0 to 1, of points (…, 2) of the table; 0 outside the picture."""
        return self._light_of(self.pixels_of(points.reshape(-1, 2))).reshape(*points.shape[:-1], 3)

    def light_across(self, points: Array, outward: Array, reach: Array) -> Light:
        """Return the light (N, R, 3) along short lines: at `points` (N, 2) on by each of `reach` (R,) mm in the directions `outward`.

        Over some millimetres a picture bends so little that three pixels of a line tell all others, within 0.001 of one.
        """
        ends = np.array([reach[0], (reach[0] + reach[-1]) / 2, reach[-1]])
        seen = self.pixels_of((points[:, None] + outward[:, None] * ends[:, None]).reshape(-1, 2)).reshape(-1, 3, 2)
        share = 2 * (reach - ends[1]) / (reach[-1] - reach[0])
        shares = np.stack([share * (share - 1) / 2, 1 - share * share, share * (share + 1) / 2])
        pixels = np.stack([seen[..., 0] @ shares, seen[..., 1] @ shares], axis=-1)
        return self._light_of(pixels.reshape(-1, 2)).reshape(*pixels.shape[:-1], 3)

    def _light_of(self, places: Array) -> Light:
        """The light (N, 3) of pixels (N, 2)."""
        pixels = places.astype(np.float32)
        padded = np.full((-len(pixels) % _ROWS, 2), -10, dtype=np.float32)
        rows = np.concatenate([pixels, padded]).reshape(-1, _ROWS, 2)
        seen = cv2.remap(self.linear, rows, np.empty(0), cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        return np.asarray(seen, dtype=np.float32).reshape(-1, 3)[: len(pixels)] * np.float32(1 / 65535)

    def px_per_mm_at(self, points: Array) -> Array:
        """Return how many pixels a millimetre takes at points (N, 2), in the direction in which it takes fewest."""
        right, down = (self.pixels_of(points + step) - self.pixels_of(points - step) for step in np.eye(2) / 2)
        least = np.linalg.svd(np.stack([right, down], axis=-1), compute_uv=False)[:, -1]
        return np.asarray(least, dtype=np.float64)

    def card_outlines(self) -> list[Array]:
        """Return the corners (4, 2) of each card as it lies."""
        halves = {card.card: np.array(card.half) for card in self.solved.cards}
        found = []
        for number, (x, y, angle), _ in self.solved.places():
            cos, sin = np.cos(angle), np.sin(angle)
            corners = cards()[number].outline() / cards()[number].outline()[2] * halves[number]
            found.append(corners @ np.array([[cos, sin], [-sin, cos]]) + (x, y))
        return found

    def rim(self, inset_px: float = 0.0) -> Array:
        """Return the picture's edge on the table, as a ring of points."""
        width, height = self.photo.size
        low, right, down = inset_px, width - 1 - inset_px, height - 1 - inset_px
        xs, ys = np.linspace(low, right, 30), np.linspace(low, down, 30)
        ring = np.concatenate(
            [
                np.stack([xs, np.full(30, low)], axis=-1),
                np.stack([np.full(30, right), ys], axis=-1)[1:],
                np.stack([xs[::-1], np.full(30, down)], axis=-1)[1:],
                np.stack([np.full(30, low), ys[::-1]], axis=-1)[1:-1],
            ]
        )
        return self.table_of(ring)

    @cached_property
    def upright(self) -> float:
        """The angle (radians) by which the table's frame has to be turned for the picture's right to be its x."""
        width, height = self.photo.size
        start, end = self.table_of(np.array([[width * 3 / 8, height / 2], [width * 5 / 8, height / 2]]))
        return float(np.arctan2(end[1] - start[1], end[0] - start[0]))

    def given_out(self, points: Array) -> Array:
        """Return points of the table as they are handed out: y up, the picture's right to the right, from the first card's middle."""
        cos, sin = np.cos(self.upright), np.sin(self.upright)
        x, y = points[..., 0], points[..., 1]
        return np.stack([x * cos + y * sin, x * sin - y * cos], axis=-1)
