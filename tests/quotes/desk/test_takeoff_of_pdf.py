"""`takeoff` of PDF drawings from end to end: the figures are those of the same garment in a file that names its edges."""

from collections.abc import Callable
from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas
from support_commands import run
from support_pdf import A4, LETTER, MM, draw_panels, drawn_panels, one_page, polyline, tiled

FIXTURES = Path(__file__).parents[3] / "fixtures" / "patterns"
WITHOUT_PACKING = ("--effort", "none", "--json")


def counted(row: int, column: int, rows: int, columns: int) -> str:
    return f"Page {row * columns + column + 1} of {rows * columns}"


def is_the_same(found: dict, stem: str) -> None:
    """Areas, edges and waist as those of the fixture in JSON, within 0.5 % and 0.5 mm."""
    _, known = run("takeoff", FIXTURES / f"{stem}.json", *WITHOUT_PACKING)
    assert found["pattern"]["closed_waist_mm"] == pytest.approx(known["pattern"]["closed_waist_mm"], abs=0.5)
    for panel, other in zip(found["pattern"]["panels"], known["pattern"]["panels"], strict=True):
        assert panel["net_area_mm2"] == pytest.approx(other["net_area_mm2"], rel=0.005)
        for edge in ("front_mm", "back_mm", "top_mm", "bottom_mm", "waist_mm"):
            assert panel[edge] == pytest.approx(other[edge], abs=0.5)


def written(folder: Path, data: bytes) -> Path:
    path = folder / "drawing.pdf"
    path.write_bytes(data)
    return path


def sheet_of(stem: str) -> bytes:
    panels = drawn_panels(stem)
    return one_page(lambda canvas: draw_panels(canvas, panels))


def tiles_of(stem: str, paper: tuple[float, float], **how: object) -> bytes:
    panels = drawn_panels(stem)
    width = max(x for panel in panels for x, _ in panel.ring) + 20
    return tiled(lambda canvas: draw_panels(canvas, panels), width_mm=width, height_mm=430, paper=paper, **how)  # type: ignore[arg-type]


@pytest.mark.parametrize("stem", ["underbust", "overbust"])
@pytest.mark.parametrize(
    "make",
    [
        sheet_of,
        lambda stem: tiles_of(stem, A4, name=counted),
        lambda stem: tiles_of(stem, LETTER, frame=False, crosses=True, overlap_mm=10),
    ],
    ids=["one page", "A4 tiles", "Letter tiles with laps"],
)
def test_the_same_garment_in_a_pdf_gives_the_same_takeoff(
    tmp_path: Path, stem: str, make: Callable[[str], bytes]
) -> None:
    code, document = run("takeoff", written(tmp_path, make(stem)), *WITHOUT_PACKING)
    assert code == 0
    is_the_same(document, stem)


def nested(canvas: Canvas) -> None:
    """The underbust in two sizes told apart by colour and dash, the larger one 6 % wider, with a legend."""
    panels = drawn_panels(low=60)
    for step, (colour, dash, size) in enumerate((("#000000", [], "36"), ("#c00000", [6, 3], "40"))):
        canvas.setStrokeColor(colour)
        canvas.setDash(dash)
        for panel in panels:
            polyline(canvas, tuple((x * (1 + 0.06 * step), y) for x, y in panel.ring), close=True)
            polyline(canvas, tuple((x * (1 + 0.06 * step), y) for x, y in panel.waist), close=False)
        level = 25 - 12 * step
        polyline(canvas, ((30, level), (60, level)), close=False)
        canvas.setFont("Helvetica", 12)
        canvas.drawString(64 * MM, (level - 1.5) * MM, f"Size {size}")
    canvas.setFont("Helvetica", 24)
    for panel in panels:
        canvas.drawCentredString(panel.middle[0] * 1.03 * MM, panel.middle[1] * MM, str(panel.number))


def test_one_of_several_sizes_is_picked(tmp_path: Path) -> None:
    path = written(tmp_path, one_page(nested))
    code, document = run("takeoff", path, *WITHOUT_PACKING)
    (found,) = [finding for finding in document["findings"] if finding["severity"] == "stop"]
    assert (code, found["code"]) == (1, "pattern.several-sizes")
    assert "36, 40" in found["message"]
    assert "--size 36" in found["hint"]
    code, document = run("takeoff", path, "--size", "36", *WITHOUT_PACKING)
    assert code == 0
    is_the_same(document, "underbust")
    code, larger = run("takeoff", path, "--size", "40", *WITHOUT_PACKING)
    assert code == 0
    smaller = document["pattern"]["closed_waist_mm"]
    assert larger["pattern"]["closed_waist_mm"] == pytest.approx(1.06 * smaller, abs=0.5)


def test_a_missing_tile_is_named(tmp_path: Path) -> None:
    path = written(tmp_path, tiles_of("underbust", A4, name=counted, left_out=[(1, 0)]))
    code, document = run("takeoff", path, *WITHOUT_PACKING)
    assert code == 1
    (found,) = document["findings"]
    assert (found["code"], found["message"]) == ("pdf.page-missing", "Page 5 of 8 is missing.")
