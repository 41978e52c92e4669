"""PDF drawings made by a general-purpose library, reportlab, of panels whose figures are known."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO
from itertools import pairwise
from pathlib import Path

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from quotes.pattern.geometry import Polyline, ring_area_mm2

__all__ = [
    "A4",
    "LETTER",
    "MM",
    "Drawn",
    "areas",
    "draw_panels",
    "drawn_panels",
    "one_page",
    "polyline",
    "ring_of",
    "tiled",
]

MM = 72 / 25.4
"""Points in a millimetre: a point is 1/72 inch, an inch 25.4 mm."""
PATTERNS = Path(__file__).parents[1] / "fixtures" / "patterns"
GAP_MM = 40.0


@dataclass(frozen=True)
class Drawn:
    """A ring in mm with its number, where it stands on the whole drawing, and its waist line."""

    number: int
    ring: Polyline
    middle: tuple[float, float]
    waist: Polyline


def ring_of(panel: dict[str, list[list[float]]]) -> Polyline:
    """The outline of a panel of a JSON pattern, anticlockwise from its lower front corner."""
    points = [*panel["bottom"], *panel["back"][1:-1], *panel["top"][::-1], *panel["front"][-2:0:-1]]
    return tuple((float(x), float(y)) for x, y in points)


def drawn_panels(stem: str = "underbust", *, low: float = 20.0, left: float = 20.0) -> list[Drawn]:
    """The panels of a fixture pattern side by side, their lowest point `low` above the drawing's lower edge."""
    panels, x = [], left
    for panel in json.loads((PATTERNS / f"{stem}.json").read_text())["panels"]:
        ring = ring_of(panel)
        dx = x - min(px for px, _ in ring)
        dy = low - min(py for _, py in ring)
        moved = tuple((px + dx, py + dy) for px, py in ring)
        right = max(px for px, _ in moved)
        front = _x_at(panel["front"], 0.0) + dx
        back = _x_at(panel["back"], 0.0) + dx
        panels.append(Drawn(panel["number"], moved, ((x + right) / 2, dy + 30), ((front, dy), (back, dy))))
        x = right + GAP_MM
    return panels


def areas(panels: Sequence[Drawn]) -> list[float]:
    """The areas inside the rings, mm²."""
    return [ring_area_mm2(panel.ring) for panel in panels]


def polyline(canvas: Canvas, line: Polyline, *, close: bool) -> None:
    """A line of the drawing, in mm."""
    path = canvas.beginPath()
    path.moveTo(line[0][0] * MM, line[0][1] * MM)
    for x, y in line[1:]:
        path.lineTo(x * MM, y * MM)
    if close:
        path.close()
    canvas.drawPath(path)


def draw_panels(canvas: Canvas, panels: Sequence[Drawn]) -> None:
    """Outlines, waists and numbers."""
    canvas.setLineWidth(0.8)
    for panel in panels:
        polyline(canvas, panel.ring, close=True)
        polyline(canvas, panel.waist, close=False)
        canvas.setFont("Helvetica", 24)
        canvas.drawCentredString(panel.middle[0] * MM, panel.middle[1] * MM, str(panel.number))


def one_page(draw: Callable[[Canvas], None], *, width_mm: float = 1200.0, height_mm: float = 400.0) -> bytes:
    """A drawing on one page as large as it."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=(width_mm * MM, height_mm * MM), invariant=True, pageCompression=0)
    draw(canvas)
    canvas.save()
    return out.getvalue()


def tiled(
    draw: Callable[[Canvas], None],
    *,
    width_mm: float,
    height_mm: float,
    paper: tuple[float, float] = A4,
    margin_mm: float = 10.0,
    overlap_mm: float = 0.0,
    frame: bool = True,
    crosses: bool = False,
    name: Callable[[int, int, int, int], str] | None = None,
    left_out: Sequence[tuple[int, int]] = (),
    shifts: dict[tuple[int, int], tuple[float, float]] | None = None,
    before: Callable[[Canvas], None] | None = None,
    mark: Callable[[Canvas, float, float, float, float], None] | None = None,
    furnish: Callable[[Canvas, int, int, int, int], None] | None = None,
) -> bytes:
    """A drawing on as many sheets of paper as it takes, row by row from the top.

    Each shows a cell between the margins, and `overlap_mm` more to the right and above; a frame or crosses mark the
    cell. `name` gets row, column, rows and columns, from 0; `shifts` move a page's drawing, as a slip of a program would.
    `mark` draws marks of another kind round the cell (left, bottom, right, top), `furnish` what else stands on a page.
    """
    paper_w, paper_h = paper[0] / MM, paper[1] / MM
    cell_w, cell_h = paper_w - 2 * margin_mm - overlap_mm, paper_h - 2 * margin_mm - overlap_mm
    columns, rows = int(-(-width_mm // cell_w)), int(-(-height_mm // cell_h))
    out = BytesIO()
    canvas = Canvas(out, pagesize=paper, invariant=True, pageCompression=0)
    if before is not None:
        before(canvas)
        canvas.showPage()
    for row in range(rows):
        for column in range(columns):
            if (row, column) in left_out:
                continue
            canvas.saveState()
            window = canvas.beginPath()
            window.rect(margin_mm * MM, margin_mm * MM, (cell_w + overlap_mm) * MM, (cell_h + overlap_mm) * MM)
            canvas.clipPath(window, stroke=0, fill=0)
            dx, dy = (shifts or {}).get((row, column), (0.0, 0.0))
            canvas.translate((margin_mm - column * cell_w + dx) * MM, (margin_mm - (rows - 1 - row) * cell_h + dy) * MM)
            draw(canvas)
            canvas.restoreState()
            if frame:
                canvas.setLineWidth(0.3)
                canvas.rect(margin_mm * MM, margin_mm * MM, cell_w * MM, cell_h * MM)
            if crosses:
                for x in (margin_mm, margin_mm + cell_w):
                    for y in (margin_mm, margin_mm + cell_h):
                        canvas.line((x - 3) * MM, y * MM, (x + 3) * MM, y * MM)
                        canvas.line(x * MM, (y - 3) * MM, x * MM, (y + 3) * MM)
            if mark is not None:
                mark(canvas, margin_mm, margin_mm, margin_mm + cell_w, margin_mm + cell_h)
            if furnish is not None:
                furnish(canvas, row, column, rows, columns)
            if name is not None:
                canvas.setFont("Helvetica", 12)
                canvas.drawString((margin_mm + 5) * MM, (margin_mm + 5) * MM, name(row, column, rows, columns))
            canvas.showPage()
    canvas.save()
    return out.getvalue()


def _x_at(edge: list[list[float]], height: float) -> float:
    for (x0, y0), (x1, y1) in pairwise(edge):
        if min(y0, y1) <= height <= max(y0, y1) and y0 != y1:
            return x0 + (x1 - x0) * (height - y0) / (y1 - y0)
    return edge[0][0]
