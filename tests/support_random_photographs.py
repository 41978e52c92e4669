"""Scenes of `support_photographs` drawn at random: sound ones, and for each way to lay or take a photograph badly some of that."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from io import BytesIO

import numpy as np
from PIL import Image, ImageOps
from shapely import Polygon
from shapely.affinity import translate
from support_photographs import Scene, cards_at_the_corners, fixture_panels, laid_panels, shifted
from support_rendering import GROUNDS

__all__ = ["FAULTS", "Faulty", "faulty_scenes", "mirrored", "sound_scenes"]

_UNLIKE = {
    "dark": ("white", "cream", "grey", "manila", "brown"),
    "wood": ("white", "cream", "grey", "manila"),
    "mat": ("white", "cream", "grey", "manila", "brown"),
    "print": ("white", "cream", "grey", "manila"),
}
"""Papers that stand out from a ground."""
Random = np.random.Generator


@dataclass(frozen=True, kw_only=True)
class Faulty:
    """A scene with one fault, and by which findings it may be told; `is_mirrored` where the picture has to be turned over."""

    fault: str
    codes: frozenset[str]
    scene: Scene
    is_mirrored: bool = False


def sound_scenes(count: int, seed: int = 1, size: tuple[int, int] = (1200, 1600)) -> Iterator[tuple[str, Scene]]:
    """Pictures that should be read, of all grounds in turn."""
    random = np.random.default_rng(seed)
    patterns = [fixture_panels(name) for name in ("underbust.svg", "overbust.csv")]
    for number in range(count):
        ground = GROUNDS[number % len(GROUNDS)]
        paper = str(random.choice(_UNLIKE[ground]))
        panels = patterns[number // len(GROUNDS) % 2]
        first = int(random.integers(0, len(panels) - 1))
        laid = laid_panels(
            panels[first : first + 2],
            left=60 + random.uniform(0, 40),
            top=125 + random.uniform(0, 10),
            gap=random.uniform(15, 40),
            paper=paper,
            askew_deg=6,
            mouth=random.uniform(3, 6),
            depth=random.uniform(3.5, 6),
            seed=number,
        )
        height = 260 + max(float(np.ptp(piece.outline[:, 1])) for piece in laid)
        scene = Scene(
            pieces=laid,
            laid_cards=cards_at_the_corners(
                400,
                height,
                bend=random.uniform(0, 0.6),
                seed=number,
                of=(0, 1, 2, 3) if random.random() < 0.7 else (0, 1, 3),
            ),
            width=400,
            height=height,
            size=size,
            ground=ground,
            tilt_deg=random.uniform(0, 25),
            tilt_towards_deg=random.uniform(0, 360),
            roll_deg=random.uniform(-8, 8),
            focal_35=float(random.choice([24, 26, 28, 35])),
            distortion=tuple(np.clip(random.normal(0, 1, 5), -1.5, 1.5) * (0.05, 0.08, 0.04, 0.0006, 0.0006)),
            off_axis=tuple(random.normal(0, 0.008, 2) * math.hypot(*size)),
            blur_px=random.uniform(0.4, 1.3),
            noise=random.uniform(0.002, 0.012),
            sharpen=random.uniform(0, 0.9),
            quality=int(random.integers(78, 96)),
            unevenness=random.uniform(0, 0.4),
            shadow=random.uniform(0, 0.4),
            contact=random.uniform(0, 0.3),
            light=random.uniform(0.5, 1.05),
            seed=number,
        )
        yield f"{number} {ground} {paper}", scene


def faulty_scenes(count: int, seed: int = 1, size: tuple[int, int] = (1200, 1600)) -> Iterator[Faulty]:
    """So many of each fault, otherwise as sound ones are."""
    for place, (fault, (codes, spoilt)) in enumerate(FAULTS.items()):
        random = np.random.default_rng([seed, place])
        for _, scene in sound_scenes(count, seed=seed * 100 + place, size=size):
            faulty = spoilt(scene, random)
            yield Faulty(fault=fault, codes=frozenset(codes), scene=faulty, is_mirrored=fault == "mirrored")


def mirrored(data: bytes) -> bytes:
    """The same picture the wrong way round."""
    out = BytesIO()
    ImageOps.mirror(Image.open(BytesIO(data))).save(out, "JPEG", quality=92)
    return out.getvalue()


def _few_cards(scene: Scene, random: Random) -> Scene:
    return replace(scene, laid_cards=scene.laid_cards[: int(random.integers(0, 3))])


def _blurred(scene: Scene, random: Random) -> Scene:
    return replace(scene, blur_px=random.uniform(3.5, 9.0), sharpen=0.0)


def _dark(scene: Scene, random: Random) -> Scene:
    return replace(scene, light=random.uniform(0.005, 0.025))


def _far(scene: Scene, random: Random) -> Scene:
    share = random.uniform(0.28, 0.38)
    width, height = (round(side * share) for side in scene.size)
    return replace(scene, size=(max(width, 400), max(height, 400)), blur_px=0.4, off_axis=(0.0, 0.0), margin=1.15)


def _cut_off(scene: Scene, random: Random) -> Scene:
    """The first piece runs out of the picture on the left."""
    bounds = Polygon(scene.pieces[0].outline).bounds
    out = random.uniform(0.25, 0.6) * (bounds[2] - bounds[0])
    moved = shifted(scene.pieces[0], -bounds[0] - out, 0)
    return replace(scene, pieces=(moved, *scene.pieces[1:]), margin=1.0, distortion=(0.0,) * 5, tilt_deg=3.0)


def _pushed(scene: Scene, gap: float, down: float, turn: float) -> Scene:
    """The second piece pushed towards the first, until so much ground is left between them (less than 0: it lies upon it)."""
    first, second = scene.pieces[0], shifted(scene.pieces[1], 0, down, turn)
    one, two = Polygon(first.outline), Polygon(second.outline)
    two = translate(two, one.bounds[2] + 5 - two.bounds[0])
    pushed = next(by for by in np.arange(0, 200, 0.25) if translate(two, -by).distance(one) <= max(gap, 0.0))
    left = two.bounds[0] - Polygon(second.outline).bounds[0] - pushed + min(gap, 0.0)
    return replace(scene, pieces=(first, shifted(second, left, 0)))


def _touching(scene: Scene, random: Random) -> Scene:
    return _pushed(scene, random.uniform(0, 3), random.uniform(-25, 25), random.uniform(-6, 6))


def _overlapping(scene: Scene, random: Random) -> Scene:
    return _pushed(scene, -random.uniform(3, 50), random.uniform(-30, 30), random.uniform(-12, 12))


def _across(scene: Scene, random: Random) -> Scene:
    """The second piece lies across the first one."""
    first = scene.pieces[0]
    away = Polygon(first.outline).centroid.coords[0] - scene.pieces[1].outline.mean(axis=0)
    second = shifted(
        scene.pieces[1], *(away + random.uniform(-30, 30, 2)), random.uniform(15, 60) * random.choice([-1, 1])
    )
    return replace(scene, pieces=(first, second))


def _piled(scene: Scene, random: Random) -> Scene:
    """Twice the same panel, the upper one pushed a little."""
    first = scene.pieces[0]
    off, heading = random.uniform(6, 25), random.uniform(0, 2 * math.pi)
    again = shifted(first, off * math.cos(heading), off * math.sin(heading), random.uniform(-4, 4))
    return replace(scene, pieces=(first, again))


def _on_a_card(scene: Scene, random: Random) -> Scene:
    """The first piece reaches under a card of the upper row."""
    card = scene.laid_cards[0]
    low = min(scene.pieces[0].outline[:, 1])
    moved = shifted(scene.pieces[0], 0, card.y + 105 / 2 - low - random.uniform(2, 30))
    return replace(scene, pieces=(moved, *scene.pieces[1:]))


def _like_the_ground(scene: Scene, random: Random) -> Scene:
    """Brown paper on a green mat, soft and from far; or grey paper on grey cloth."""
    ground, paper = (("mat", "brown"), ("greycloth", "grey"))[int(random.integers(0, 2))]
    pieces = tuple(replace(piece, paper=paper) for piece in scene.pieces)
    return replace(scene, pieces=pieces, ground=ground, blur_px=random.uniform(1.3, 2.0), sharpen=0.0, light=0.5)


def _lost(scene: Scene, random: Random) -> Scene:
    """Grey pieces on patterned cloth, one of them where the pattern is grey too."""
    pieces = tuple(replace(piece, paper="grey") for piece in scene.pieces)
    return replace(scene, pieces=pieces, ground="greyprint", light=random.uniform(0.4, 0.8))


_TOUCHING = {"photograph.touching"}
FAULTS: dict[str, tuple[set[str], Callable[[Scene, Random], Scene]]] = {
    "few cards": ({"photograph.too-few-cards"}, _few_cards),
    "mirrored": ({"photograph.mirrored"}, lambda scene, random: scene),
    "blurred": ({"photograph.blurred"}, _blurred),
    "dark": ({"photograph.too-dark"}, _dark),
    "far": ({"photograph.too-far"}, _far),
    "cut off": ({"photograph.cut-off"}, _cut_off),
    "touching": (_TOUCHING, _touching),
    "overlapping": (_TOUCHING, _overlapping),
    "across": (_TOUCHING, _across),
    "piled": (_TOUCHING, _piled),
    "on a card": ({"photograph.on-a-card"}, _on_a_card),
    "like the ground": (
        {"photograph.ground-like-paper", "photograph.no-piece", "photograph.uncertain"},
        _like_the_ground,
    ),
    "lost": (
        {
            "photograph.ground-like-paper",
            "photograph.something-left-out",
            "photograph.no-piece",
            "photograph.uncertain",
        },
        _lost,
    ),
}
"""What may be wrong: the findings that tell it, and how a sound scene is spoilt."""
