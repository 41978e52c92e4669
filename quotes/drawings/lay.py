"""A lay as it lies on the cutting table: selvedges left and right, the warp running down."""

from shapely import Polygon

from inventory.ground.svg import Canvas
from inventory.ground.units import LengthUnit, format_length
from quotes.lay.lay_plan import LayPlan

__all__ = ["lay_drawing"]

MARGIN_MM = 60.0


def lay_drawing(plan: LayPlan, *, unit: LengthUnit) -> str:
    """Return an SVG of a lay: pieces by their labels, the cloth's edges, its length and width."""
    canvas = Canvas(
        title=f"Lay of {len(plan.placements)} pieces on {format_length(plan.width, unit)}",
        left=-MARGIN_MM,
        bottom=-plan.length - MARGIN_MM,
        width=plan.width + 2 * MARGIN_MM,
        height=plan.length + 2 * MARGIN_MM,
        classes="drawing drawing-lay",
    )
    for edge in (0.0, plan.width):
        canvas.line(((edge, 0.0), (edge, -plan.length)), "selvedge-line")
    for end in (0.0, -plan.length):
        canvas.line(((0.0, end), (plan.width, end)), "cloth-end")
    for placement in plan.placements:
        outline = tuple((y, -x) for x, y in placement.outline)
        canvas.line(outline, "lay-piece", closed=True)
        middle = Polygon(outline).representative_point()
        canvas.text((float(middle.x), float(middle.y) - 8), placement.label, "lay-label")
    canvas.text((plan.width / 2, MARGIN_MM * 0.35), format_length(plan.width, unit), "lay-measure")
    canvas.text((-MARGIN_MM * 0.35, -plan.length / 2), format_length(plan.length, unit), "lay-measure", turned=90)
    return canvas.markup()
