"""Patterns in SVG: panels by number, their parts by name, real units, every transform.

A panel is a shape or group with its number in `data-panel`, or at the end of its `id`, `aria-label` or
`inkscape:label` with the word panel before it. In a group, parts are told by `data-part` or class: seam (stitching
line; the default for the only closed path), cut, waist, grain, notch, label.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from svgelements import Matrix

from inventory.ground.findings import Finding, Refused, refuse
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.readers.chaining import chained
from quotes.pattern.readers.piece import checked_points
from quotes.pattern.readers.svg_document import (
    Walk,
    local_name,
    parsed,
    transform_matrix,
    viewbox_matrix,
)
from quotes.pattern.readers.svg_lines import SHAPES, flattened, shape_path
from quotes.pattern.readers.svg_style import Dress, dressed, style_rules

__all__ = ["read"]

PARTS = ("seam", "cut", "waist", "grain", "notch", "label")
_CONTAINERS = frozenset({"svg", "g", "a", "switch", "symbol"})
_MAY_BE_PANELS = SHAPES | _CONTAINERS | {"use"}
"""A title or a text may bear the word and number too; it is no panel."""
_LABELLED = re.compile(r"panel[\s_.:-]*(\d{1,3})\s*$", re.IGNORECASE)


@dataclass(slots=True)
class _Found:
    """What one panel's elements show so far, in mm."""

    where: str
    number: int
    lines: dict[str, list[tuple[Polyline, bool]]] = field(default_factory=dict)


def read(data: bytes, options: ReadOptions) -> Drawing:
    """Return the drawing of an SVG file. Raises Refused with every fault that could be found."""
    page = parsed(data, options)
    walker = _Walker(page.root)
    walker.visit(page.root, page.to_mm, panel=None, part="", depth=0, above=Dress())
    faults: list[Finding] = list(walker.faults)
    panels: list[DrawnPanel] = []
    for found in walker.panels:
        try:
            panels.append(_panel(found))
        except Refused as refusal:
            faults += refusal.findings
    if faults:
        raise Refused(faults)
    if not panels:
        raise refuse(
            "pattern.no-panels",
            "file",
            "No panel was found in the drawing.",
            'Give each panel its number: data-panel="3", or an id such as panel-3.',
        )
    return Drawing(name="", panels=tuple(panels), mm_per_unit=page.mm_per_unit, findings=page.findings)


class _Walker:
    """Goes through the tree once, references followed within a budget."""

    def __init__(self, root: Element) -> None:
        self.panels: list[_Found] = []
        self.faults: list[Finding] = []
        self._walk = Walk(root)
        self._rules = style_rules(root)

    def visit(
        self, element: Element, matrix: Matrix, *, panel: _Found | None, part: str, depth: int, above: Dress
    ) -> None:
        """Take in an element and what is in it; `panel`, `part` and the dress `above` are those that it stands in."""
        self._walk.count(depth)
        name = local_name(element)
        dress = dressed(element, above, self._rules)
        if dress.is_hidden or (dress.is_invisible and name in SHAPES):
            return
        number = _panel_number(element) if panel is None and name in _MAY_BE_PANELS else None
        if number is not None:
            panel = _Found(where=f'{name} "{element.get("id") or number}"', number=number)
            self.panels.append(panel)
        part = _part(element) or part
        place = (
            panel.where
            if panel is not None
            else f'<{name} id="{element.get("id")}">'
            if element.get("id")
            else f"<{name}>"
        )
        matrix = transform_matrix(element, place) * matrix
        if name in SHAPES:
            if panel is not None:
                runs = flattened(shape_path(element, panel.where), matrix)
                panel.lines.setdefault(part, []).extend(
                    (checked_points(line, panel.where), closed) for line, closed in runs
                )
        elif name == "use":
            self._use(element, matrix, panel=panel, part=part, depth=depth, above=dress)
        elif name in _CONTAINERS and (name != "symbol" or depth == 0):
            if name == "svg" and depth:
                matrix = viewbox_matrix(element, _number(element, "width"), _number(element, "height")) * (
                    Matrix.translate(_number(element, "x") or 0, _number(element, "y") or 0) * matrix
                )
            for child in element:
                self.visit(child, matrix, panel=panel, part=part, depth=depth + 1, above=dress)

    def _use(
        self, element: Element, matrix: Matrix, *, panel: _Found | None, part: str, depth: int, above: Dress
    ) -> None:
        target = self._walk.used_by(element)
        matrix = Matrix.translate(_number(element, "x") or 0, _number(element, "y") or 0) * matrix
        if local_name(target) in ("symbol", "svg"):
            inner = viewbox_matrix(target, _number(element, "width"), _number(element, "height")) * matrix
            for child in target:
                self.visit(child, inner, panel=panel, part=part, depth=depth + 2, above=above)
        else:
            self.visit(target, matrix, panel=panel, part=part, depth=depth + 2, above=above)


def _panel_number(element: Element) -> int | None:
    said = element.get("data-panel")
    if said is not None:
        if not said.strip().isdigit():
            raise refuse("pattern.panel-without-number", "data-panel", f"{said[:20]!r} is no panel number.")
        return int(said)
    for name, value in _labels(element):
        # A drawing's own layers bear names that number nothing.
        if name == "label" and any(
            key.endswith("}groupmode") and mode == "layer" for key, mode in element.attrib.items()
        ):
            continue
        match = _LABELLED.search(value)
        if match:
            return int(match[1])
    return None


def _labels(element: Element) -> Iterator[tuple[str, str]]:
    for name, value in element.attrib.items():
        plain = name.rpartition("}")[2]
        if plain in ("id", "aria-label", "label"):
            yield plain, value


def _part(element: Element) -> str:
    said = element.get("data-part", "").strip().lower()
    if said:
        return said if said in PARTS else "other"
    for word in element.get("class", "").lower().split():
        if word in PARTS:
            return word
    return ""


def _number(element: Element, name: str) -> float | None:
    said = element.get(name)
    if said is None:
        return None
    try:
        return float(said.strip().removesuffix("px"))
    except ValueError:
        raise refuse(
            "svg.length", f"<{local_name(element)} {name}>", f"{said[:40]!r} is no number of user units."
        ) from None


def _panel(found: _Found) -> DrawnPanel:
    stitching = _ring(found, "seam") or _ring(found, "", only=True)
    cut = _ring(found, "cut")
    if stitching is None and cut is None:
        raise refuse(
            "pattern.outline-open",
            found.where,
            f"Panel {found.number} has no closed line.",
            'Close its stitching line, and mark it with class="seam" where there are several lines.',
        )
    waist = [line for line, _ in found.lines.get("waist", [])]
    grain = [line for line, _ in found.lines.get("grain", [])]
    return DrawnPanel(
        number=found.number,
        where=found.where,
        stitching=stitching,
        cut=cut,
        notches=tuple(_middle(line) for line, _ in found.lines.get("notch", [])),
        waist=waist[0] if waist else None,
        grain=(grain[0][0], grain[0][-1]) if grain else None,
    )


def _ring(found: _Found, part: str, *, only: bool = False) -> Polyline | None:
    """The closed line of a part. With `only`, unnamed lines count if just one of them is closed."""
    runs = found.lines.get(part, [])
    closed = [line[:-1] for line, is_closed in runs if is_closed or line[0] == line[-1]]
    if not closed:
        rings, _ = chained([line for line, _ in runs])
        closed = list(rings)
    if len(closed) > 1:
        what = "its lines are not named" if only else f"{len(closed)} of them are called {part}"
        raise refuse(
            "svg.which-line",
            found.where,
            f"Panel {found.number} has {len(closed)} closed lines and {what}.",
            'Mark the stitching line with class="seam" and the cut line with class="cut".',
        )
    return closed[0] if closed else None


def _middle(line: Polyline) -> Point:
    xs, ys = zip(*line, strict=True)
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
