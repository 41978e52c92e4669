"""Drawings as makers make them, from the panels of the example patterns: numbers as text, layers, px and pt, sizes, folds.

The panels come from the fixtures' JSON, read here as points and nothing else; the figures that a test expects are
reckoned from them by svgpathtools, ezdxf and the shoelace formula.
"""

import io
import itertools
import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
from shapely import Polygon
from svgpathtools import parse_path

FIXTURES = Path(__file__).parents[1] / "fixtures" / "patterns"
Point = tuple[float, float]
Ring = list[Point]


@dataclass
class Drawn:
    """One panel as it lies on the sheet, y upwards, mm: its ring counter-clockwise from bottom front, waist and grain."""

    number: int
    ring: Ring
    waist: tuple[Point, Point]
    grain: tuple[Point, Point]
    cut: Ring = field(default_factory=list)

    @property
    def middle(self) -> Point:
        xs, ys = zip(*self.ring, strict=True)
        return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2

    def moved(self, move: Callable[[Point], Point]) -> "Drawn":
        one, other = self.waist
        start, end = self.grain
        return Drawn(
            self.number,
            [move(point) for point in self.ring],
            (move(one), move(other)),
            (move(start), move(end)),
            [move(point) for point in self.cut],
        )


def panels_of(stem: str) -> list[dict]:
    """The panels of a fixture as its JSON says them."""
    return json.loads((FIXTURES / f"{stem}.json").read_text())["panels"]


def _x_at_waist(edge: Sequence[Point]) -> float:
    for (x0, y0), (x1, y1) in itertools.pairwise(edge):
        if y0 <= 0 <= y1 and y1 > y0:
            return x0 + (x1 - x0) * (0 - y0) / (y1 - y0)
    raise AssertionError("no waist")


def laid_out(stem: str = "underbust", gap: float = 60.0, scale: float = 1.0, allowance: float = 0.0) -> list[Drawn]:
    """The panels of a fixture in a row, the waist at 0, with a cut line `allowance` outside where it is not 0."""
    x, found = 0.0, []
    for said in panels_of(stem):
        front, back, top, bottom = ([tuple(p) for p in said[name]] for name in ("front", "back", "top", "bottom"))
        ring = [*bottom[:-1], *back[:-1], *reversed(top[1:]), *reversed(front[1:])]
        cut = []
        if allowance:
            cut = list(Polygon(ring).buffer(allowance, join_style="mitre").exterior.coords)[:-1]
        low, high = _x_at_waist(front), _x_at_waist(back)
        middle = (low + high) / 2
        panel = Drawn(said["number"], ring, ((low, 0.0), (high, 0.0)), ((middle, -60.0), (middle, 60.0)), cut)
        xs = [point[0] for point in (cut or ring)]
        left, width = min(xs), max(xs) - min(xs)
        found.append(panel.moved(lambda p, left=left, x=x: ((p[0] - left + x) * scale, p[1] * scale)))
        x += width + gap
    return found


def closed_waist(stem: str = "underbust") -> float:
    """Both halves' waist widths, mm."""
    return 2 * sum(math.dist(*panel.waist) for panel in laid_out(stem))


def seam_lengths(stem: str = "underbust") -> list[tuple[float, float]]:
    """The back edge of each panel and the front edge of the next, mm, as the fixture's own points say."""

    def along(line: Sequence[Point]) -> float:
        return sum(map(math.dist, line, line[1:]))

    panels = panels_of(stem)
    return [(along(one["back"]), along(other["front"])) for one, other in itertools.pairwise(panels)]


def svg_areas(data: bytes, mm_per_unit: float) -> list[float]:
    """Areas of the paths that an SVG closes, mm², by svgpathtools; transforms are left to drawings that have none."""
    root = ElementTree.fromstring(data)
    found = []
    for element in root.iter():
        if element.tag.endswith("path") and element.get("d", "").rstrip().endswith("Z"):
            found.append(abs(parse_path(element.get("d")).area()) * mm_per_unit**2)
    return found


def dxf_areas(data: bytes, mm_per_unit: float) -> list[float]:
    """Areas of the closed polylines of a DXF, mm², by ezdxf's own points and the geometry library."""
    document = ezdxf.read(io.StringIO(data.decode()))
    layouts = [document.modelspace(), *(block for block in document.blocks if not block.name.startswith("*"))]
    rings = [line for layout in layouts for line in layout.query("LWPOLYLINE") if line.closed]
    return [Polygon([(x, y) for x, y, *_ in ring.get_points()]).area * mm_per_unit**2 for ring in rings]


def turned(panel: Drawn, degrees: float) -> Drawn:
    """The panel turned anticlockwise about its middle."""
    (mx, my), angle = panel.middle, math.radians(degrees)
    cos, sin = math.cos(angle), math.sin(angle)
    return panel.moved(
        lambda p: (mx + (p[0] - mx) * cos - (p[1] - my) * sin, my + (p[0] - mx) * sin + (p[1] - my) * cos)
    )


def moved_by(panel: Drawn, x: float, y: float = 0.0) -> Drawn:
    """The panel somewhere else."""
    return panel.moved(lambda p: (p[0] + x, p[1] + y))


def in_mirror(panel: Drawn, about: float = -25.0) -> Drawn:
    """The panel of the other half, on the other side of an upright line."""
    return panel.moved(lambda p: (2 * about - p[0], p[1]))


def svg_d(ring: Sequence[Point], *, close: bool = True) -> str:
    """A path's data, y downwards."""
    return "M" + " L".join(f"{x:.4f} {-y:.4f}" for x, y in ring) + (" Z" if close else "")


def svg_text(words: str, at: Point, size: float = 14.0, extra: str = "") -> str:
    return f'<text x="{at[0]:.2f}" y="{-at[1]:.2f}" font-size="{size}" text-anchor="middle" {extra}>{words}</text>'


def svg(
    body: Sequence[str], *, unit: str | None = "mm", scale: float = 1.0, box: Sequence[float] = (-50, -300, 1200, 600)
) -> bytes:
    """An SVG of a body whose user units are `scale` of `unit` long each; no real size where the unit is None."""
    left, top, width, height = box
    size = f'width="{width * scale:g}{unit}" height="{height * scale:g}{unit}" ' if unit else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" {size}'
        f'viewBox="{left} {top} {width} {height}" fill="none" stroke="#000">' + "\n".join(body) + "</svg>"
    ).encode()


def plain_svg(panels: Sequence[Drawn], words: Callable[[Drawn], str] = lambda p: str(p.number)) -> list[str]:
    """Each panel as a path without a name, its number as text in it, its waist a line across."""
    rows = []
    for panel in panels:
        rows.append(f'<path d="{svg_d(panel.ring)}"/>')
        rows.append(f'<path d="{svg_d(panel.waist, close=False)}"/>')
        x, y = panel.middle
        if words(panel):
            rows.append(svg_text(words(panel), (x, y + 60)))
    return rows


def square_svg(at: Point, side: float, words: str) -> list[str]:
    """A square with its upper left corner at a place of the page (y downwards) and words in it."""
    x, y = at
    return [
        f'<rect x="{x}" y="{y}" width="{side}" height="{side}"/>',
        svg_text(words, (x + side / 2, -y - side / 2), 6),
    ]


def plain_dxf(
    panels: Sequence[Drawn],
    *,
    units: int | None = 4,
    layer: Callable[[Drawn], str] = lambda p: "0",
    words: Callable[[Drawn], str] = lambda p: str(p.number),
    block: Callable[[Drawn], str] | None = None,
    waist: bool = True,
    extra: Callable[[Any, Any], object] | None = None,
    scale: float = 1.0,
) -> bytes:
    """A DXF with each panel as a closed polyline, its number as text, its waist on a layer of its own; `units` as $INSUNITS."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = units or 0
    space = document.modelspace()
    for panel in panels:
        target = space
        if block is not None:
            target = document.blocks.new(block(panel))
            space.add_blockref(block(panel), (0, 0))
        target.add_lwpolyline(panel.ring, close=True, dxfattribs={"layer": layer(panel)})
        if waist:
            target.add_line(*panel.waist, dxfattribs={"layer": "WAIST"})
        if words(panel):
            x, y = panel.middle
            target.add_text(words(panel), height=8 * scale).set_placement((x, y + 60 * scale))
    if extra is not None:
        extra(document, space)
    return dxf_bytes(document, units_said=units is not None)


def dxf_square(x: float, y: float, side: float, words: str) -> Callable[[Any, Any], object]:
    """What adds a test square with its length as text."""

    def add(document: Any, space: Any) -> None:
        ring = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
        space.add_lwpolyline(ring, close=True)
        space.add_text(words, height=side / 8).set_placement((x + side / 10, y + side / 3))

    return add


def dxf_bytes(document, *, units_said: bool = True) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    text = stream.getvalue()
    if not units_said:
        text = text.replace("$INSUNITS", "$INSUNIT_")
    return text.encode()
