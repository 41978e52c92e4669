"""What a free DXF shows: layers, blocks, words, by the DXF reference; places and colours also as ezdxf resolves them."""

from collections.abc import Callable
from typing import Any

import ezdxf
import pytest
from ezdxf.addons.drawing.properties import RenderContext
from support_drawings import dxf_bytes

from inventory.ground.findings import Refused
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.dxf_sheet import read_sheet
from quotes.pattern.sheet import Label, Sheet

Draw = Callable[[Any, Any], object]


def made(draw: Draw, units: int = 4) -> bytes:
    document = ezdxf.new("R2010", setup=["linetypes"])
    document.header["$INSUNITS"] = units
    draw(document, document.modelspace())
    return dxf_bytes(document)


def read(draw: Draw, **options: Any) -> Sheet:
    return read_sheet(made(draw), ReadOptions(**options))


def lines(sheet: Sheet) -> list[list[tuple[float, float]]]:
    return [[(round(x, 6), round(y, 6)) for x, y in stroke.line] for stroke in sheet.strokes]


def block_on(layer: str, inside: str, *, off: str = "", frozen: str = "") -> Draw:
    """A block with a line on layer `inside`, placed on layer `layer`; the line of 9 is always seen."""

    def draw(document: Any, space: Any) -> None:
        for name in {layer, inside, off, frozen} - {"", "0"}:
            document.layers.add(name)
        if off:
            document.layers.get(off).off()
        if frozen:
            document.layers.get(frozen).freeze()
        block = document.blocks.new("Front")
        block.add_line((0, 0), (5, 0), dxfattribs={"layer": inside})
        space.add_blockref("Front", (100, 0), dxfattribs={"layer": layer})
        space.add_line((0, 0), (9, 0))

    return draw


@pytest.mark.parametrize(
    ("inside", "off", "frozen", "is_seen"),
    [
        ("0", "", "", True),
        ("0", "draft", "", False),
        ("0", "", "draft", False),
        ("seams", "draft", "", True),
        ("seams", "", "draft", False),
        ("seams", "seams", "", False),
        ("seams", "", "seams", False),
    ],
)
def test_a_block_on_a_layer_that_is_off_or_frozen(inside: str, off: str, frozen: str, is_seen: bool):
    """Layer 0 of a block is seen on the insert's layer; one that is off leaves the block's own layers, a frozen one does not."""
    found = lines(read(block_on("draft", inside, off=off, frozen=frozen)))
    assert ([(100, 0), (105, 0)] in found) == is_seen
    assert [(0, 0), (9, 0)] in found


def test_what_a_block_draws_on_layer_0_is_on_the_layer_where_it_is_placed():
    def draw(document: Any, space: Any) -> None:
        document.layers.add("Size 10", color=1, linetype="DASHED")
        document.blocks.new("Front").add_line((0, 0), (5, 0))
        space.add_blockref("Front", (0, 0), dxfattribs={"layer": "Size 10"})

    document = ezdxf.new("R2010", setup=["linetypes"])
    draw(document, document.modelspace())
    (stroke,) = read(draw).strokes
    assert stroke.layers == ("Front", "Size 10")
    insert = document.modelspace()[0]
    context = RenderContext(document)
    context.push_state(context.resolve_all(insert))
    seen = context.resolve_all(next(iter(insert.virtual_entities())))
    assert stroke.colour == seen.color[:7].lower() == "#ff0000"
    assert stroke.dash == pytest.approx(tuple(seen.linetype_pattern))


@pytest.mark.parametrize(
    ("dress", "colour"),
    [
        ({"color": 3}, "#00ff00"),
        ({"layer": "red"}, "#ff0000"),
        ({"layer": "nowhere"}, "#ffffff"),
        ({"true_color": 0x123456}, "#123456"),
    ],
)
def test_colours(dress: dict[str, Any], colour: str):
    def draw(document: Any, space: Any) -> None:
        document.layers.add("red", color=1)
        space.add_line((0, 0), (9, 0), dxfattribs=dress)

    assert read(draw).strokes[0].colour == colour


@pytest.mark.parametrize(
    ("linetype", "is_dashed"), [("DASHED", True), ("CONTINUOUS", False), ("BYLAYER", False), ("gone", False)]
)
def test_dashes(linetype: str, is_dashed: bool):
    sheet = read(lambda _, space: space.add_line((0, 0), (9, 0), dxfattribs={"linetype": linetype}))
    assert bool(sheet.strokes[0].dash) == is_dashed


def test_blocks_that_are_placed_nowhere_are_what_is_drawn():
    def draw(document: Any, space: Any) -> None:
        document.blocks.new("Panel 1").add_line((0, 0), (5, 0))
        document.blocks.new("empty")
        space.add_text("a note", height=3)

    sheet = read(draw)
    assert [stroke.layers for stroke in sheet.strokes] == [("Panel 1",)]
    assert [label.text for label in sheet.labels] == ["a note"]


def test_rows_of_copies_attributes_and_notches():
    def draw(document: Any, space: Any) -> None:
        block = document.blocks.new("Front")
        block.add_line((0, 0), (5, 0))
        block.add_point((5, 0))
        insert = space.add_blockref("Front", (10, 0))
        insert.grid(size=(1, 2), spacing=(0, 100))
        insert.add_attrib("NUMBER", "3", (12, 2))

    sheet = read(draw)
    assert lines(sheet) == [[(10, 0), (15, 0)], [(110, 0), (115, 0)]]
    assert sheet.notches == ((15.0, 0.0), (115.0, 0.0))
    assert {label.text for label in sheet.labels} == {"3"}


def test_a_kind_of_entity_that_nobody_knows_hinders_nothing():
    """Programs write kinds of their own (DXF reference, group code 0)."""
    data = made(lambda _, space: [space.add_line((0, 0), (9, 0)), space.add_line((0, 5), (9, 5))])
    assert lines(read_sheet(data.replace(b"\nLINE\n", b"\nMAKERS_MARK\n", 1), ReadOptions())) == [[(0, 5), (9, 5)]]


def test_a_curve_without_measure_is_refused_before_it_is_drawn():
    with pytest.raises(Refused) as refusal:
        read(lambda _, space: space.add_circle((0, 0), 1e12))
    assert refusal.value.findings[0].code == "pattern.size"


@pytest.mark.parametrize("kind", ["nothing", "a spot", "no length", "a bulge without end"])
def test_what_is_no_line_is_left_out(kind: str):
    def draw(_: Any, space: Any) -> None:
        space.add_line((0, 0), (9, 0))
        if kind == "nothing":
            space.add_lwpolyline([])
        elif kind == "a bulge without end":
            space.add_lwpolyline([(0, 0, 1e20), (5, 5, 0)], format="xyb")
        elif kind == "a spot":
            space.add_line((3, 3), (3, 3))
        else:
            space.add_lwpolyline([(3, 3), (3, 3)], close=True)

    assert lines(read(draw)) == [[(0, 0), (9, 0)]]


def label_of(draw: Draw) -> Label:
    def with_line(document: Any, space: Any) -> None:
        space.add_line((0, 0), (9, 0))
        draw(document, space)

    (label,) = read(with_line).labels
    return label


@pytest.mark.parametrize(("align", "ahead"), [("LEFT", 1), ("CENTER", 0), ("RIGHT", -1), ("MIDDLE_LEFT", 1)])
def test_the_middle_of_a_word_by_how_it_is_aligned(align: str, ahead: int):
    from ezdxf.enums import TextEntityAlignment

    where = TextEntityAlignment[align]
    label = label_of(lambda _, space: space.add_text("1234", height=10).set_placement((100, 50), align=where))
    assert (label.at[0] > 100) - (label.at[0] < 100) == ahead
    assert label.height == 10


@pytest.mark.parametrize(("attachment", "ahead"), [(1, 1), (5, 0), (6, -1)])
def test_texts_of_several_lines_stand_under_each_other(attachment: int, ahead: int):
    def draw(_: Any, space: Any) -> None:
        space.add_line((0, 0), (9, 0))
        text = space.add_mtext("1234\\P\\Pcut", dxfattribs={"char_height": 10, "attachment_point": attachment})
        text.set_location((100, 50))

    first, second = read(draw).labels
    assert (first.text, second.text) == ("1234", "cut")
    assert (first.at[0] > 100) - (first.at[0] < 100) == ahead
    assert first.at[1] > second.at[1]


def test_a_text_that_is_turned_goes_upwards():
    label = label_of(lambda _, space: space.add_text("1234", height=10, rotation=90).set_placement((100, 50)))
    assert label.at[0] == pytest.approx(95)
    assert label.at[1] > 50


@pytest.mark.parametrize(
    ("units", "scale"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (0, None), (9, None)]
)
def test_the_unit_of_the_header(units: int, scale: float | None):
    """DXF reference, $INSUNITS: 1 inches, 2 feet, 4 millimetres, 5 centimetres, 6 metres; 9 are mils, which no pattern is in."""
    sheet = read_sheet(made(lambda _, space: space.add_line((0, 0), (9, 0)), units), ReadOptions())
    assert sheet.mm_per_unit == (None if scale is None else pytest.approx(scale))


def contradicting(_: Any, space: Any) -> None:
    space.add_line((0, 0), (9, 0))
    space.add_text("UNITS: ENGLISH")


def test_units_that_contradict_each_other_are_the_makers_to_say():
    with pytest.raises(Refused) as refusal:
        read(contradicting)
    assert refusal.value.findings[0].code == "file.units-contradict"
    assert read(contradicting, units="cm").mm_per_unit is None
