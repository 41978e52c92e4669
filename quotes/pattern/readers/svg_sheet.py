"""SVG as people draw it: every line and word with its layers, told apart by nobody yet.

Layers and groups give their names, what is hidden, clips, masks, patterns and symbols that are not used are left out.
"""

import re
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from svgelements import Matrix
from svgelements import Point as SvgPoint

from inventory.ground.findings import Refused, refuse
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import Point
from quotes.pattern.readers.piece import checked_points
from quotes.pattern.readers.svg_document import (
    Walk,
    local_name,
    parsed,
    transform_matrix,
    user_units,
    viewbox_matrix,
)
from quotes.pattern.readers.svg_lines import SHAPES, flattened, shape_path
from quotes.pattern.readers.svg_style import Dress, dressed, style_rules
from quotes.pattern.sheet import Label, Sheet, Stroke

__all__ = ["read_sheet"]

_CONTAINERS = frozenset({"svg", "g", "a", "switch"})
_FINE_WHERE_UNKNOWN = 10.0
"""Curves of a drawing without a unit are flattened as if it were in centimetres."""
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{2,4})_")
_LETTER_WIDTH = 0.55
"""Of a letter's height; common practice, no source: for where the middle of a word stands."""
_SPACE = re.compile(r"\s+")
_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,2})?)(%|[a-z]*)")
_USER_UNITS = {"": 1.0, "px": 1.0, "pt": 96 / 72, "pc": 16.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0, "em": 1.0}
"""How many user units are one of a length's (CSS Values 3, absolute lengths); an em is the size of the letters."""


@dataclass(slots=True)
class _Run:
    """Words of a text from one place on, with the dress of the last of them."""

    at: Point
    words: str
    dress: Dress


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where the walk stands: the matrix to the sheet, the dress, the names of layers and groups, the viewport's sides."""

    matrix: Matrix
    dress: Dress
    viewport: tuple[float, float] | None = None
    layers: tuple[str, ...] = ()
    depth: int = 0


def read_sheet(data: bytes, options: ReadOptions) -> Sheet:
    """Return what an SVG shows, in its own user units. Raises Refused for what is broken, unsafe or too much."""
    try:
        page = parsed(data, ReadOptions())
        scale: float | None = page.mm_per_unit
    except Refused as refusal:
        # A file without a size may have a witness on it; the maker's word goes before the file's.
        open_units = {"file.no-units", "file.units-contradict"} if options.units else {"file.no-units"}
        if not {finding.code for finding in refusal.findings} <= open_units:
            raise
        page, scale = parsed(data, ReadOptions(units="mm")), None
    walker = _Walker(page.root, fineness=_FINE_WHERE_UNKNOWN if scale is None else max(1.0, scale))
    walker.visit(
        page.root,
        _Place(
            matrix=Matrix.scale(1 / page.mm_per_unit, 1 / page.mm_per_unit) * page.to_mm,
            dress=Dress(),
            viewport=_viewport(page.root, None),
        ),
    )
    if not walker.strokes and walker.has_picture:
        raise refuse(
            "svg.picture-only",
            "file",
            "The drawing holds a picture and no lines: a scan or a photograph, from which nothing can be measured so.",
            "Trace it in a drawing program, or hand in photographs with the sheet of cards.",
        )
    width, box = page.root.get("width"), page.root.get("viewBox")
    words = f'width="{width}"' + (f' on viewBox "{box}"' if box else "") if width else ""
    return Sheet(
        strokes=tuple(walker.strokes),
        labels=tuple(walker.labels),
        mm_per_unit=scale,
        unit_said=words[:120],
        page=_page(page.root),
    )


def _page(root: Element) -> tuple[float, float] | None:
    """The page in user units: its viewBox, else its own size."""
    box = root.get("viewBox", "").replace(",", " ").split()
    if len(box) == 4:
        return float(box[2]), float(box[3])
    found = [re.match(r"\s*(\d+(?:\.\d+)?)\s*(?:px)?\s*$", root.get(name, "")) for name in ("width", "height")]
    return (float(found[0][1]), float(found[1][1])) if found[0] and found[1] else None


def _viewport(element: Element, around: tuple[float, float] | None) -> tuple[float, float] | None:
    """The sides of which lengths in an `svg` or `symbol` are shares: its viewBox's, else its own, else those around it."""
    box = element.get("viewBox", "").replace(",", " ").split()
    wide, high = around or (None, None)
    try:
        if len(box) == 4:
            return float(box[2]), float(box[3])
        return user_units(element.get("width", "100%"), wide), user_units(element.get("height", "100%"), high)
    except ValueError:
        return around


class _Walker:
    """Goes through the tree once, references followed within a budget."""

    def __init__(self, root: Element, *, fineness: float) -> None:
        self.strokes: list[Stroke] = []
        self.labels: list[Label] = []
        self.has_picture = False
        self._fineness = fineness
        self._rules = style_rules(root)
        self._walk = Walk(root)

    def visit(self, element: Element, place: _Place) -> None:
        """Take in an element and what is in it."""
        self._walk.count(place.depth)
        name = local_name(element)
        dress = dressed(element, place.dress, self._rules)
        if dress.is_hidden or name not in SHAPES | _CONTAINERS | {"use", "text", "image"}:
            return
        names = _names(element)
        where = f'{name} "{names[-1]}"' if names else name
        matrix = transform_matrix(element, where) * place.matrix
        layers = (*place.layers, *names)
        inner = replace(place, matrix=matrix, dress=dress, layers=layers, depth=place.depth + 1)
        if name in SHAPES:
            # Programs draw the bounds of pages and groups as rectangles without paint.
            if not dress.is_invisible and (name != "rect" or dress.is_painted):
                self._line(element, inner, where)
        elif name == "text":
            if not dress.is_invisible:
                self._text(element, inner)
        elif name == "image":
            self.has_picture = True
        elif name == "use":
            self._use(element, inner)
        else:
            if name == "svg" and place.depth:
                box = viewbox_matrix(
                    element, _number(element, "width", place.dress), _number(element, "height", place.dress)
                )
                at = Matrix.translate(_number(element, "x", place.dress) or 0, _number(element, "y", place.dress) or 0)
                inner = replace(inner, matrix=box * (at * matrix), viewport=_viewport(element, place.viewport))
            for child in element:
                self.visit(child, inner)

    def _line(self, element: Element, place: _Place, where: str) -> None:
        # Curves are flattened as finely as if they were drawn in millimetres.
        fine = place.matrix * Matrix.scale(self._fineness, self._fineness)
        for points, is_closed in flattened(shape_path(element, where, place.viewport), fine):
            line = checked_points(tuple((x / self._fineness, y / self._fineness) for x, y in points), where)
            is_closed = is_closed or (len(line) > 3 and line[0] == line[-1])
            self.strokes.append(
                Stroke(
                    line=line[:-1] if is_closed and line[0] == line[-1] else line,
                    is_closed=is_closed,
                    where=where,
                    layers=place.layers,
                    colour=place.dress.colour,
                    dash=place.dress.dash,
                    width=place.dress.width,
                    is_arrow=place.dress.is_arrow,
                )
            )

    def _text(self, element: Element, place: _Place) -> None:
        """The lines of a text: a tspan with a place of its own begins a new one."""
        start = _number(element, "x", place.dress) or 0.0, _number(element, "y", place.dress) or 0.0
        runs: list[_Run] = [_Run(start, "", place.dress)]
        self._say(element, place.dress, runs, place.depth)
        for run in runs:
            plain = _SPACE.sub(" ", run.words).strip()
            if plain:
                self.labels.append(_label(plain, run.at, run.dress, place))

    def _say(self, element: Element, dress: Dress, runs: list[_Run], depth: int) -> None:
        """Add what a part of a text says and the parts in it, in the order in which they are read."""
        self._walk.count(depth)
        runs[-1].words += element.text or ""
        runs[-1].dress = dress
        for part in element:
            inner = dressed(part, dress, self._rules)
            if local_name(part) in ("tspan", "textPath", "a") and not (inner.is_hidden or inner.is_invisible):
                x, y, dy = (_number(part, name, inner) for name in ("x", "y", "dy"))
                if x is not None or y is not None or dy:
                    last_x, last_y = runs[-1].at
                    at = last_x if x is None else x, (last_y if y is None else y) + (dy or 0.0)
                    runs.append(_Run(at, "", inner))
                self._say(part, inner, runs, depth + 1)
            runs[-1].words += part.tail or ""

    def _use(self, element: Element, place: _Place) -> None:
        target = self._walk.used_by(element)
        at = (
            Matrix.translate(_number(element, "x", place.dress) or 0, _number(element, "y", place.dress) or 0)
            * place.matrix
        )
        names = place.layers
        if local_name(target) in ("symbol", "svg"):
            at = (
                viewbox_matrix(target, _number(element, "width", place.dress), _number(element, "height", place.dress))
                * at
            )
            inner = _Place(
                matrix=at,
                dress=dressed(target, place.dress, self._rules),
                layers=(*names, *_names(target)),
                depth=place.depth + 2,
                viewport=_viewport(target, place.viewport),
            )
            for child in target:
                self.visit(child, inner)
        else:
            self.visit(target, replace(place, matrix=at, depth=place.depth + 2))


def _label(words: str, at: Point, dress: Dress, place: _Place) -> Label:
    size = dress.font_size
    wide = _LETTER_WIDTH * size * len(words)
    shift = {"middle": 0.0, "end": -wide / 2}.get(dress.anchor, wide / 2)
    middle = _placed(place.matrix, at[0] + shift, at[1] - 0.35 * size)
    top = _placed(place.matrix, at[0] + shift, at[1] - 1.35 * size)
    height = ((top[0] - middle[0]) ** 2 + (top[1] - middle[1]) ** 2) ** 0.5
    return Label(text=words[:300], at=middle, where=f'text "{words[:40]}"', height=height, layers=place.layers)


def _placed(matrix: Matrix, x: float, y: float) -> Point:
    point = matrix.point_in_matrix_space(SvgPoint(x, y))
    return float(point.x), -float(point.y)


def _names(element: Element) -> tuple[str, ...]:
    """An element's names: what people gave it (a layer's label, a title) after the id that programs give."""
    found: list[str] = []
    ids = element.get("id")
    if ids:
        found.append(_ESCAPED.sub(lambda code: chr(int(code[1], 16)), ids))
    for key, value in element.attrib.items():
        if key.rpartition("}")[2] in ("label", "aria-label", "data-name", "data-panel", "class"):
            found.append(f"panel {value}" if key == "data-panel" else value)
    title = next((child.text for child in element if local_name(child) == "title" and child.text), None)
    if title and local_name(element) != "svg":
        found.append(title)
    return tuple(name.strip()[:80] for name in found if name.strip())


def _number(element: Element, name: str, dress: Dress) -> float | None:
    """The first of an attribute's lengths in user units; texts may have one for each letter. None where it has none."""
    found = _LENGTH.match(element.get(name, ""))
    if not found or found[2] not in _USER_UNITS:
        return None
    return float(found[1]) * (dress.font_size if found[2] == "em" else _USER_UNITS[found[2]])
