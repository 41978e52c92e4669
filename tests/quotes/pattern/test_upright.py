"""Pieces that lie askew are measured as if they stood upright, whatever kind of file they come from."""

import io
import math

import ezdxf
import pytest
from support_assemble import CURVES, codes, read
from support_drawings import closed_waist, laid_out, svg, svg_d, turned
from support_panels import changed, drawn, redrawn

from inventory.ground.findings import Refused
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.geometry import turned as turned_line
from quotes.pattern.panels import EdgeName
from quotes.pattern.readers.child import read_here


def askew(degrees: float, *, with_grain: bool = True) -> Drawing:
    """Every piece turned one way and the next the other; the grain with it."""
    drawing = drawn(CURVES)
    for at in range(len(drawing.panels)):
        if with_grain:
            drawing = changed(drawing, at, grain=((0.0, -50.0), (0.0, 50.0)))
        by = degrees * (-1) ** at
        panel = redrawn(drawing.panels[at], lambda p, by=by: turned_line([p], by)[0])
        drawing = changed(drawing, at, **{key: getattr(panel, key) for key in ("stitching", "waist", "grain")})
    return drawing


@pytest.mark.parametrize("degrees", [1.0, 4.0, 15.0, 30.0, 44.0, 60.0, 90.0, -20.0])
def test_the_grain_turns_pieces_upright(degrees: float):
    pattern = read(askew(degrees)).pattern
    assert pattern.closed_waist_mm == pytest.approx(CURVES.closed_waist_mm, rel=1e-6)
    for panel, own in zip(pattern.panels, CURVES.panels, strict=True):
        assert panel.net_area_mm2 == pytest.approx(own.net_area_mm2)
        assert panel.edge_mm(EdgeName.FRONT) == pytest.approx(own.edge_mm(EdgeName.FRONT))


@pytest.mark.parametrize("degrees", [4.0, 15.0, 30.0])
def test_the_waist_line_turns_them_where_no_grain_is_drawn(degrees: float):
    pattern = read(askew(degrees, with_grain=False)).pattern
    assert pattern.closed_waist_mm == pytest.approx(CURVES.closed_waist_mm, rel=1e-6)


def test_without_either_they_are_refused():
    drawing = askew(15.0, with_grain=False)
    for at in range(len(drawing.panels)):
        drawing = changed(drawing, at, waist=None)
    assert codes(drawing) == ["pattern.askew"] * len(drawing.panels)


def test_a_piece_cut_off_grain_stays_as_it_stands():
    """45° is the bias; the waist line is level, so the piece stands."""
    drawing = changed(drawn(CURVES), 1, grain=((0.0, 0.0), (50.0, 50.0)))
    panel = read(drawing).pattern.panels[1]
    assert panel.grain_deg == pytest.approx(45.0)
    assert panel.outline == CURVES.panels[1].outline


def test_named_panels_of_an_svg_are_turned_too():
    body = []
    for panel in laid_out(gap=120):
        lying = turned(panel, 18 * (-1) ** panel.number)
        body.append(
            f'<g data-panel="{panel.number}"><path class="seam" d="{svg_d(lying.ring)}"/>'
            f'<path class="grain" d="{svg_d(lying.grain, close=False)}"/></g>'
        )
    reading = read_here(svg(body, box=(-100, -300, 1700, 600)), ".svg", "askew", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.005)


@pytest.mark.parametrize("degrees", [15, -35])
def test_blocks_that_a_dxf_places_askew_are_turned_too(degrees: float):
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    for panel in laid_out():
        block = document.blocks.new(f"PANEL-{panel.number}")
        block.add_lwpolyline(panel.ring, close=True, dxfattribs={"layer": "14"})
        block.add_line(*panel.grain, dxfattribs={"layer": "7"})
        block.add_line(*panel.waist, dxfattribs={"layer": "8"})
        document.modelspace().add_blockref(block.name, (0, 0), dxfattribs={"rotation": degrees})
    stream = io.StringIO()
    document.write(stream)
    reading = read_here(stream.getvalue().encode(), ".dxf", "askew", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=1e-4)
    assert math.isclose(reading.pattern.panels[0].grain_deg % 180, 90.0, abs_tol=0.01)


def test_a_refusal_names_how_far_it_tilts():
    drawing = askew(15.0, with_grain=False)
    drawing = changed(drawing, 0, waist=None)
    with pytest.raises(Refused) as refusal:
        read(drawing)
    assert "it leans by 15 degrees" in refusal.value.findings[0].message
