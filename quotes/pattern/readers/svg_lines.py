"""From SVG shapes to polylines: every path command and basic shape, curves flattened within `FLATNESS_MM`."""

import math
from xml.etree.ElementTree import Element

from svgelements import (
    Arc,
    Close,
    CubicBezier,
    Line,
    Matrix,
    Move,
    Path,
    PathSegment,
    Point,
    QuadraticBezier,
    Shape,
)
from svgelements import Circle as SvgCircle
from svgelements import Ellipse as SvgEllipse
from svgelements import Polygon as SvgPolygon
from svgelements import Polyline as SvgPolyline
from svgelements import Rect as SvgRect
from svgelements import SimpleLine as SvgLine

from inventory.ground.findings import refuse
from quotes.pattern.drawing import FLATNESS_MM
from quotes.pattern.geometry import Polyline
from quotes.pattern.readers.svg_document import local_name, user_units

__all__ = ["SHAPES", "flattened", "shape_path"]

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
MOST_POINTS_A_CURVE = 4096


def shape_path(element: Element, where: str, viewport: tuple[float, float] | None = None) -> Path:
    """Return a shape's path in its own units. Raises Refused for data that is no shape.

    `viewport` is the width and height of which a length such as 100% is a share (SVG 2, 8.9).
    """
    name = local_name(element)
    try:
        if name == "path":
            return Path(element.get("d", ""))
        if name in ("polyline", "polygon"):
            kind = SvgPolyline if name == "polyline" else SvgPolygon
            return Path(kind(element.get("points", "")))
        return Path(_basic(name, element, viewport))
    except (ValueError, TypeError, IndexError, ZeroDivisionError, AttributeError):
        raise refuse("svg.shape", where, f"The {name} cannot be read.", "Draw it again.") from None


def _basic(name: str, element: Element, viewport: tuple[float, float] | None) -> Shape:
    wide, high = viewport or (None, None)
    both = None if viewport is None else math.hypot(*viewport) / math.sqrt(2)

    def number(key: str, of: float | None) -> float:
        return user_units(element.get(key, "0"), of)

    match name:
        case "rect":
            rx, ry = element.get("rx"), element.get("ry")
            return SvgRect(
                number("x", wide),
                number("y", high),
                number("width", wide),
                number("height", high),
                user_units(rx or ry or "0", wide),
                user_units(ry or rx or "0", high),
            )
        case "circle":
            return SvgCircle(number("cx", wide), number("cy", high), number("r", both))
        case "ellipse":
            return SvgEllipse(number("cx", wide), number("cy", high), number("rx", wide), number("ry", high))
        case _:
            return SvgLine(number("x1", wide), number("y1", high), number("x2", wide), number("y2", high))


def flattened(path: Path, matrix: Matrix) -> list[tuple[Polyline, bool]]:
    """Return the runs of a path in mm with y upwards, each with whether it was closed (its first point repeated)."""
    runs: list[tuple[list[tuple[float, float]], bool]] = []
    # The library keeps a transform beside the segments until it is told to put it into them.
    for segment in (path * matrix).reify():
        if isinstance(segment, Move):
            runs.append(([_point(segment.end)], False))
        elif not runs:
            continue
        elif isinstance(segment, Close):
            points, _ = runs[-1]
            if points[0] != points[-1]:
                points.append(points[0])
            runs[-1] = (points, True)
        else:
            if runs[-1][1]:
                # After a closing, a path goes on from where it closed.
                runs.append(([runs[-1][0][0]], False))
            runs[-1][0].extend(_segment(segment))
    return [(tuple(points), closed) for points, closed in runs if len(points) > 1]


def _segment(segment: PathSegment) -> list[tuple[float, float]]:
    """The points after the segment's start."""
    if isinstance(segment, Line):
        return [_point(segment.end)]
    count = _pieces(segment)
    return [*(_point(segment.point(step / count)) for step in range(1, count)), _point(segment.end)]


def _pieces(segment: PathSegment) -> int:
    """How many chords keep within the flatness: from second differences of a Bézier, from the sagitta of an arc."""
    if isinstance(segment, Arc):
        radius = float(max(segment.rx, segment.ry))
        if radius <= FLATNESS_MM:
            return 1
        step = 2 * math.acos(1 - FLATNESS_MM / radius)
        pieces = abs(float(segment.sweep)) / step
    else:
        controls = _controls(segment)
        degree = len(controls) - 1
        bend = max(
            math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
            for a, b, c in zip(controls, controls[1:], controls[2:], strict=False)
        )
        pieces = math.sqrt(degree * (degree - 1) * bend / (8 * FLATNESS_MM))
    if not math.isfinite(pieces):
        raise refuse("pattern.not-finite", "path", "A coordinate is not a finite number.", "Draw the line again.")
    return max(1, min(MOST_POINTS_A_CURVE, math.ceil(pieces)))


def _controls(segment: PathSegment) -> list[tuple[float, float]]:
    if isinstance(segment, CubicBezier):
        return [_point(p) for p in (segment.start, segment.control1, segment.control2, segment.end)]
    assert isinstance(segment, QuadraticBezier)
    return [_point(p) for p in (segment.start, segment.control, segment.end)]


def _point(point: Point) -> tuple[float, float]:
    return (float(point.x), -float(point.y))
