"""Panels as drawn, with the points that may be corners as marks to press."""

from collections.abc import Sequence

from inventory.ground.svg import Canvas
from quotes.pattern.corners import Ambiguous, sharpest_corners
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.outline import clean_ring

__all__ = ["panels_to_pick", "picking_drawing"]


def picking_drawing(panel: DrawnPanel) -> str:
    """Return an SVG of one panel whose likely corners carry `data-x` and `data-y` in the drawing's millimetres."""
    ring = clean_ring(panel.stitching or panel.cut or ())
    xs, ys = zip(*ring, strict=True)
    margin = 0.08 * max(max(xs) - min(xs), max(ys) - min(ys))
    canvas = Canvas(
        title=f"Panel {panel.number}: pick its four corners",
        left=min(xs) - margin,
        bottom=min(ys) - margin,
        width=max(xs) - min(xs) + 2 * margin,
        height=max(ys) - min(ys) + 2 * margin,
        classes="drawing drawing-picking",
    )
    canvas.line(ring, "stitching-line", closed=True)
    found = sharpest_corners(ring)
    candidates = found.candidates if isinstance(found, Ambiguous) else [ring[index] for index in found]
    for x, y in [*panel.turn_points, *candidates]:
        canvas.mark((x, y), margin * 0.35, "corner-mark", x=f"{x:.3f}", y=f"{y:.3f}")
    return canvas.markup()


def panels_to_pick(panels: Sequence[DrawnPanel]) -> list[DrawnPanel]:
    """Return the panels whose corners a maker may have to pick."""
    return [
        panel for panel in panels if panel.edges is None and panel.number is not None and (panel.stitching or panel.cut)
    ]
