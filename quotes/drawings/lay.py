"""A lay for a page, as it lies on the cutting table: selvedges left and right, the warp running up as in the piece that is worn."""

from collections.abc import Mapping, Sequence

from inventory.ground.svg import Canvas
from inventory.ground.units import LengthUnit, format_length
from quotes.drawings.cutting_table import table_piece
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.lay.remnants import used_of_remnants
from quotes.pattern.geometry import as_line
from quotes.takeoff.cut_pieces import CutPiece

__all__ = ["lay_drawing"]

MARGIN_MM = 60.0
APART_MM = 90.0
LINE_MM = 24.0
SEEN_MM = 0.2
"""A picture of a whole lay leaves out what lies this close to its lines; its papers are drawn in full."""


def lay_drawing(
    plan: LayPlan,
    *,
    marked: Mapping[str, CutPiece],
    unit: LengthUnit,
    problem: LayProblem | None = None,
    remnants: Sequence[str] = (),
    partners: Mapping[tuple[str, int], str] | None = None,
) -> str:
    """Return an SVG of a lay: its pieces with their marks and labels, the cloth's edges, its length and width.

    Args:
        marked: the pieces of the pattern by their labels; others show their outline alone.
        problem: what was laid, where pieces are of several, or remnants and flaws are to be seen: remnants lie to the right
            of the roll.
        remnants: what each of the problem's is called.
        partners: of a folded lay, what the lower thickness gives by label and copy; None for an open one.
    """
    cloths = _cloths(plan, problem)
    right = max(left + width for left, width, _ in cloths.values())
    canvas = Canvas(
        title=f"Lay of {len(plan.placements)} pieces on {format_length(plan.width, unit)}",
        left=-MARGIN_MM,
        bottom=-MARGIN_MM,
        width=right + 2 * MARGIN_MM,
        height=max(length for _, _, length in cloths.values()) + 2 * MARGIN_MM,
        classes="drawing drawing-lay",
    )
    for cloth, (left, width, length) in cloths.items():
        _cloth(canvas, left, width, length, unit=unit, name="" if cloth is None else remnants[cloth])
    for x0, y0, x1, y1 in problem.flaws if problem else ():
        if x0 < plan.length:
            low, high = max(x0, 0.0), min(x1, plan.length)
            corners = tuple((plan.width - y, x) for x, y in ((low, y0), (low, y1), (high, y1), (high, y0)))
            canvas.line(corners, "lay-flaw", closed=True)
            canvas.line((corners[0], corners[2]), "lay-flaw")
            canvas.line((corners[1], corners[3]), "lay-flaw")
    for placement in plan.placements:
        below = (partners or {}).get((placement.label, placement.copy))
        piece = table_piece(placement, marked.get(placement.label), partner=below)
        left, width, _ = cloths[placement.remnant]
        edge = left + width
        for stroke in piece.strokes:
            points = as_line(stroke.points).simplify(SEEN_MM).coords
            canvas.line([(edge - y, x) for x, y in points], f"lay-{stroke.kind}", closed=stroke.is_closed)
        # Of several, whose piece it is stands above what it is called there.
        lines = [(part, "lay-label") for part in (piece.label.split(" ", 1) if problem else [piece.label])]
        lines += [("turned", "lay-note")] if piece.rotation else []
        for line, (words, classes) in enumerate(lines):
            canvas.text((edge - piece.middle[1], piece.middle[0] - LINE_MM * line), words, classes)
    if partners is not None:
        # What lies lowest across the cloth lies by the fold, and is drawn at the right; both selvedges lie at the left.
        canvas.text((plan.width + MARGIN_MM * 0.6, plan.length / 2), "fold", "lay-measure", turned=90)
    return canvas.markup()


def _cloths(plan: LayPlan, problem: LayProblem | None) -> dict[int | None, tuple[float, float, float]]:
    """Left edge, width and length of the roll, where anything lies on it, and of each remnant that is begun."""
    cloths: dict[int | None, tuple[float, float, float]] = {}
    right = -APART_MM
    if plan.length:
        cloths[None] = (0.0, plan.width, plan.length)
        right = plan.width
    given = problem.remnants if problem else ()
    for which in sorted(used_of_remnants(plan.placements)):
        remnant = given[which]
        cloths[which] = (right + APART_MM, remnant.width, remnant.length)
        right += APART_MM + remnant.width
    return cloths


def _cloth(canvas: Canvas, left: float, width: float, length: float, *, unit: LengthUnit, name: str) -> None:
    """A roll or a remnant with its edges and its sizes."""
    for edge in (left, left + width):
        canvas.line(((edge, 0.0), (edge, length)), "selvedge-line")
    for end in (0.0, length):
        canvas.line(((left, end), (left + width, end)), "cloth-end")
    across = ", ".join(filter(None, (name, format_length(width, unit))))
    canvas.text((left + width / 2, length + MARGIN_MM * 0.35), across, "lay-measure")
    canvas.text((left - MARGIN_MM * 0.35, length / 2), format_length(length, unit), "lay-measure", turned=90)
