"""DXF drawings as makers make them become the pattern that they show; areas reckoned by ezdxf and the geometry library."""

from dataclasses import replace

import ezdxf
import pytest
from support_drawings import (
    closed_waist,
    dxf_areas,
    dxf_bytes,
    dxf_square,
    laid_out,
    moved_by,
    panels_of,
    plain_dxf,
    seam_lengths,
    turned,
)

from inventory.ground.findings import Refused
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_here
from quotes.pattern.truing import seams

PANELS = laid_out()
PLACES = ("CF", "front", "side front", "side", "side back", "CB")
PT = 72 / 25.4


def ticks(document, space):
    """Edge ticks at the waist, on a layer that no standard knows."""
    for panel in PANELS:
        for (x, y), inwards in zip(panel.waist, (1, -1), strict=True):
            space.add_line((x, y), (x + inwards * 6, y), dxfattribs={"layer": "marks"})


def hidden(document, space):
    document.layers.add("old draft").off()
    for panel in PANELS:
        space.add_lwpolyline(moved_by(panel, 4).ring, close=True, dxfattribs={"layer": "old draft"})


ASKEW = [turned(panel, 12 * (-1) ** panel.number) for panel in laid_out(gap=120)]


def grain(layer: str):
    def add(document, space):
        for panel in ASKEW:
            space.add_line(*panel.grain, dxfattribs={"layer": layer})

    return add


DRAWINGS = {
    "numbers as text": (plain_dxf(PANELS), 1.0),
    "a test square of 5 cm": (plain_dxf(PANELS, extra=dxf_square(0, -300, 50, "5 cm")), 1.0),
    "a test square and no unit": (plain_dxf(PANELS, units=None, extra=dxf_square(0, -300, 50, "5 cm")), 1.0),
    "in inches": (plain_dxf(laid_out(scale=1 / 25.4), units=1, scale=1 / 25.4), 25.4),
    "in centimetres": (plain_dxf(laid_out(scale=0.1), units=5, scale=0.1), 10.0),
    "layers carry the numbers": (plain_dxf(PANELS, layer=lambda p: f"Panel {p.number}", words=lambda p: ""), 1.0),
    "layers carry them, texts say cut 2": (
        plain_dxf(PANELS, layer=lambda p: f"P{p.number}", words=lambda p: "Cut 2"),
        1.0,
    ),
    "blocks carry the numbers": (
        plain_dxf(PANELS, block=lambda p: f"panel_{p.number}", words=lambda p: "cut 2"),
        1.0,
    ),
    "blocks are named by place": (
        plain_dxf(PANELS, block=lambda p: PLACES[p.number - 1], words=lambda p: ""),
        1.0,
    ),
    "edge ticks on a layer of their own": (plain_dxf(PANELS, waist=False, extra=ticks), 1.0),
    "a layer that is off": (plain_dxf(PANELS, extra=hidden), 1.0),
    "layers 1 to 6": (plain_dxf(PANELS, layer=lambda p: str(p.number), words=lambda p: "Cut 2"), 1.0),
    "without numbers, in a row that trues": (plain_dxf(PANELS, words=lambda p: ""), 1.0),
    "askew, grain on a named layer": (plain_dxf(ASKEW, extra=grain("grain"), waist=False), 1.0),
    "askew, grain on the standard's layer": (plain_dxf(ASKEW, extra=grain("7"), waist=False), 1.0),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_natural_drawing_becomes_its_pattern(name: str):
    data, mm_per_unit = DRAWINGS[name]
    reading = read_here(data, ".dxf", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    pattern = reading.pattern
    assert pattern.panels_per_half == 6
    own = dxf_areas(data, mm_per_unit)[:6]
    assert [panel.net_area_mm2 for panel in pattern.panels] == pytest.approx(own, rel=0.005)
    for seam, (back, front) in zip(seams(pattern.panels), seam_lengths(), strict=True):
        assert seam.length_mm == pytest.approx(back, abs=0.5)
        assert seam.other_length_mm == pytest.approx(front, abs=0.5)
    assert pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.005)


def test_outlines_in_four_lines_are_chained():
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for said in panels_of("underbust"):
        for name in ("front", "back", "top", "bottom"):
            space.add_lwpolyline([(x + 150 * said["number"], y) for x, y in said[name]])
        space.add_text(str(said["number"]), height=10).set_placement((150 * said["number"] + 25, 50))
    reading = read_here(dxf_bytes(document), ".dxf", "four", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.005)


@pytest.mark.parametrize(("units", "scale"), [("pt", PT), ("px", 96 / 25.4)])
def test_a_drawing_in_points_is_read_so_when_the_maker_says_it(units: str, scale: float):
    data = plain_dxf(laid_out(scale=scale), scale=scale)
    reading = read_here(data, ".dxf", "points", ReadOptions(units=units), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.001)


@pytest.mark.parametrize("layers", [("0", "0"), ("cut", "sew")])
def test_a_line_in_its_cut_line_is_the_stitching_line_on_any_layer(layers: tuple[str, str]):
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for panel in laid_out(allowance=10):
        space.add_lwpolyline(panel.cut, close=True, dxfattribs={"layer": layers[0]})
        space.add_lwpolyline(panel.ring, close=True, dxfattribs={"layer": layers[1]})
        space.add_line(*panel.waist)
        space.add_text(str(panel.number), height=8).set_placement((panel.middle[0], panel.middle[1] + 40))
    data = dxf_bytes(document)
    reading = read_here(data, ".dxf", "nested", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(
        dxf_areas(data, 1.0)[1::2], rel=1e-4
    )


def sizes(dress) -> bytes:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for place, factor in enumerate((0.94, 1.0, 1.06)):
        for panel in laid_out(gap=90):
            x, y = panel.middle
            ring = [(x + (px - x) * factor, y + (py - y) * factor) for px, py in panel.ring]
            space.add_lwpolyline(ring, close=True, dxfattribs=dress(place))
    for panel in laid_out(gap=90):
        space.add_text(str(panel.number), height=8).set_placement(panel.middle)
    return dxf_bytes(document)


@pytest.mark.parametrize(
    ("dress", "names"),
    [
        (lambda place: {"layer": "SML"[place]}, ("S", "M", "L")),
        (lambda place: {"color": (1, 3, 5)[place]}, ("red", "green", "blue")),
        (lambda place: {"layer": f"Size {34 + 2 * place}"}, ("34", "36", "38")),
    ],
)
def test_sizes_in_each_other_are_told_and_picked(dress, names: tuple[str, ...]):
    data = sizes(dress)
    with pytest.raises(Refused) as refusal:
        read_here(data, ".dxf", "sizes", ReadOptions(), True)
    assert f"3 sizes lie in each other: {', '.join(names)}" in refusal.value.findings[0].message
    for place, name in enumerate(names):
        reading = read_here(data, ".dxf", "sizes", ReadOptions(size=name), True)
        assert isinstance(reading, Reading)
        own = dxf_areas(data, 1.0)[6 * place : 6 * place + 6]
        assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(own, rel=1e-4)


def words(text: str):
    return lambda document, space: space.add_text(text, height=8).set_placement((200, -260))


@pytest.mark.parametrize(
    ("extra", "layer", "options"),
    [
        (words("1 cm seam allowance included"), "0", {}),
        (words("mind the iron"), "CUTTING", {"seam_allowance_mm": 10.0}),
        (words("Cutting lines"), "0", {"seam_allowance_mm": 10.0}),
    ],
)
def test_a_plain_drawing_that_calls_its_lines_cut_lines_is_read_so(extra, layer: str, options: dict):
    cut = [replace(panel, ring=panel.cut) for panel in laid_out(allowance=10)]
    data = plain_dxf(cut, layer=lambda p: layer, extra=extra)
    reading = read_here(data, ".dxf", "cut", ReadOptions(**options), True)
    assert isinstance(reading, Reading)
    expected = dxf_areas(plain_dxf(PANELS), 1.0)
    assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(expected, rel=0.005)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), abs=0.5)


@pytest.mark.parametrize(("layer", "extra"), [("cut line", None), ("0", words("CUT LINE"))])
def test_cut_lines_without_an_allowance_ask_for_it(layer: str, extra):
    cut = [replace(panel, ring=panel.cut) for panel in laid_out(allowance=10)]
    with pytest.raises(Refused) as refusal:
        read_here(plain_dxf(cut, layer=lambda p: layer, extra=extra), ".dxf", "cut", ReadOptions(), True)
    assert {finding.code for finding in refusal.value.findings} == {"pattern.cut-line-without-allowance"}
