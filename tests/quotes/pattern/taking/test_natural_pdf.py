"""PDF drawings as people make them become the garment that was drawn; the fixture's own figures are the measure.

How people draw: common practice, no source. The files are reportlab's and pikepdf's.
"""

from collections.abc import Callable
from io import BytesIO
from itertools import pairwise

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name
from reportlab.pdfgen.canvas import Canvas
from shapely import Polygon
from support_pdf import A4, MM, areas, draw_panels, drawn_panels, one_page, polyline

from inventory.ground.findings import Refused, stops
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_here

PANELS = drawn_panels(low=8)
CLOSED_WAIST_MM = 604.93
"""What the fixture in JSON comes to."""


def read(data: bytes, **options: object) -> Reading:
    reading = read_here(data, ".pdf", "drawing", ReadOptions(**options), True)  # type: ignore[arg-type]
    assert isinstance(reading, Reading)
    return reading


def outlines(canvas: Canvas) -> None:
    for panel in PANELS:
        polyline(canvas, panel.ring, close=True)
        polyline(canvas, panel.waist, close=False)


def numbers(canvas: Canvas) -> None:
    canvas.setFont("Helvetica", 24)
    for panel in PANELS:
        canvas.drawCentredString(panel.middle[0] * MM, panel.middle[1] * MM, str(panel.number))


def plain(canvas: Canvas) -> None:
    draw_panels(canvas, PANELS)


def stitching_in_cut_lines(canvas: Canvas) -> None:
    canvas.setDash(4, 2)
    outlines(canvas)
    canvas.setDash()
    for panel in PANELS:
        polyline(canvas, tuple(Polygon(panel.ring).buffer(10, join_style="mitre").exterior.coords[:-1]), close=True)
    numbers(canvas)
    canvas.setFont("Helvetica", 14)
    canvas.drawString(50, 1050, "1 cm seam allowance included")


def segments_alone(canvas: Canvas) -> None:
    for panel in PANELS:
        for (x0, y0), (x1, y1) in pairwise((*panel.ring, panel.ring[0])):
            canvas.line(x0 * MM, y0 * MM, x1 * MM, y1 * MM)
        polyline(canvas, panel.waist, close=False)
    numbers(canvas)


def painted_areas(canvas: Canvas) -> None:
    canvas.setFillColorRGB(0.8, 0.9, 1)
    for panel in PANELS:
        path = canvas.beginPath()
        path.moveTo(panel.ring[0][0] * MM, panel.ring[0][1] * MM)
        for x, y in panel.ring[1:]:
            path.lineTo(x * MM, y * MM)
        path.close()
        canvas.drawPath(path, fill=1, stroke=0)
        polyline(canvas, panel.waist, close=False)
    canvas.setFillColorRGB(0, 0, 0)
    numbers(canvas)


def painted_pens(canvas: Canvas) -> None:
    """Outlines and waists turned into areas, as programs do with a pen's stroke."""
    for panel in PANELS:
        path = canvas.beginPath()
        for half in (0.2, -0.2):
            ring = Polygon(panel.ring).buffer(half, join_style="mitre").exterior.coords
            path.moveTo(ring[0][0] * MM, ring[0][1] * MM)
            for x, y in ring[1:]:
                path.lineTo(x * MM, y * MM)
            path.close()
        canvas.drawPath(path, fill=1, stroke=0, fillMode=0)
        (left, level), (right, _) = panel.waist
        canvas.rect(left * MM, (level - 0.2) * MM, (right - left) * MM, 0.4 * MM, stroke=0, fill=1)
    numbers(canvas)


def square_of_5_cm(canvas: Canvas) -> None:
    plain(canvas)
    canvas.rect(30 * MM, 345 * MM, 50 * MM, 50 * MM)
    canvas.setFont("Helvetica", 12)
    canvas.drawCentredString(55 * MM, 370 * MM, "5 cm")


def framed_and_titled(canvas: Canvas) -> None:
    plain(canvas)
    canvas.setFont("Helvetica", 18)
    canvas.drawString(50, 1080, "Willow, an underbust in 6 panels, size 10. Page 1")
    canvas.rect(5 * MM, 5 * MM, 1190 * MM, 390 * MM)


def grain_lines(canvas: Canvas) -> None:
    plain(canvas)
    for panel in PANELS:
        x, y = panel.middle
        canvas.line(x * MM, (y + 20) * MM, x * MM, (y + 90) * MM)


def layered() -> bytes:
    """A layer a panel, called by its number, and one that is off, with another outline over each panel."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(1200 * MM, 400 * MM))
    names = [*(f"Panel {panel.number}" for panel in PANELS), "old"]
    groups = [pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(name))) for name in names]
    content = []
    for at, panel in enumerate(PANELS):
        path = " ".join(f"{x * MM:.4f} {y * MM:.4f} {'l' if place else 'm'}" for place, (x, y) in enumerate(panel.ring))
        (x0, y0), (x1, y1) = panel.waist
        content.append(f"/OC /L{at} BDC {path} h S {x0 * MM:.4f} {y0 * MM:.4f} m {x1 * MM:.4f} {y1 * MM:.4f} l S EMC")
        content.append(f"/OC /L{len(PANELS)} BDC q 1 0 0 1 5 5 cm {path} h S Q EMC")
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream("\n".join(content).encode())
    page.Resources = Dictionary(Properties=Dictionary({f"/L{at}": group for at, group in enumerate(groups)}))
    pdf.Root.OCProperties = Dictionary(OCGs=Array(groups), D=Dictionary(OFF=Array([groups[-1]])))
    out = BytesIO()
    pdf.save(out)
    return out.getvalue()


def a_page_a_panel() -> bytes:
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4)
    for panel in PANELS:
        canvas.saveState()
        canvas.translate((60 - panel.ring[0][0]) * MM, 0)
        polyline(canvas, panel.ring, close=True)
        polyline(canvas, panel.waist, close=False)
        canvas.drawCentredString(panel.middle[0] * MM, panel.middle[1] * MM, f"Panel {panel.number}")
        canvas.restoreState()
        canvas.drawString(20, 8, f"Page {panel.number} of {len(PANELS)}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def two_panels_a_page() -> bytes:
    """Each pair begins at the same margin, so that a straight front edge ends what all pages draw to the left."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4, invariant=True)
    for first, second in zip(PANELS[::2], PANELS[1::2], strict=True):
        canvas.translate((7 - min(x for x, _ in first.ring)) * MM, 0)
        draw_panels(canvas, [first, second])
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def with_keys(data: bytes, **said: object) -> bytes:
    out = BytesIO()
    with pikepdf.open(BytesIO(data)) as pdf:
        for key, value in said.items():
            pdf.pages[0].obj[f"/{key}"] = value  # type: ignore[assignment]
        pdf.save(out)
    return out.getvalue()


def halved(canvas: Canvas) -> None:
    canvas.scale(0.5, 0.5)
    plain(canvas)


RIGHT: dict[str, Callable[[], bytes]] = {
    "numbers inside": lambda: one_page(plain),
    "stitching in cut lines": lambda: one_page(stitching_in_cut_lines),
    "segments alone": lambda: one_page(segments_alone),
    "painted areas": lambda: one_page(painted_areas),
    "painted pens": lambda: one_page(painted_pens),
    "a test square": lambda: one_page(square_of_5_cm),
    "a frame and a title": lambda: one_page(framed_and_titled),
    "grain lines": lambda: one_page(grain_lines),
    "no numbers": lambda: one_page(outlines),
    "a layer a panel": layered,
    "a page a panel": a_page_a_panel,
    "two panels a page": two_panels_a_page,
    "a quarter turned": lambda: with_keys(one_page(plain), Rotate=90),
    "upside down": lambda: with_keys(one_page(plain), Rotate=180),
    "a unit of its own": lambda: with_keys(one_page(halved), UserUnit=2),
}


@pytest.mark.parametrize("name", RIGHT)
def test_a_drawing_as_people_make_it_is_the_garment(name: str) -> None:
    pattern = read(RIGHT[name]()).pattern
    assert pattern.closed_waist_mm == pytest.approx(CLOSED_WAIST_MM, abs=0.5)
    assert [panel.net_area_mm2 for panel in pattern.panels] == pytest.approx(areas(PANELS), rel=0.005)


def shrunk(canvas: Canvas) -> None:
    canvas.scale(0.94, 0.94)
    square_of_5_cm(canvas)


def millimetres_as_points(canvas: Canvas) -> None:
    canvas.scale(1 / MM, 1 / MM)
    plain(canvas)


@pytest.mark.parametrize(
    ("draw", "code"), [(shrunk, "file.units-contradict"), (millimetres_as_points, "pattern.waist-unbelievable")]
)
def test_a_wrong_scale_is_caught(draw: Callable[[Canvas], None], code: str) -> None:
    with pytest.raises(Refused) as refusal:
        read(one_page(draw))
    assert code in {found.code for found in stops(refusal.value.findings)}
