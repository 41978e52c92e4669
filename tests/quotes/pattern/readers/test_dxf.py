"""Reading DXF against closed forms and the standards' layer and unit tables; every fault named."""

import contextlib
import math
import re
import signal
import subprocess

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_dxf import dxf_bytes, new_document, underbust_dxf
from support_patterns import block_a

from inventory.ground.findings import Refused
from quotes.pattern.assemble import assemble
from quotes.pattern.block import draw_block
from quotes.pattern.drawing import Drawing, ReadOptions
from quotes.pattern.geometry import length_mm, ring_area_mm2
from quotes.pattern.readers.chaining import chained
from quotes.pattern.readers.child import read_in_child
from quotes.pattern.readers.dxf import read
from quotes.pattern.truing import seams


def codes(data: bytes, **options: object) -> list[str]:
    with pytest.raises(Refused) as refusal:
        read(data, ReadOptions(**options))  # type: ignore[arg-type]
    return [finding.code for finding in refusal.value.findings]


def seam_lengths(drawing: Drawing) -> list[float]:
    return [round(seam.length_mm, 2) for seam in seams(assemble(drawing, ReadOptions()).pattern.panels)]


EXPECTED = [round(seam.length_mm, 2) for seam in seams(draw_block(block_a()).pattern.panels)]


def shape(add) -> Drawing:
    """Two panels, the first with a shape of its own on layer 14, read back."""
    document = new_document()
    for number in (1, 2):
        block = document.blocks.new(f"P-{number}")
        if number == 1:
            add(block)
        else:
            block.add_lwpolyline([(0, 0), (60, 0), (60, 200), (0, 200)], close=True, dxfattribs={"layer": "14"})
        document.modelspace().add_blockref(block.name, (0, 0))
    return read(dxf_bytes(document), ReadOptions())


def ring_length(drawing: Drawing) -> float:
    ring = drawing.panels[0].stitching or ()
    return length_mm((*ring, ring[0]))


def test_the_underbust_comes_back():
    assert seam_lengths(read(dxf_bytes(underbust_dxf()), ReadOptions())) == EXPECTED


def test_geo_01_layers_of_sewn_product_patterns():
    """ASTM D6673-10 / ANSI/AAMA-292: 1 boundary, 14 sew line, 2 turn points, 4 notches, 7 grain, 8 internal, 15 text."""

    def draw(block, number):
        block.add_lwpolyline([(-20, -170), (95, -170), (95, 150), (-20, 150)], close=True, dxfattribs={"layer": "1"})
        block.add_point((10, 0), dxfattribs={"layer": "4"})
        block.add_line((30, -40), (30, 40), dxfattribs={"layer": "7"})
        block.add_point((0, 0), dxfattribs={"layer": "13"})
        block.add_text(f"Piece Name: Panel {number}", dxfattribs={"layer": "15"})
        block.add_text("Quantity: 4", dxfattribs={"layer": "15"})

    panel = read(dxf_bytes(underbust_dxf(draw=draw)), ReadOptions()).panels[2]
    assert (panel.number, panel.quantity) == (3, 4)
    assert ring_area_mm2(panel.cut or ()) == pytest.approx(115 * 320)
    assert panel.grain is not None
    assert panel.waist is not None
    assert len(panel.notches) == 1


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_geo_03_insunits(code: int, mm: float):
    """DXF reference: $INSUNITS 1 in, 2 ft, 4 mm, 5 cm, 6 m; exact factors (GEO-06: the library's inch is off)."""
    document = new_document(code)
    for number in (1, 2):
        block = document.blocks.new(f"P-{number}")
        side = 200 / mm
        block.add_lwpolyline([(0, 0), (60 / mm, 0), (60 / mm, side), (0, side)], close=True, dxfattribs={"layer": "14"})
        document.modelspace().add_blockref(block.name, (0, 0))
    ring = read(dxf_bytes(document), ReadOptions()).panels[0].stitching or ()
    assert ring_area_mm2(ring) == pytest.approx(12_000, rel=1e-9)


def test_geo_04_round_trip_of_a_rectangle():
    """Rectangle 100 × 60 on layer 1, inner on 14: area 6000, no audit errors."""
    document = new_document()
    for number in (1, 2):
        block = document.blocks.new(f"PIECE-{number}")
        block.add_lwpolyline([(0, 0), (60, 0), (60, 100), (0, 100)], close=True, dxfattribs={"layer": "1"})
        block.add_lwpolyline([(10, 10), (50, 10), (50, 90), (10, 90)], close=True, dxfattribs={"layer": "14"})
        document.modelspace().add_blockref(block.name, (0, 0))
    assert not document.audit().errors
    panel = read(dxf_bytes(document), ReadOptions()).panels[0]
    assert ring_area_mm2(panel.cut or ()) == pytest.approx(6000)
    assert ring_area_mm2(panel.stitching or ()) == pytest.approx(3200)


def test_geo_05_bulge_is_a_semicircle():
    """DXF: bulge = tan(angle ÷ 4); bulge 1 over 10 is 5π."""
    drawing = shape(
        lambda block: block.add_lwpolyline(
            [(0, 0, 1), (10, 0, 0), (10, 100, 0), (0, 100, 0)], format="xyb", close=True, dxfattribs={"layer": "14"}
        )
    )
    assert ring_length(drawing) == pytest.approx(5 * math.pi + 100 + 10 + 100, abs=0.01)


def test_circle_ellipse_and_arc_keep_their_lengths():
    """2πr; Ramanujan's second formula for the ellipse (good to 1e-6 here)."""
    circle = shape(lambda block: block.add_circle((0, 0), 40, dxfattribs={"layer": "14"}))
    assert ring_length(circle) == pytest.approx(2 * math.pi * 40, abs=0.1)
    a, b = 60.0, 40.0
    h = ((a - b) / (a + b)) ** 2
    around = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    ellipse = shape(lambda block: block.add_ellipse((0, 0), (a, 0), b / a, dxfattribs={"layer": "14"}))
    assert ring_length(ellipse) == pytest.approx(around, abs=0.1)

    def half_round(block):
        block.add_arc((0, 0), 30, 0, 180, dxfattribs={"layer": "14"})
        block.add_line((-30, 0), (30, 0), dxfattribs={"layer": "14"})

    assert ring_length(shape(half_round)) == pytest.approx(math.pi * 30 + 60, abs=0.1)


def test_a_spline_through_a_bezier_keeps_its_length():
    """The cubic of GEO-19 has length 154.88679880318648."""

    def curve(block):
        block.add_open_spline([(0, 0), (0, 50), (50, 100), (100, 100)], degree=3, dxfattribs={"layer": "14"})
        block.add_lwpolyline([(100, 100), (100, 0), (0, 0)], dxfattribs={"layer": "14"})

    assert ring_length(shape(curve)) == pytest.approx(154.88679880318648 + 200, abs=0.1)


def test_an_outline_in_pieces_is_chained_in_any_order_and_direction():
    corners = [(0.0, 0.0), (60.0, 0.0), (62.0, 200.0), (-2.0, 200.0)]
    lines = [(corners[2], corners[1]), (corners[3], (0.2, 0.1)), (corners[0], corners[1]), (corners[3], corners[2])]
    rings, still_open = chained(lines)
    assert (len(rings), len(still_open)) == (1, 0)
    assert ring_area_mm2(rings[0]) == pytest.approx(12_400, rel=0.01)
    assert chained([((0, 0), (10, 0)), ((10.6, 0), (10, 10))])[0] == ()


def test_inserts_with_scale_rotation_and_mirror_are_resolved():
    document = new_document()
    base = draw_block(block_a()).pattern.panels
    for panel in base:
        block = document.blocks.new(f"PIECE-{panel.number}")
        block.add_lwpolyline([(x / 2, y / 2) for x, y in panel.outline], close=True, dxfattribs={"layer": "14"})
        for sign in (1, -1):
            document.modelspace().add_blockref(
                block.name, (500.0 * sign, 40.0), dxfattribs={"xscale": 2 * sign, "yscale": 2, "rotation": 0}
            )
    found = assemble(read(dxf_bytes(document), ReadOptions()), ReadOptions())
    assert [round(seam.length_mm, 2) for seam in seams(found.pattern.panels)] == EXPECTED
    assert found.pattern.right_panels is None


def test_a_plain_drawing_with_numbers_inside():
    document = new_document()
    x = 0.0
    for panel in draw_block(block_a()).pattern.panels:
        ring = [(px + x, py) for px, py in panel.outline]
        document.modelspace().add_lwpolyline(ring, close=True)
        document.modelspace().add_text(str(panel.number)).set_placement((x + 35, 40))
        x += 120
    frame = [(-50, -300), (900, -300), (900, 300), (-50, 300)]
    document.modelspace().add_lwpolyline(frame, close=True)
    drawing = read(dxf_bytes(document), ReadOptions())
    assert seam_lengths(drawing) == EXPECTED
    assert [finding.code for finding in drawing.findings] == ["dxf.frame"]


def test_units_by_text_and_their_contradictions():
    document = underbust_dxf(units=None)
    assert codes(dxf_bytes(document)) == ["file.no-units"]
    document.modelspace().add_text("UNITS: METRIC")
    assert seam_lengths(read(dxf_bytes(document), ReadOptions())) == EXPECTED
    document = underbust_dxf(units=1)
    document.modelspace().add_text("UNITS: METRIC")
    assert codes(dxf_bytes(document)) == ["file.units-contradict"]
    assert seam_lengths(read(dxf_bytes(document), ReadOptions(units="mm"))) == EXPECTED


@pytest.mark.parametrize("share", [0.1, 0.5, 0.75, 0.99])
def test_a_file_that_was_cut_off_is_refused(share: float):
    data = dxf_bytes(underbust_dxf())
    assert codes(data[: int(len(data) * share)]) == ["dxf.cut-off"]


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"AutoCAD Binary DXF\r\n\x1a\x00rest", "dxf.binary"),
        (b"\x00\x01\x02 SECTION", "dxf.not-dxf"),
        (b"hello there", "dxf.not-dxf"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\n1OO.0\n  0\nENDSEC\n  0\nEOF\n", "dxf.broken"),
    ],
)
def test_what_is_no_dxf_is_refused(data: bytes, code: str):
    assert codes(data, units="mm") == [code]


def test_numbers_that_are_none_are_refused():
    data = dxf_bytes(underbust_dxf()).decode()
    head, mark, rest = data.partition("AcDbPolyline")
    broken = head + mark + re.sub(r"( 10\n)[-0-9.]+(\n 20\n)", r"\g<1>1e999\g<2>", rest, count=1)
    assert codes(broken.encode()) in (["pattern.not-finite"], ["dxf.broken"])


@pytest.mark.parametrize("comment", ["", "999\nDrawn with\x0bcare\n"], ids=["plain", "odd ends of lines in a text"])
def test_a_curve_through_no_number_is_refused_with_its_line(comment: str):
    """The library would divide such a curve without end; it reads a line up to its line feed."""
    bezier = [(0, 0), (0, -10), (float("nan"), -10), (70, 0)]
    document = new_document()
    document.modelspace().add_open_spline(bezier)
    data = comment.encode() + dxf_bytes(document)
    with pytest.raises(Refused) as refused:
        read(data, ReadOptions(units="mm"))
    (found,) = refused.value.findings
    line = int(found.where.removeprefix("file, line "))
    assert data.decode().split("\n")[line - 1].strip() == "nan"


def test_a_cut_out_in_a_panel_is_refused_with_a_word_why():
    def draw(block, number):
        if number == 2:
            block.add_circle((30, 50), 5, dxfattribs={"layer": "11"})

    assert codes(dxf_bytes(underbust_dxf(draw=draw))) == ["dxf.cut-out"]


def test_blocks_that_multiply_or_hold_themselves_are_refused_before_they_are_resolved():
    document = new_document()
    block = document.blocks.new("P-1")
    block.add_lwpolyline([(0, 0), (60, 0), (60, 200)], close=True, dxfattribs={"layer": "14"})
    copies = {"row_count": 20_000, "column_count": 5_000, "row_spacing": 1, "column_spacing": 1}
    document.modelspace().add_blockref("P-1", (0, 0), dxfattribs=copies)
    assert codes(dxf_bytes(document)) == ["dxf.too-many"]
    looped = new_document()
    inner = looped.blocks.new("P-1")
    inner.add_blockref("P-1", (1, 1))
    looped.modelspace().add_blockref("P-1", (0, 0))
    with pytest.raises(Refused) as refusal:
        read(dxf_bytes(looped), ReadOptions())
    assert [(found.code, found.where) for found in refusal.value.findings] == [("dxf.broken", "file")]
    assert "reference cycle" in refusal.value.findings[0].message


def test_an_open_outline_is_refused_with_its_ends():
    document = new_document()
    for number in (1, 2):
        block = document.blocks.new(f"P-{number}")
        block.add_lwpolyline([(0, 0), (60, 0), (60, 200), (0, 200), (0, 2)], dxfattribs={"layer": "14"})
        document.modelspace().add_blockref(block.name, (0, 0))
    with pytest.raises(Refused) as refusal:
        read(dxf_bytes(document), ReadOptions())
    assert "0.5 mm" in refusal.value.findings[0].message


def test_an_empty_drawing_is_refused():
    assert codes(dxf_bytes(ezdxf.new("R2000")), units="mm") == ["pattern.no-panels"]


@settings(max_examples=40)
@given(st.binary(max_size=300), st.integers(0, 5000))
def test_damage_is_refused_or_read_but_never_breaks(noise: bytes, place: int):
    data = dxf_bytes(underbust_dxf())
    place %= len(data)
    with contextlib.suppress(Refused):
        read(data[:place] + noise + data[place + len(noise) :], ReadOptions())


def test_a_waist_line_may_end_at_the_stitching_line_inside_a_cut_line():
    """Where only the cut line (layer 1) is drawn, an internal line to the stitching line still marks the waist."""
    document = new_document()
    for number in (1, 2):
        block = document.blocks.new(f"PIECE-{number}")
        block.add_lwpolyline([(0, 0), (100, 0), (100, 260), (0, 260)], close=True, dxfattribs={"layer": "1"})
        block.add_line((12.7, 120), (87.3, 120), dxfattribs={"layer": "8"})
        document.modelspace().add_blockref(block.name, (number * 200, 0))
    drawing = read(dxf_bytes(document), ReadOptions())
    pattern = assemble(drawing, ReadOptions(seam_allowance_mm=12.7)).pattern
    assert [panel.waist_mm - panel.bottom[0][1] for panel in pattern.panels] == pytest.approx([107.3, 107.3])


def test_a_block_that_gathers_the_pieces_is_opened():
    """One style per file, one block per piece (ASTM D6673); some files put the whole style into a block of its own."""
    document = underbust_dxf()
    style = document.blocks.new("STYLE")
    for insert in list(document.modelspace()):
        style.add_blockref(insert.dxf.name, insert.dxf.insert)
        document.modelspace().delete_entity(insert)
    document.modelspace().add_blockref("STYLE", (40, 30))
    assert seam_lengths(read(dxf_bytes(document), ReadOptions())) == EXPECTED


@pytest.mark.parametrize("ended_by", ["the clock", "the processor's limit"])
def test_a_file_that_takes_too_much_work_is_refused_in_a_sentence(ended_by: str, monkeypatch: pytest.MonkeyPatch):
    """setrlimit(2): a process that has used up its processor time is sent SIGXCPU."""

    def run(*args: object, timeout: float, **kwargs: object) -> subprocess.CompletedProcess[bytes]:
        if ended_by == "the clock":
            raise subprocess.TimeoutExpired("reader", timeout)
        return subprocess.CompletedProcess([], -signal.SIGXCPU, b"", b"")

    monkeypatch.setattr("inventory.ground.confined.subprocess.run", run)
    with pytest.raises(Refused, match=r"could not be read within (30 seconds\.|5 seconds of work)"):
        read_in_child(b"0\nEOF\n", ".dxf", "slow.dxf", ReadOptions(), assembled=True)
