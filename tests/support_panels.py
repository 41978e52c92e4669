"""Drawn panels that tests name: a curved garment that trues, and single shapes with something the matter."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from quotes.pattern.drawing import Drawing, DrawnPanel
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.panels import EdgeName, Panel, Pattern

WIDTH_MM = 70.0
"""Of each panel of the curved garment where nothing is nipped in."""

RECTANGLE: Polyline = ((0.0, 0.0), (60.0, 0.0), (60.0, 240.0), (0.0, 240.0))
SQUARE: Polyline = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
BOW_TIE: Polyline = ((0.0, 0.0), (100.0, 200.0), (100.0, 0.0), (0.0, 200.0))
SLIVER: Polyline = ((0.0, 0.0), (70.0, 0.0), (41.0, 250.0), (29.0, 250.0))
"""Twelve millimetres wide at its top."""
CINCHER: Polyline = ((0.0, 5.0), (90.0, 0.0), (82.0, 125.0), (10.0, 118.0))
"""Its sides are 1.3 times its width."""
SLANTED_CINCHER: Polyline = ((0.0, 0.0), (90.0, 25.0), (85.0, 118.0), (5.0, 150.0))
"""Its back edge is shorter than its bottom edge; front and back together are longer than top and bottom."""
CONCAVE: Polyline = ((0.0, 0.0), (80.0, 0.0), (58.0, 110.0), (75.0, 250.0), (5.0, 250.0), (22.0, 110.0))
"""Nipped in at the waist by some 20° on both sides."""
BULGING: Polyline = ((0.0, 0.0), (60.0, 0.0), (80.0, 120.0), (60.0, 250.0), (0.0, 250.0))
"""Its back edge swells at the waist by some 18°."""
POINTED: Polyline = ((0.0, 0.0), (35.0, -45.0), (70.0, 0.0), (66.0, 250.0), (4.0, 250.0))
"""Its bottom edge comes to a point as sharp as its bottom corners."""
INCHES: Polyline = ((0.0, 0.0), (2.5, 0.0), (2.5, 11.0), (0.0, 11.0))
"""A panel of 2 1/2 by 11 inches, its numbers taken for millimetres."""


def flattened(curve: Callable[[float], Point], pieces: int) -> Polyline:
    """The points of a curve at 0, 1/pieces … 1."""
    return tuple(curve(step / pieces) for step in range(pieces + 1))


def curved_pattern(panels: int = 6, *, points_a_side: int = 60) -> Pattern:
    """A garment of smooth curves whose seams true: each seam line nips both its panels in alike.

    Front 150 above and 170 below the waist, side 110 and 130, back 165 and 140, so that no panel is its own mirror.
    """

    def along(at: tuple[float, float, float], j: int) -> float:
        u = 2 * j / panels
        return at[0] + (at[1] - at[0]) * u if u <= 1 else at[1] + (at[2] - at[1]) * (u - 1)

    def nip(j: int, y: float) -> float:
        depth = 12.0 * math.sin(math.pi * j / panels) if 0 < j < panels else 0.0
        return depth * math.exp(-((y / 70.0) ** 2)) + 0.00015 * j * (y - 20.0) ** 2 / panels

    def seam_line(j: int, *, base: float, sign: int) -> Polyline:
        low, high = -along((170.0, 130.0, 140.0), j), along((150.0, 110.0, 165.0), j)
        return flattened(
            lambda t: (base + sign * nip(j, low + (high - low) * t), low + (high - low) * t), points_a_side
        )

    def end(start: Point, stop: Point, sag: float) -> Polyline:
        """A shallow arch between two corners."""
        run = flattened(
            lambda t: (
                start[0] + (stop[0] - start[0]) * t,
                start[1] + (stop[1] - start[1]) * t + sag * 4 * t * (1 - t),
            ),
            points_a_side // 2,
        )
        return (start, *run[1:-1], stop)

    made = []
    for number in range(1, panels + 1):
        front = seam_line(number - 1, base=0.0, sign=1)
        back = seam_line(number, base=WIDTH_MM, sign=-1)
        made.append(
            Panel(
                number=number,
                front=front,
                back=back,
                top=end(front[-1], back[-1], 3.0),
                bottom=end(front[0], back[0], -2.0),
                waist_mm=0.0,
            )
        )
    return Pattern(name="Curves", panels=tuple(made))


def drawn(pattern: Pattern) -> Drawing:
    """A drawing program's view of a pattern: outlines and waist lines, nothing named."""
    return Drawing(name=pattern.name, panels=tuple(drawn_panel(panel) for panel in pattern.panels))


def drawn_panel(panel: Panel, where: str = "") -> DrawnPanel:
    """One panel as an outline with its waist drawn across."""
    waist = ((-500.0, panel.waist_mm), (500.0, panel.waist_mm))
    return DrawnPanel(number=panel.number, where=where or f"panel {panel.number}", stitching=panel.outline, waist=waist)


def named(pattern: Pattern) -> Drawing:
    """The pattern with its edges named and its waist as a height."""
    return Drawing(
        name=pattern.name,
        panels=tuple(
            DrawnPanel(
                number=panel.number,
                where=f"panel {panel.number}",
                edges={name: panel.edge(name) for name in EdgeName},
                waist_mm=panel.waist_mm,
            )
            for panel in pattern.panels
        ),
    )


def redrawn(panel: DrawnPanel, move: Callable[[Point], Point]) -> DrawnPanel:
    """The panel with all that is drawn moved alike."""

    def line(points: Sequence[Point]) -> Polyline:
        return tuple(move(point) for point in points)

    return replace(
        panel,
        stitching=None if panel.stitching is None else line(panel.stitching),
        cut=None if panel.cut is None else line(panel.cut),
        edges=None if panel.edges is None else {name: line(edge) for name, edge in panel.edges.items()},
        turn_points=line(panel.turn_points),
        notches=line(panel.notches),
        waist=None if panel.waist is None else line(panel.waist),
        grain=None if panel.grain is None else (move(panel.grain[0]), move(panel.grain[1])),
    )


def all_redrawn(drawing: Drawing, move: Callable[[Point], Point]) -> Drawing:
    """The drawing with every panel moved alike."""
    return replace(drawing, panels=tuple(redrawn(panel, move) for panel in drawing.panels))


def changed(drawing: Drawing, index: int, **fields: object) -> Drawing:
    """The drawing with something else at one of its panels."""
    panels = list(drawing.panels)
    panels[index] = replace(panels[index], **fields)  # type: ignore[arg-type]
    return replace(drawing, panels=tuple(panels))


def alike(outline: Polyline, **fields: object) -> Drawing:
    """Two panels of one shape."""
    return Drawing(
        name="",
        panels=tuple(
            DrawnPanel(number=number, where=f"panel {number}", stitching=outline, **fields)  # type: ignore[arg-type]
            for number in (1, 2)
        ),
    )


def in_mirror(point: Point) -> Point:
    return (-point[0], point[1])


def upside_down(point: Point) -> Point:
    return (-point[0], -point[1])


def on_its_left_side(point: Point) -> Point:
    return (-point[1], point[0])


def on_its_right_side(point: Point) -> Point:
    return (point[1], -point[0])
