"""Everything that came, drawn at one scale beside a square of known size: outlines to press, each with its number."""

from collections.abc import Sequence

import shapely

from inventory.ground.svg import Canvas
from inventory.ground.units import LengthUnit
from quotes.pattern.geometry import Point, Polyline, as_line, as_polygon, ring_area_mm2
from quotes.pattern.taking.taken import Role, TakenOutline

__all__ = ["outline_words", "table_drawing"]

SQUARES = {LengthUnit.INCH: (50.8, "2 in")}
"""The side of the square in mm and its words, by the maker's unit."""
SQUARE = (50.0, "5 cm")
FINEST_SHARE = 1 / 4000
"""A line drawn may lie off the true one by this share of the drawing's width: a quarter of a pixel."""
LETTERS_SHARE = 1 / 30
"""Letters are this high beside the drawing's width, so that they are read on a phone."""


def table_drawing(outlines: Sequence[TakenOutline], *, unit: LengthUnit) -> str:
    """Return an SVG of all outlines. Those that may be panels can be pressed, in their order; each carries `data-outline`."""
    rings = [outline for outline in outlines if len(outline.ring) >= 3]
    xs = [x for outline in rings for x, _ in outline.ring] or [0.0]
    ys = [y for outline in rings for _, y in outline.ring] or [0.0]
    side, words = SQUARES.get(unit, SQUARE)
    left, right, bottom, top = min(xs), max(xs), min(ys), max(ys)
    height = max(top - bottom, side)
    width = right - left + side
    margin = 0.04 * max(width, height)
    width += margin
    letters = LETTERS_SHARE * width
    canvas = Canvas(
        title="What came, at one scale, beside a square of known size",
        left=left - margin,
        bottom=bottom - margin - letters,
        width=width + 2 * margin,
        height=height + 2 * margin + letters,
        classes="drawing drawing-table",
    )
    fine = FINEST_SHARE * width
    # What can be pressed lies above all else, in the order in which the keyboard comes to it.
    for outline in sorted(
        rings, key=lambda one: (one.may_be_panel, 0 if one.may_be_panel else -ring_area_mm2(one.ring))
    ):
        _outline(canvas, outline, fine)
    for outline in rings:
        if outline.is_panel and outline.panel:
            canvas.text(_middle(outline.ring, letters), str(outline.panel), "outline-number", size=1.6 * letters)
    corner = (right + margin, bottom)
    square = tuple((corner[0] + x * side, corner[1] + y * side) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1)))
    canvas.line(square, "known-square", closed=True)
    canvas.text((corner[0] + side / 2, bottom - 1.2 * letters), words, "known-size", size=letters)
    return canvas.markup()


def outline_words(outline: TakenOutline) -> str:
    """Return what an outline was taken for, and why."""
    what = f"Panel {outline.panel}" if outline.role is Role.PANEL else outline.role.value.capitalize()
    if outline.role is Role.CUT_LINE and outline.panel:
        what = f"Cut line of panel {outline.panel}"
    return f"{what}: {outline.why}" if outline.why else what


def _outline(canvas: Canvas, outline: TakenOutline, fine: float) -> None:
    ring, words = _drawn(outline.ring, fine), outline_words(outline)
    classes = f"outline outline-{outline.role.name.lower().replace('_', '-')}"
    if outline.may_be_panel:
        canvas.area(ring, f"{classes} may-be-panel", words, id=f"outline-{outline.index}", outline=str(outline.index))
    else:
        canvas.area(ring, classes, words)
    if not outline.may_be_panel:
        return
    for line, classes in ((outline.waist, "waist-line"), (outline.grain, "grain-line")):
        if line is not None and len(line) >= 2:
            inside = as_line(line).intersection(as_polygon(outline.ring).buffer(0))
            for part in getattr(inside, "geoms", (inside,)):
                if part.geom_type == "LineString" and not part.is_empty:
                    canvas.line([(x, y) for x, y in shapely.get_coordinates(part).tolist()], classes)


def _drawn(ring: Polyline, fine: float) -> Sequence[Point]:
    """The ring with no more points than can be seen."""
    points = shapely.get_coordinates(as_line((*ring, ring[0])).simplify(fine))[:-1]
    return [(x, y) for x, y in points.tolist()]


def _middle(ring: Polyline, letters: float) -> Point:
    """Where a number stands inside a ring: lowered by half its height."""
    inside = as_polygon(ring).buffer(0).representative_point()
    return float(inside.x), float(inside.y) - 0.55 * letters
