"""DXF drawings piece by piece: numbers, names, waists and units, and each fault in one sentence."""

import pytest
from ezdxf.document import Drawing as Document
from support_dxf import dxf_bytes, new_document

from inventory.ground.findings import Refused
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import ring_area_mm2
from quotes.pattern.readers.dxf import read

RING = [(0, 0), (60, 0), (60, 200), (0, 200)]


def two_pieces(units: int = 4, *, placed: bool = True) -> Document:
    document = new_document(units)
    for number in (1, 2):
        block = document.blocks.new(f"PIECE-{number}")
        block.add_lwpolyline(RING, close=True, dxfattribs={"layer": "14"})
        if placed:
            document.modelspace().add_blockref(block.name, (0, 0))
    return document


def lines_without_outline() -> Document:
    document = new_document()
    document.blocks.new("PIECE-1").add_line((0, 0), (5, 5), dxfattribs={"layer": "8"})
    document.modelspace().add_blockref("PIECE-1", (0, 0))
    return document


def two_numbers_inside() -> Document:
    document = new_document()
    document.modelspace().add_lwpolyline(RING, close=True)
    document.modelspace().add_text("1").set_placement((10, 50))
    document.modelspace().add_mtext("{\\fArial;Panel 2}").set_location((10, 90))
    return document


@pytest.mark.parametrize(
    ("document", "code", "where", "message"),
    [
        # DXF reference, $INSUNITS: 13 is the micron, which nobody cuts by.
        (two_pieces(13), "file.unknown-units", "$INSUNITS", "Drawing units of code 13 are not read."),
        (two_pieces(6), "pattern.size", 'block "PIECE-1"', "A point lies 200 m from the origin; 100 m is believed."),
        (lines_without_outline(), "pattern.outline-open", 'block "PIECE-1"', "The piece has no closed outline; its ends lie more than 0.5 mm apart."),
        (two_numbers_inside(), "pattern.number-ambiguous", "outline at (0, 0) mm", "The outline has several numbers inside: 1, 2."),
    ],
)  # fmt: skip
def test_each_fault_of_a_drawing_is_one_sentence_with_its_place(
    document: Document, code: str, where: str, message: str
):
    """The product's own rule, but where the reference is named."""
    with pytest.raises(Refused) as refusal:
        read(dxf_bytes(document), ReadOptions())
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [(code, where, message)]


def test_the_makers_unit_is_taken_where_the_file_says_one_that_is_not_read():
    drawing = read(dxf_bytes(two_pieces(13)), ReadOptions(units="mm"))
    assert ring_area_mm2(drawing.panels[0].stitching or ()) == pytest.approx(12_000)
    assert drawing.findings == ()


def test_pieces_that_are_only_kept_as_blocks_are_read_and_blocks_of_words_are_not():
    document = two_pieces(placed=False)
    document.blocks.new("NOTES").add_text("Style 7")
    assert [panel.number for panel in read(dxf_bytes(document), ReadOptions()).panels] == [1, 2]


def test_a_block_inside_a_piece_lies_where_it_is_placed():
    document = two_pieces()
    outer = document.blocks.new("COPY")
    outer.add_blockref("PIECE-1", (5, 7))
    outer.add_text("Piece Name: Panel 3")
    document.modelspace().add_blockref("COPY", (100, 0))
    panel = read(dxf_bytes(document), ReadOptions()).panels[2]
    assert (panel.number, min(panel.stitching or ())) == (3, (105.0, 7.0))


def test_a_name_without_a_number_leaves_the_number_to_the_block():
    document = two_pieces()
    document.blocks.get("PIECE-1").add_text("Piece Name: Centre front")
    panel = read(dxf_bytes(document), ReadOptions()).panels[0]
    assert (panel.number, panel.name) == (1, "Centre front")


def test_of_two_internal_lines_the_one_beside_the_word_is_the_waist():
    document = two_pieces()
    block = document.blocks.get("PIECE-1")
    for height in (50, 90):
        block.add_line((0, height), (60, height), dxfattribs={"layer": "8"})
    block.add_text("Waist").set_placement((20, 92))
    assert read(dxf_bytes(document), ReadOptions()).panels[0].waist == ((0.0, 90.0), (60.0, 90.0))


def test_a_line_of_one_point_and_a_filled_area_draw_nothing():
    document = two_pieces()
    block = document.blocks.get("PIECE-1")
    block.add_lwpolyline([(4, 4)], dxfattribs={"layer": "14"})
    block.add_solid([(1, 1), (2, 2), (3, 1)], dxfattribs={"layer": "14"})
    plain = read(dxf_bytes(two_pieces()), ReadOptions())
    assert read(dxf_bytes(document), ReadOptions()).panels == plain.panels


def test_a_panel_number_in_a_text_of_several_lines_is_read():
    document = new_document()
    for number, x in ((1, 0), (2, 100)):
        document.modelspace().add_lwpolyline([(px + x, py) for px, py in RING], close=True)
        document.modelspace().add_mtext(f"{{\\fArial;Panel {number}}}\\Pcut 2").set_location((x + 10, 90))
    drawing = read(dxf_bytes(document), ReadOptions())
    assert [panel.number for panel in drawing.panels] == [1, 2]
