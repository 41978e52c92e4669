"""The piece as its client will see it: worn, from the front and from the back, in the colours of its cloths."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from quotes.construction.construction import FrontKind
from quotes.defaults import desk_defaults
from quotes.drawings.closures import draw_busk, draw_grommets, draw_lacing, draw_zip
from quotes.drawings.ellipse import Array
from quotes.drawings.painting import Painting, mixed, path_of
from quotes.pattern.geometry import as_polygon
from quotes.seal.worn import Outline, WornGarment, WornView
from quotes.takeoff.takeoff import FrontNeed

__all__ = ["Look", "Looks", "garment_drawings"]

_MARGIN_MM = 22.0
_BINDING_MM = 6.0
_GROUND, _FORM = "#efebe4", "#dcd4c8"
"""Behind the piece, and the body that shows between the lacing."""
_SOFT_MM = 0.4
"""How far the edge of a shade may be from where it belongs."""
_DARK, _LIGHT = "#15110e", "#ffffff"
_STEPS = 20
"""Bands by which shade grows towards a side, and light towards its middle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a material looks: its tone as `#rrggbb`, and the address of a square picture of it, empty for none."""

    tone: str
    picture: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """How all that shows of an option looks; cloths by their codes, all codes of the garment among them."""

    cloths: Mapping[str, Look]
    binding: Look
    cord: Look
    modesty: Look | None = None


def garment_drawings(
    garment: WornGarment, front: FrontNeed, looks: Looks, *, titles: tuple[str, str], about: str, key: str
) -> tuple[str, str]:
    """Return the views from the front and from the back as SVG, both to one scale.

    Args:
        titles: what each view is, for who cannot see it; `about` what is drawn in both.
        key: a name that no other drawing on the page has.
    """
    frame = _frame(garment)
    markup = []
    for view, side, title in ((garment.front, "front", titles[0]), (garment.back, "back", titles[1])):
        left, top, width, height = frame
        painting = Painting(
            title=title, about=about, key=f"{key}-{side}", left=left, top=top, width=width, height=height
        )
        painting.block(left, top, width, height, fill=_GROUND, rx="6")
        _draw_shell(painting, view, looks)
        if side == "front":
            _draw_front(painting, view, front)
        else:
            draw_grommets(painting, view.grommets)
            draw_lacing(painting, view.grommets, looks.cord.tone)
        markup.append(painting.markup())
    return markup[0], markup[1]


def _frame(garment: WornGarment) -> tuple[float, float, float, float]:
    """Left, top, width and height of both pictures, with room around the piece."""
    half = max(width for view in (garment.front, garment.back) for width, _ in view.silhouette)
    heights = [height for _, height in garment.front.silhouette]
    width, height = 2 * (half + _MARGIN_MM), heights[-1] - heights[0] + 2 * _MARGIN_MM
    return -width / 2, heights[-1] + _MARGIN_MM, width, height


def _draw_shell(painting: Painting, view: WornView, looks: Looks) -> None:
    """The cloth with its light and shade, seams and channels, and the bound edges."""
    paints = {code: _paint(painting, f"cloth{index}", look) for index, (code, look) in enumerate(looks.cloths.items())}
    _draw_between(painting, view, looks)
    # What is seen edge-on is so narrow that its rounded lines may cross.
    seen = [shapely.make_valid(as_polygon(ring)) for panel in view.panels for ring in panel.rings]
    shell = shapely.union_all([area.buffer(0.2, join_style="mitre") for area in seen])
    painting.clipped_to(_around(shell.buffer(_BINDING_MM / 2)))
    for panel in view.panels:
        paint = paints[panel.cloth]
        painting.path(path_of(panel.rings, closed=True), fill=paint, stroke=paint, stroke_width="0.6")
    ink, glow = _ink_of(looks.cloths[view.panels[0].cloth].tone if view.panels else _LIGHT)
    painting.path(
        path_of(view.channels),
        fill="none",
        stroke=ink,
        stroke_width="0.6",
        stroke_opacity="0.4",
        stroke_dasharray="2 1.2",
    )
    aside = [tuple((x + 0.9, y) for x, y in line) for line in view.seams]
    painting.path(path_of(aside), fill="none", stroke=glow, stroke_width="0.8", stroke_opacity="0.22")
    painting.path(path_of(view.seams), fill="none", stroke=ink, stroke_width="0.9", stroke_opacity="0.6")
    bound = mixed(looks.binding.tone, _DARK, 0.08)
    round_ends = {"fill": "none", "stroke_linejoin": "round", "stroke_linecap": "butt"}
    painting.path(
        path_of(view.edges), stroke=ink, stroke_width=f"{_BINDING_MM + 1.4:.1f}", stroke_opacity="0.4", **round_ends
    )
    painting.path(path_of(view.edges), stroke=bound, stroke_width=f"{_BINDING_MM:.1f}", **round_ends)
    _draw_shade(painting, view.silhouette)
    painting.unclipped()
    outline = _around(shell.buffer(0.2))
    painting.path(outline, fill="none", stroke=_DARK, stroke_width="0.7", stroke_opacity="0.5", stroke_linejoin="round")


def _draw_between(painting: Painting, view: WornView, looks: Looks) -> None:
    """What shows between the edges beside the lacing: a modesty panel, or the body."""
    if len(view.closing) != 2:
        return
    left, right = view.closing
    between = path_of([(*left, *reversed(right))], closed=True)
    painting.path(between, fill=looks.modesty.tone if looks.modesty else _FORM)
    painting.path(between, fill=_DARK, fill_opacity="0.14")


def _draw_shade(painting: Painting, silhouette: Outline) -> None:
    """Shade towards both sides, more on the right, and light left of the middle: bands around the body."""
    widths, heights = np.asarray(silhouette, dtype=float).T

    def band(one: float, other: float) -> str:
        edges = [np.column_stack((widths * np.sin(angle), heights)) for angle in (one, other)]
        ring = np.concatenate([_simplified(edges[0]), _simplified(edges[1])[::-1]])
        return path_of([tuple((float(x), float(y)) for x, y in ring)], closed=True)

    side = np.pi / 2
    steps = [(step + 1) / _STEPS for step in range(_STEPS)]
    painting.veil(
        _DARK,
        [
            *((band(side * (0.25 + 0.75 * share), side), 0.56 * share**1.6) for share in steps),
            *((band(-side, -side * (0.45 + 0.55 * share)), 0.42 * share**1.6) for share in steps),
        ],
    )
    painting.veil(
        _LIGHT,
        [
            (band(-0.4 - reach, -0.4 + reach), 0.2 * (1 - reach / 0.6) ** 1.3)
            for reach in (0.6 * (1 - share) for share in steps)
        ],
    )


def _draw_front(painting: Painting, view: WornView, front: FrontNeed) -> None:
    if not view.closing:
        return
    line = view.closing[0]
    low, high = line[0][1], line[-1][1]
    painting.path(path_of([line]), fill="none", stroke=_DARK, stroke_width="1.1", stroke_opacity="0.6")
    middle, reach = (low + high) / 2, min(front.length_mm, high - low) / 2
    if front.kind is FrontKind.BUSK:
        draw_busk(painting, middle - reach, middle + reach, loops=front.loops)
    elif front.kind is FrontKind.ZIP:
        draw_zip(painting, middle - reach, middle + reach)


def _paint(painting: Painting, name: str, look: Look) -> str:
    if not look.picture:
        return look.tone
    return painting.cloth(name, look.picture, side_mm=desk_defaults().worn.photograph_mm)


def _ink_of(tone: str) -> tuple[str, str]:
    """The colours of stitching and of the gleam beside it, which show on a tone (luma of ITU-R BT.601)."""
    red, green, blue = (int(tone[at : at + 2], 16) for at in (1, 3, 5))
    is_dark = 0.299 * red + 0.587 * green + 0.114 * blue < 70
    return (mixed(tone, _LIGHT, 0.45), _DARK) if is_dark else (mixed(tone, _DARK, 0.7), _LIGHT)


def _simplified(line: Array) -> Array:
    return np.asarray(shapely.get_coordinates(shapely.linestrings(line).simplify(_SOFT_MM)), dtype=np.float64)


def _around(shape: shapely.Geometry) -> str:
    rings = [ring for part in shapely.get_parts(shape) for ring in (part.exterior, *part.interiors)]
    return path_of([tuple((float(x), float(y)) for x, y in ring.coords[:-1]) for ring in rings], closed=True)
