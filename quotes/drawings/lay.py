"""A lay as it lies on the cutting table: warp from left to right, selvedges above and below."""

from shapely import Polygon

from inventory.units import LengthUnit, format_length
from quotes.drawings.svg import Canvas
from quotes.lay.model import LayPlan

__all__ = ["lay_drawing"]

MARGIN_MM = 60.0


def lay_drawing(plan: LayPlan, *, unit: LengthUnit) -> str:
    """Return an SVG of a lay: pieces by their labels, the cloth's edges, its length and width."""
    canvas = Canvas(
        title=f"Lay of {len(plan.placements)} pieces on {format_length(plan.width, unit)}",
        left=-MARGIN_MM,
        bottom=-MARGIN_MM,
        width=plan.length + 2 * MARGIN_MM,
        height=plan.width + 2 * MARGIN_MM,
        classes="drawing drawing-lay",
    )
    for edge in (0.0, plan.width):
        canvas.line(((0.0, edge), (plan.length, edge)), "selvedge-line")
    for end in (0.0, plan.length):
        canvas.line(((end, 0.0), (end, plan.width)), "cloth-end")
    for placement in plan.placements:
        canvas.line(placement.outline, "lay-piece", closed=True)
        middle = Polygon(placement.outline).representative_point()
        canvas.text((float(middle.x), float(middle.y) - 8), placement.label, "lay-label")
    canvas.text((plan.length / 2, -MARGIN_MM * 0.6), format_length(plan.length, unit), "lay-measure")
    canvas.text((-MARGIN_MM * 0.35, plan.width / 2), format_length(plan.width, unit), "lay-measure", turned=90)
    return canvas.markup()
