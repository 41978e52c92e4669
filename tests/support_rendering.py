"""What a camera sees of a scene: ground, paper, shadows and printed cards, in linear light until it is developed."""

import math
from functools import cache
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from support_camera import Camera

from quotes.photograph.cards import Card, cards, marker_bits

if TYPE_CHECKING:
    from support_photographs import LaidCard, Scene

__all__ = ["GROUNDS", "PAPERS", "Picture", "coverage", "rendered"]

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

PAPERS = {
    "white": (0.82, 0.82, 0.80),
    "cream": (0.78, 0.72, 0.55),
    "grey": (0.45, 0.45, 0.45),
    "manila": (0.62, 0.45, 0.25),
    "brown": (0.40, 0.26, 0.14),
}
"""How much light they throw back: red, green, blue, linear."""
GROUNDS = ("dark", "wood", "mat", "print")
_CARD_DOTS = 10.0


def rendered(scene: "Scene") -> Picture:
    """The picture as developed, blue, green, red."""
    random = np.random.default_rng(scene.seed)
    camera = Camera(scene)
    dots = min(8.0, 2.2 * camera.px_per_mm)
    texture, left, top = _table(scene, camera, dots, random)
    sigma = 0.35 * dots / camera.px_per_mm
    texture = cv2.GaussianBlur(texture, (0, 0), sigma)
    x, y = camera.table_of_pixels()
    seen = cv2.remap(
        texture,
        ((x - left) * dots - 0.5).astype(np.float32),
        ((y - top) * dots - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT,
    )
    for laid in scene.laid_cards:
        _put_card(seen, laid, camera, scene)
    light = 1 + scene.unevenness * ((x - scene.width / 2) / scene.width + 0.7 * (y - scene.height / 2) / scene.height)
    if scene.shadow:
        band = (x - 0.35 * scene.width + 0.4 * y) / 25.0
        light *= 1 - scene.shadow / (1 + np.exp(np.clip(-band, -40, 40)))
    seen = seen * (light * scene.light).astype(np.float32)[..., None]
    if scene.blur_px:
        seen = cv2.GaussianBlur(seen, (0, 0), scene.blur_px)
    seen = seen + random.normal(0, 1, seen.shape).astype(np.float32) * np.sqrt(
        scene.noise**2 * (0.2 + np.clip(seen, 0, None))
    ).astype(np.float32)
    seen = _developed(np.clip(seen, 0, 1))
    if scene.sharpen:
        seen = seen + scene.sharpen * (seen - cv2.GaussianBlur(seen, (0, 0), 1.2))
    return np.clip(seen * 255 + 0.5, 0, 255).astype(np.uint8)


def _developed(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    """The curve of sRGB, IEC 61966-2-1."""
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.power(np.maximum(linear, 1e-9), 1 / 2.4) - 0.055)


def _table(
    scene: "Scene", camera: Camera, dots: float, random: np.random.Generator
) -> tuple[NDArray[np.float32], float, float]:
    """The table from above with all pieces, in dots; and where its upper left corner is."""
    edge = 0.25 * max(scene.width, scene.height)
    left, top = -edge, -edge
    width, height = round((scene.width + 2 * edge) * dots), round((scene.height + 2 * edge) * dots)
    texture = _ground(scene.ground, width, height, dots, random)
    for area in scene.extra:
        texture *= (1 - 0.9 * coverage(area, width, height, left, top, dots))[..., None]
    for piece in scene.pieces:
        mask = coverage(piece.cut(), width, height, left, top, dots)
        away = cv2.warpAffine(mask, np.float32([[1, 0, 0.6 * dots], [0, 1, 0.8 * dots]]), (width, height))
        texture *= (1 - scene.contact * cv2.GaussianBlur(away, (0, 0), 0.8 * dots))[..., None]
        paper = np.array(PAPERS[piece.paper][::-1], dtype=np.float32)
        fibre = 1 + 0.02 * cv2.GaussianBlur(random.normal(0, 1, mask.shape).astype(np.float32), (0, 0), 2.0) * 4
        coloured = paper * fibre[..., None]
        if piece.number:
            place = np.array(piece.cut().representative_point().coords[0])
            at = tuple(np.round((place - (left, top)) * dots).astype(int))
            coloured = np.ascontiguousarray(coloured)
            cv2.putText(
                coloured, piece.number, at, cv2.FONT_HERSHEY_SIMPLEX, dots * 0.5, (0.08, 0.05, 0.05), round(dots)
            )
        texture = texture * (1 - mask[..., None]) + coloured * mask[..., None]
    return texture.astype(np.float32), left, top


def coverage(
    area: Polygon, width: int, height: int, left: float, top: float, dots: float, fine: int = 4
) -> NDArray[np.float32]:
    """How much of each dot an area covers: exact along rows, by sub-rows across them."""
    covered = np.zeros((height, width + 2), dtype=np.float32)
    for part in getattr(area, "geoms", [area]):
        for ring in (part.exterior, *part.interiors) if part.geom_type == "Polygon" else ():
            x, y = (np.array(ring.coords) - (left, top)).T * dots
            for x0, y0, x1, y1 in zip(x[:-1], y[:-1], x[1:], y[1:], strict=True):
                lo, hi = sorted((y0, y1))
                rows = np.arange(math.ceil(lo * fine - 0.5), math.ceil(hi * fine - 0.5))
                rows = rows[(rows >= 0) & (rows < height * fine)]
                if not len(rows):
                    continue
                cross = np.clip(x0 + ((rows + 0.5) / fine - y0) * (x1 - x0) / (y1 - y0), 0, width - 1e-6)
                whole = cross.astype(int)
                rest = cross - whole
                sign = (1.0 if y1 > y0 else -1.0) / fine
                np.add.at(covered, (rows // fine, whole), sign * (1 - rest))
                np.add.at(covered, (rows // fine, whole + 1), sign * rest)
    return np.clip(np.abs(np.cumsum(covered, axis=1)[:, :width]), 0, 1)


def _ground(kind: str, width: int, height: int, dots: float, random: np.random.Generator) -> NDArray[np.float32]:
    def cloudy(sx: float, sy: float) -> NDArray[np.float32]:
        """Noise of standard deviation 1 with features of so many mm."""
        small = (max(8, round(height / (sy * dots))), max(8, round(width / (sx * dots))))
        return cv2.resize(random.normal(0, 1, small).astype(np.float32), (width, height), interpolation=cv2.INTER_CUBIC)

    def rgb(r: float, g: float, b: float) -> NDArray[np.float32]:
        return np.array([b, g, r], dtype=np.float32)

    if kind == "dark":
        return rgb(0.045, 0.045, 0.05) * (1 + 0.1 * cloudy(0.6, 0.6) + 0.08 * cloudy(40, 40))[..., None]
    if kind == "wood":
        grain = 0.16 * cloudy(60, 1.2) + 0.12 * cloudy(120, 7) + 0.05 * cloudy(4, 0.5)
        return rgb(0.24, 0.13, 0.06) * np.clip(1 + grain, 0.3, 2)[..., None]
    if kind == "mat":
        mat = (
            np.ones((height, width, 1), dtype=np.float32)
            * rgb(0.02, 0.09, 0.06)
            * (1 + 0.05 * cloudy(0.5, 0.5))[..., None]
        )
        for step, wide, light in ((10.0, 0.25, 0.30), (50.0, 0.5, 0.45)):
            half = max(0.5, wide * dots / 2)
            for number in range(int(max(width, height) / dots / step) + 1):
                at = number * step * dots
                lo, hi = round(at - half), round(at + half)
                mat[max(lo, 0) : hi, :] = rgb(light, light, light * 0.6)
                mat[:, max(lo, 0) : hi] = rgb(light, light, light * 0.6)
        return mat
    if kind == "greycloth":
        return rgb(0.44, 0.45, 0.46) * (1 + 0.04 * cloudy(0.6, 0.6))[..., None]
    blobs = cloudy(9, 9)
    if kind == "greyprint":
        grey = np.where(cloudy(25, 25)[..., None] > 0.3, rgb(0.38, 0.38, 0.37), rgb(0.05, 0.07, 0.20))
        return (grey * (1 + 0.06 * cloudy(0.6, 0.6))[..., None]).astype(np.float32)
    cloth = np.where(blobs[..., None] > 0.6, rgb(0.30, 0.05, 0.06), rgb(0.05, 0.07, 0.20))
    cloth = np.where(cloudy(12, 12)[..., None] > 0.9, rgb(0.10, 0.20, 0.08), cloth)
    return cv2.GaussianBlur((cloth * (1 + 0.15 * cloudy(0.5, 0.5))[..., None]).astype(np.float32), (0, 0), 0.15 * dots)


@cache
def _card_texture(number: int) -> NDArray[np.float32]:
    card: Card = cards()[number]
    dots = _CARD_DOTS * 4
    face = np.full((round(card.height * dots), round(card.width * dots)), 0.85, dtype=np.float32)

    def ink(x: float, y: float, side: float, value: float) -> None:
        face[round(y * dots) : round((y + side) * dots), round(x * dots) : round((x + side) * dots)] = value

    for x, y in card.black_squares():
        ink(x, y, card.square, 0.03)
    for marker, (x, y) in zip(card.marker_ids, card.marker_places, strict=True):
        ink(x, y, card.marker, 0.03)
        module = card.marker / 7
        for row, column in np.argwhere(marker_bits(marker)):
            ink(x + (column + 1) * module, y + (row + 1) * module, module, 0.85)
    return cv2.resize(face, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)


def _put_card(seen: NDArray[np.float32], laid: "LaidCard", camera: Camera, scene: "Scene") -> None:
    card = cards()[laid.card]
    half = np.array([card.width, card.height]) / 2 * scene.print_scale
    cos, sin = math.cos(laid.angle), math.sin(laid.angle)

    def height_of(u: Array, v: Array) -> Array:
        a, b, c = laid.bend
        return a * u * u + b * u * v + c * v * v

    grid = np.stack(np.meshgrid(np.linspace(-1, 1, 41), np.linspace(-1, 1, 41)))
    least = height_of(*grid).min()
    corners = np.array([(x, y, 0) for x in (-half[0], half[0]) for y in (-half[1], half[1])])
    corners = np.c_[
        laid.x + corners[:, 0] * cos - corners[:, 1] * sin,
        laid.y + corners[:, 0] * sin + corners[:, 1] * cos,
        [0.0] * 4,
    ]
    pixels = camera.pixels(corners)
    (x0, y0), (x1, y1) = np.floor(pixels.min(axis=0)).astype(int) - 25, np.ceil(pixels.max(axis=0)).astype(int) + 25
    window = (slice(max(y0, 0), max(y1, 0)), slice(max(x0, 0), max(x1, 0)))
    height: Array | float = 0.0
    for _ in range(5):
        x, y = camera.table_of_pixels(height, window)
        u = ((x - laid.x) * cos + (y - laid.y) * sin) / half[0]
        v = (-(x - laid.x) * sin + (y - laid.y) * cos) / half[1]
        height = height_of(np.clip(u, -1.2, 1.2), np.clip(v, -1.2, 1.2)) - least
    face = np.pad(_card_texture(laid.card), 20, mode="edge")
    inside = np.pad(np.ones_like(_card_texture(laid.card)), 20)
    sigma = 0.35 * _CARD_DOTS / camera.px_per_mm
    at = [
        ((w + 1) / 2 * size * _CARD_DOTS - 0.5 + 20).astype(np.float32)
        for w, size in ((u, card.width), (v, card.height))
    ]
    drawn, alpha = (cv2.remap(cv2.GaussianBlur(part, (0, 0), sigma), *at, cv2.INTER_LINEAR) for part in (face, inside))
    seen[window] = seen[window] * (1 - alpha[..., None]) + (drawn * alpha)[..., None]
