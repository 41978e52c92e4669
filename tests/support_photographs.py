"""Photographs that never were: paper pieces and printed cards on a table, seen by a camera that is worse than the solver's.

Light is reckoned linearly and falls unevenly; the lens bends with terms of the sixth order and askew ones that the solver has no
names for; then come blur, noise, the sRGB curve, sharpening and JPEG. The table is in mm, x right, y DOWN, z into it; what a
reader should find is `Scene.truth`, y up.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from shapely import LineString, Polygon
from support_camera import Camera
from support_rendering import rendered

from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import x_at
from quotes.pattern.panels import Panel
from quotes.pattern.readers.child import read_here

__all__ = [
    "Laid",
    "LaidCard",
    "Scene",
    "cards_at_the_corners",
    "cut_notch",
    "fixture_panels",
    "laid_panels",
    "photograph",
    "shifted",
    "small_scene",
]

Array = NDArray[np.float64]
_FIXTURES = Path(__file__).parents[1] / "fixtures" / "patterns"


@dataclass(frozen=True, kw_only=True)
class Laid:
    """A paper piece on the table: its outline without notches, the notches cut into it (see `cut_notch`)."""

    outline: Array
    notches: tuple[Array, ...] = ()
    paper: str = "white"
    number: str = ""

    def cut(self) -> Polygon:
        area = Polygon(self.outline)
        for notch in self.notches:
            area = area.difference(Polygon(notch))
        return area


@dataclass(frozen=True, kw_only=True)
class LaidCard:
    """A card: where its middle lies, how it is turned (radians), how far it stands up by its bend (mm, three terms)."""

    card: int
    x: float
    y: float
    angle: float = 0.0
    bend: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Scene:
    pieces: tuple[Laid, ...]
    laid_cards: tuple[LaidCard, ...]
    width: float
    height: float
    ground: str = "dark"
    size: tuple[int, int] = (1600, 1200)
    tilt_deg: float = 0.0
    tilt_towards_deg: float = 90.0
    roll_deg: float = 0.0
    focal_35: float = 26.0
    distortion: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)
    """k1, k2, k3 and the two askew terms."""
    off_axis: tuple[float, float] = (0.0, 0.0)
    """Of the lens's axis from the picture's middle, pixels."""
    blur_px: float = 0.6
    noise: float = 0.004
    sharpen: float = 0.4
    quality: int = 92
    light: float = 1.0
    unevenness: float = 0.15
    shadow: float = 0.0
    contact: float = 0.12
    print_scale: tuple[float, float] = (1.0, 1.0)
    margin: float = 1.03
    seed: int = 1
    extra: tuple[Polygon, ...] = field(default=())
    """Other dark things on the table."""

    def truth(self) -> list[tuple[Array, Array]]:
        """Outline without notches and middles of mouths of each piece, y up."""
        return [
            (
                piece.outline * (1, -1),
                np.array([notch[2] for notch in piece.notches]).reshape(-1, 2) * (1, -1),
            )
            for piece in self.pieces
        ]

    def pixels_of(self, points: Array) -> Array:
        """Where points of the table (N, 2), y up, are seen; 0, 0 is the upper left corner of the picture."""
        return Camera(self).pixels(np.c_[points * (1, -1), np.zeros(len(points))]) + 0.5

    @property
    def focal_px(self) -> float:
        return self.focal_35 / math.hypot(36, 24) * math.hypot(*self.size)


def cut_notch(outline: Array, at: Sequence[float], *, mouth: float = 4.0, depth: float = 5.0) -> Array:
    """A V cut into the outline at the place nearest to `at`: its tip, then its mouth on the edge:
    one end, the middle, the other end."""
    ring = LineString([*outline, outline[0]])
    place = ring.project(LineString([at, at]).centroid)
    ends = np.array([ring.interpolate(place + shift).coords[0] for shift in (-mouth / 2, mouth / 2)])
    middle, along = ends.mean(axis=0), ends[1] - ends[0]
    inward = np.array([-along[1], along[0]]) / np.hypot(*along)
    if not Polygon(outline).buffer(-0.5).contains(LineString([middle + inward * 2, middle + inward * 2]).centroid):
        inward = -inward
    return np.array([middle + inward * depth, ends[0], ring.interpolate(place).coords[0], ends[1]])


def cards_at_the_corners(
    width: float,
    height: float,
    *,
    bend: float = 0.0,
    seed: int = 1,
    of: Sequence[int] = (0, 1, 2, 3),
    inset: float = 8.0,
) -> tuple[LaidCard, ...]:
    """The cards at the corners of a table, a little askew."""
    random = np.random.default_rng(seed)
    half_w, half_h = 148.5 / 2 + inset, 105.0 / 2 + inset
    places = [(half_w, half_h), (width - half_w, half_h), (half_w, height - half_h), (width - half_w, height - half_h)]
    return tuple(
        LaidCard(
            card=card,
            x=places[card][0] + random.uniform(-2, 2),
            y=places[card][1] + random.uniform(-2, 2),
            angle=random.uniform(-0.06, 0.06),
            bend=tuple(random.uniform(-bend, bend, 3) * (1, 0.3, 0.6)),
        )
        for card in of
    )


def photograph(scene: Scene) -> bytes:
    """The scene as a JPEG file that says its focal length."""
    image = Image.fromarray(rendered(scene)[:, :, ::-1])
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = round(scene.focal_35)
    out = BytesIO()
    image.save(out, "JPEG", quality=scene.quality, exif=exif, subsampling=0 if scene.quality > 93 else 2)
    return out.getvalue()


def laid_panels(
    panels: Sequence[Panel],
    *,
    left: float,
    top: float,
    gap: float = 25.0,
    paper: str = "white",
    askew_deg: float = 3.0,
    mouth: float = 4.0,
    depth: float = 5.0,
    seed: int = 1,
) -> tuple[Laid, ...]:
    """Panels cut out of paper, side by side, each a little askew, with its number on it and both waist notches cut."""
    random = np.random.default_rng(seed)
    laid = []
    for panel in panels:
        outline = np.array(panel.outline) * (1, -1)
        waist = [
            np.array([x_at(edge, panel.waist_mm) or 0.0, panel.waist_mm]) * (1, -1)
            for edge in (panel.front, panel.back)
        ]
        middle = (outline.min(axis=0) + outline.max(axis=0)) / 2
        angle = math.radians(random.uniform(-askew_deg, askew_deg))
        turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        outline, *waist = ((part - middle) @ turn.T for part in (outline, *waist))
        shift = np.array([left, top]) - outline.min(axis=0)
        outline = outline + shift
        left += float(np.ptp(outline[:, 0])) + gap
        notches = tuple(cut_notch(outline, place + shift, mouth=mouth, depth=depth) for place in waist)
        laid.append(Laid(outline=outline, notches=notches, paper=paper, number=str(panel.number)))
    return tuple(laid)


@cache
def fixture_panels(name: str) -> tuple[Panel, ...]:
    """The panels of a pattern among the fixtures, read in this process."""
    path = _FIXTURES / name
    return read_here(path.read_bytes(), path.suffix, path.stem, ReadOptions(), True).pattern.panels


def small_scene(**changes: Any) -> Scene:
    """Two paper panels of the underbust among four cards on a dark table: a picture small enough for a quick test."""
    paper = changes.pop("paper", "white")
    panels = fixture_panels("underbust.svg")
    scene = Scene(
        pieces=laid_panels(panels[:2], left=105, top=130, paper=paper),
        laid_cards=cards_at_the_corners(400, 540, bend=0.3),
        width=400,
        height=540,
        size=(1000, 1350),
        tilt_deg=8,
    )
    return replace(scene, **changes)


def shifted(laid: Laid, x: float, y: float, degrees: float = 0.0) -> Laid:
    """A piece pushed along the table and turned about its middle."""
    angle = math.radians(degrees)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    middle = laid.outline.mean(axis=0)
    outline, *notches = ((part - middle) @ turn + middle + (x, y) for part in (laid.outline, *laid.notches))
    return replace(laid, outline=outline, notches=tuple(notches))
