"""Corners of chequer boards against where they were drawn, from pictures that count light by area."""

import numpy as np
import pytest
from numpy.typing import NDArray

from quotes.photograph.corner_fit import fit_corners

FINE = 8


def chequers(place: tuple[float, float], angle: float, blur_px: float, noise: float) -> NDArray[np.float32]:
    """Four squares that meet at `place`, the pixel in the upper left corner having its middle at 0, 0."""
    random = np.random.default_rng(5)
    at = (np.arange(40 * FINE) + 0.5) / FINE - 0.5
    x, y = np.meshgrid(at - place[0], at - place[1])
    across = x * np.cos(angle) + y * np.sin(angle)
    along = -x * np.sin(angle) + y * np.cos(angle)
    light = np.where(across * along > 0, 0.8, 0.05)
    kernel = np.exp(-0.5 * (np.arange(-40, 41) / (blur_px * FINE)) ** 2)
    kernel /= kernel.sum()
    for axis in (0, 1):
        light = np.apply_along_axis(lambda row: np.convolve(row, kernel, mode="same"), axis, light)
    seen = light.reshape(40, FINE, 40, FINE).mean(axis=(1, 3))
    return (seen + random.normal(0, noise, seen.shape)).astype(np.float32)


@pytest.mark.parametrize("place", [(20.0, 19.0), (19.375, 20.875), (20.5, 18.5)])
@pytest.mark.parametrize("angle", [0.0, 0.3, -0.7])
def test_corners_are_found_to_a_fortieth_of_a_pixel(place: tuple[float, float], angle: float) -> None:
    light = chequers(place, angle, 0.8, 0.01)
    fit = fit_corners(light, np.array([place]) + np.array([0.8, -0.6]), 8.0)
    assert np.hypot(*(fit.places[0] - place)) < 0.025
    # The pixel itself smears by the standard deviation of its width, 1/√12.
    assert fit.blur_px[0] == pytest.approx(np.hypot(0.8, 12**-0.5), abs=0.06)
    assert (fit.white[0], fit.black[0]) == pytest.approx((0.8, 0.05), abs=0.02)


def test_what_is_no_corner_fits_badly() -> None:
    random = np.random.default_rng(6)
    fit = fit_corners(random.uniform(0, 1, (40, 40)).astype(np.float32), np.array([[20.0, 20.0]]), 8.0)
    assert fit.misfit[0] > 0.2
