"""What closes a garment, as it is drawn: a busk, a zip, grommets and their lacing. Sizes are a picture’s, mm, not measures."""

from itertools import pairwise

from quotes.drawings.painting import Painting, mixed, path_of
from quotes.seal.worn import Outline

__all__ = ["draw_busk", "draw_grommets", "draw_lacing", "draw_zip"]

_DARK, _LIGHT = "#15110e", "#ffffff"
_STEEL, _STEEL_EDGE, _STEEL_LIGHT = "#cbc8c2", "#6f6a63", "#f4f2ee"


def draw_busk(painting: Painting, low: float, high: float, *, loops: int) -> None:
    """Draw a busk at the middle: stitched beside its steels, loops on the wearer's right and the pins they close over."""
    _stitched_beside(painting, low, high, aside=13.0)
    pitch = (high - low) / max(loops, 1)
    for index in range(loops):
        y = low + pitch * (index + 0.5)
        painting.block(-8.0, y + 4.0, 13.5, 8.0, rx="3.6", fill=_STEEL, stroke=_STEEL_EDGE, stroke_width="0.7")
        painting.block(-6.5, y + 2.9, 10.0, 1.6, rx="0.8", fill=_STEEL_LIGHT, fill_opacity="0.8")
        painting.disc((2.0, y), 2.5, fill=_STEEL_LIGHT, stroke=_STEEL_EDGE, stroke_width="0.7")


def draw_zip(painting: Painting, low: float, high: float) -> None:
    """Draw a zip at the middle, closed to its top."""
    _stitched_beside(painting, low, high, aside=10.0)
    run = path_of([((0.0, low), (0.0, high))])
    painting.path(run, fill="none", stroke=_STEEL_EDGE, stroke_width="5.2")
    painting.path(run, fill="none", stroke=_STEEL, stroke_width="4.2", stroke_dasharray="1.6 1.1")
    painting.path(run, fill="none", stroke=_STEEL_EDGE, stroke_width="0.7")
    painting.block(-3.6, high, 7.2, 9.0, rx="2", fill=_STEEL, stroke=_STEEL_EDGE, stroke_width="0.7")
    painting.block(-2.2, high - 6.0, 4.4, 16.0, rx="2", fill=_STEEL_LIGHT, stroke=_STEEL_EDGE, stroke_width="0.7")


def draw_grommets(painting: Painting, columns: tuple[Outline, ...]) -> None:
    """Draw each grommet, its middle open."""
    for x, y in (place for column in columns for place in column):
        painting.disc((x, y), 4.6, fill=_STEEL, stroke=_STEEL_EDGE, stroke_width="0.7")
        painting.disc((x, y), 2.5, fill="#2b2622", stroke=_STEEL_LIGHT, stroke_width="0.5")


def draw_lacing(painting: Painting, columns: tuple[Outline, ...], tone: str) -> None:
    """Draw a cord that crosses from grommet to grommet, tied in a bow at the waist."""
    if len(columns) != 2 or not all(columns):
        return
    pairs = list(zip(*columns, strict=False))
    edge = mixed(tone, _DARK, 0.55)
    lowest = path_of([pairs[0]])
    one_way = [(left, right) for (left, _), (_, right) in pairwise(pairs)]
    other_way = [(right, left) for (_, right), (left, _) in pairwise(pairs)]
    for data in (lowest, *(path_of([line]) for both in zip(one_way, other_way, strict=True) for line in both)):
        _cord(painting, data, tone, edge)
    _cord(painting, path_of([pairs[-1]]), tone, edge)
    left, right = min(pairs, key=lambda pair: abs(pair[0][1] + pair[1][1]))
    _draw_bow(painting, (left[0] + right[0]) / 2, (left[1] + right[1]) / 2, tone, edge)


def _draw_bow(painting: Painting, x: float, y: float, tone: str, edge: str) -> None:
    def run(*numbers: float) -> str:
        """A cubic curve by mm from the knot, y downwards."""
        x0, y0, *rest = numbers
        ends = " ".join(f"{x + rest[at]:.1f} {-y + rest[at + 1]:.1f}" for at in range(0, len(rest), 2))
        return f"M{x + x0:.1f} {-y + y0:.1f}C{ends}"

    for way in (-1, 1):
        _cord(painting, run(0, 0, way * 8, 22, way * 46, 40, way * 40, 104), tone, edge)
        loop = run(0, 0, way * 14, -22, way * 56, -20, way * 54, 6)
        _cord(
            painting,
            loop + f" {x + way * 52:.1f} {-y + 30:.1f} {x + way * 16:.1f} {-y + 18:.1f} {x:.1f} {-y:.1f}",
            tone,
            edge,
        )
    painting.disc((x, y), 3.4, fill=tone, stroke=edge, stroke_width="0.7")


def _cord(painting: Painting, data: str, tone: str, edge: str) -> None:
    ends = {"fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round"}
    painting.path(data, stroke=edge, stroke_width="3.3", **ends)
    painting.path(data, stroke=tone, stroke_width="2.3", **ends)
    painting.path(data, stroke=mixed(tone, _LIGHT, 0.5), stroke_width="0.6", stroke_opacity="0.6", **ends)


def _stitched_beside(painting: Painting, low: float, high: float, *, aside: float) -> None:
    lines = [((x, low), (x, high)) for x in (-aside, aside)]
    for stroke, dash in ((_DARK, "2 1.2"), (_LIGHT, "1.2 2")):
        painting.path(
            path_of(lines), fill="none", stroke=stroke, stroke_width="0.6", stroke_opacity="0.35", stroke_dasharray=dash
        )
