"""A seam unrolled: both edges beside each other as straight rails from the waist up and down, and how far they drift apart.

Rungs join what lies at one height: where they stand aslant, one edge is longer. The drift is drawn beside them, larger.
"""

from inventory.ground.svg import Canvas
from quotes.pattern.truing import SEAM_STOP_MM, SEAM_TOLERANCE_MM
from quotes.pattern.unrolled import Unrolled

__all__ = ["unrolled_drawing"]

RAILS_MM = 26.0
"""How far apart the rails stand."""
RUNG_EVERY = 4
"""Every fourth height has a rung."""
DRIFT_TIMES = 8.0
"""The drift is drawn so many times as large."""
MARGIN_MM = 10.0
LETTERS_MM = 9.0
MOST_DRIFT_MM = 1.6 * SEAM_STOP_MM
"""A drift beyond this is drawn at the side of its field."""


def unrolled_drawing(seam: Unrolled) -> str:
    """Return the SVG of one seam, top up, in the millimetres of the seam."""
    first, last = seam.steps[0], seam.steps[-1]
    low, high = min(first.first_mm, first.second_mm), max(last.first_mm, last.second_mm)
    reach = MOST_DRIFT_MM * DRIFT_TIMES
    middle = RAILS_MM + 2 * MARGIN_MM + reach
    canvas = Canvas(
        title=f"Seam {seam.number} to {seam.number + 1} unrolled from the waist: {seam.difference_mm:+.1f} mm",
        left=-2 * MARGIN_MM,
        bottom=low - MARGIN_MM - 1.5 * LETTERS_MM,
        width=middle + reach + 3 * MARGIN_MM,
        height=high - low + 2 * MARGIN_MM + 1.5 * LETTERS_MM,
        classes="drawing drawing-unrolled",
    )
    _field(canvas, low, high, middle)
    for at, step in enumerate(seam.steps):
        if at % RUNG_EVERY == 0 or step is last:
            canvas.line(((0.0, step.first_mm), (RAILS_MM, step.second_mm)), "rung")
    canvas.line(((0.0, first.first_mm), (0.0, last.first_mm)), "rail")
    canvas.line(((RAILS_MM, first.second_mm), (RAILS_MM, last.second_mm)), "rail")
    for x, notches in ((0.0, seam.notches), (RAILS_MM, seam.other_notches)):
        for along in notches:
            canvas.line(((x - 4, along), (x + 4, along)), "notch-tick")
    canvas.line(((-MARGIN_MM, 0.0), (middle + reach, 0.0)), "waist-line")
    drift = [
        (middle + _shown(step.drift_mm) * DRIFT_TIMES, (step.first_mm + step.second_mm) / 2) for step in seam.steps
    ]
    canvas.line(drift, "drift-line")
    foot = low - MARGIN_MM - LETTERS_MM
    canvas.text((0.0, foot), str(seam.number), "rail-name", size=LETTERS_MM)
    canvas.text((RAILS_MM, foot), str(seam.number + 1), "rail-name", size=LETTERS_MM)
    canvas.text((middle, foot), f"±{SEAM_TOLERANCE_MM:g} mm", "rail-name", size=LETTERS_MM)
    return canvas.markup()


def _field(canvas: Canvas, low: float, high: float, middle: float) -> None:
    """What is allowed on either side of no drift, and where it stops."""
    allowed, most = SEAM_TOLERANCE_MM * DRIFT_TIMES, SEAM_STOP_MM * DRIFT_TIMES
    box = ((middle - allowed, low), (middle + allowed, low), (middle + allowed, high), (middle - allowed, high))
    canvas.line(box, "drift-allowed", closed=True)
    for x in (middle - most, middle + most):
        canvas.line(((x, low), (x, high)), "drift-stop")


def _shown(drift_mm: float) -> float:
    return min(max(drift_mm, -MOST_DRIFT_MM), MOST_DRIFT_MM)
