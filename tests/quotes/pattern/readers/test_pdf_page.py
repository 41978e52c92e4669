"""A page of a PDF is read as lines at true scale, as ISO 32000 says; figures by closed forms and by pypdf, another reader."""

import math
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pikepdf
import pypdf
import pytest
from pikepdf import Array, Dictionary, Name
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas
from support_pdf import MM, draw_panels, drawn_panels, one_page

from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import ring_area_mm2
from quotes.pattern.readers.pdf import read_sheet
from quotes.pattern.sheet import Sheet, Stroke

MM_PER_POINT = 25.4 / 72


def read(data: bytes) -> Sheet:
    return read_sheet(data, ReadOptions())


def page_of(content: bytes, resources: Callable[[pikepdf.Pdf], Dictionary] | None = None, **said: Any) -> bytes:
    """A page of 600 by 800 points with this content; `said` are keys of the page."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(600, 800))
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(content)
    if resources is not None:
        page.Resources = resources(pdf)
    for key, value in said.items():
        page[f"/{key}"] = value
    out = BytesIO()
    pdf.save(out)
    return out.getvalue()


def only(sheet: Sheet) -> Stroke:
    (stroke,) = sheet.strokes
    return stroke


def in_points(stroke: Stroke) -> list[tuple[float, float]]:
    return [(round(x / MM_PER_POINT, 3), round(y / MM_PER_POINT, 3)) for x, y in stroke.line]


def areas_by_pypdf(data: bytes) -> list[float]:
    """Areas of closed straight paths, by pypdf's own reading of operators and matrices."""
    found: list[float] = []
    path: list[tuple[float, float]] = []

    def seen(operator: bytes, operands: list[Any], matrix: list[float], _: list[float]) -> None:
        if operator in (b"m", b"l"):
            if operator == b"m":
                path.clear()
            x, y = map(float, operands)
            path.append(
                (
                    (matrix[0] * x + matrix[2] * y + matrix[4]) * MM_PER_POINT,
                    (matrix[1] * x + matrix[3] * y + matrix[5]) * MM_PER_POINT,
                )
            )
        elif operator == b"h":
            area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(path, path[1:] + path[:1], strict=True))
            found.append(abs(area) / 2)

    for page in pypdf.PdfReader(BytesIO(data)).pages:
        page.extract_text(visitor_operand_before=seen)
    return found


def test_panels_come_out_as_another_reader_measures_them() -> None:
    panels = drawn_panels()
    data = one_page(lambda canvas: draw_panels(canvas, panels))
    sheet = read(data)
    rings = [ring_area_mm2(stroke.line) for stroke in sheet.strokes if stroke.is_closed]
    assert rings == pytest.approx(areas_by_pypdf(data), rel=1e-6)
    assert rings == pytest.approx([ring_area_mm2(panel.ring) for panel in panels], rel=1e-5)
    assert (sheet.mm_per_unit, sheet.unit_said) == (1.0, "the page's points, 1/72 in")
    for panel, label in zip(panels, sheet.labels, strict=True):
        assert label.text == str(panel.number)
        assert math.dist(label.at, panel.middle) < 8


def test_a_circle_keeps_its_area_and_girth() -> None:
    """reportlab draws circles by four cubic curves, whose area is that of the circle within 0.06 % (closed form)."""
    sheet = read(one_page(lambda canvas: canvas.circle(200 * MM, 200 * MM, 100 * MM)))
    ring = only(sheet).line
    assert ring_area_mm2(ring) == pytest.approx(math.pi * 100**2, rel=1e-3)
    girth = sum(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
    assert girth == pytest.approx(2 * math.pi * 100, rel=1e-3)


@pytest.mark.parametrize(
    ("turn", "end"),
    [(0, (10, 700)), (90, (700, 590)), (180, (590, 100)), (270, (100, 10)), (-90, (100, 10)), (450, (700, 590))],
)
def test_a_turned_page_is_read_as_it_is_seen(turn: int, end: tuple[float, float]) -> None:
    """ISO 32000-2, table 31: Rotate turns clockwise when the page is displayed."""
    stroke = only(read(page_of(b"0 0 m 10 700 l S", Rotate=turn)))
    assert in_points(stroke)[1] == end


def test_the_unit_and_the_boxes_of_the_page_count() -> None:
    """ISO 32000-2, table 31: UserUnit multiplies 1/72 in; what is seen is the crop box within the media box."""
    stroke = only(read(page_of(b"150 250 m 250 250 l S", UserUnit=2.5)))
    assert math.dist(*stroke.line) == pytest.approx(100 * 2.5 * MM_PER_POINT)
    stroke = only(read(page_of(b"150 250 m 250 250 l S", CropBox=Array([100, 200, 5000, 900]))))
    assert in_points(stroke) == [(50, 50), (150, 50)]


def test_the_box_and_the_turn_of_a_parent_count() -> None:
    with pikepdf.open(BytesIO(page_of(b"10 0 m 10 700 l S"))) as pdf:
        page = pdf.pages[0].obj
        page.Parent.MediaBox, page.Parent.Rotate = Array([0, 0, 300, 900]), 180
        del page.MediaBox
        out = BytesIO()
        pdf.save(out)
    assert in_points(only(read(out.getvalue()))) == [(290, 900), (290, 200)]


def form(pdf: pikepdf.Pdf, content: bytes, **said: Any) -> pikepdf.Object:
    made = pdf.make_stream(content, Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 100, 100]))
    for key, value in said.items():
        made[f"/{key}"] = value
    return pdf.make_indirect(made)


def test_forms_in_forms_keep_their_matrices_and_the_state_they_inherit() -> None:
    def resources(pdf: pikepdf.Pdf) -> Dictionary:
        inner = form(pdf, b"0 0 m 10 0 l S", Matrix=Array([0, 1, -1, 0, 5, 0]))
        outer = form(
            pdf,
            b"q 2 0 0 2 0 0 cm /Inner Do Q",
            Matrix=Array([1, 0, 0, 1, 0, 7]),
            Resources=Dictionary(XObject=Dictionary(Inner=inner)),
        )
        return Dictionary(XObject=Dictionary(Outer=outer))

    stroke = only(read(page_of(b"1 0 0 RG 2 w [6 3] 0 d q 3 0 0 3 100 200 cm /Outer Do Q", resources)))
    # By hand: (0,0) and (10,0) turned by the inner matrix to (5,0), (5,10); doubled; moved by 7; trebled and moved.
    assert in_points(stroke) == [(130, 221), (130, 281)]
    assert stroke.colour == "#ff0000"
    assert stroke.dash == pytest.approx((6 * 6 * MM_PER_POINT, 3 * 6 * MM_PER_POINT), abs=1e-3)
    assert stroke.width == pytest.approx(2 * 6 * MM_PER_POINT, abs=1e-3)


@pytest.mark.parametrize(
    ("said", "colour"),
    [
        (b"0 0.5 1 RG", "#0080ff"),
        (b"0.5 G", "#808080"),
        (b"1 0 1 0 K", "#00ff00"),
        (b"/DeviceCMYK CS 0 0 0 1 SC", "#000000"),
        (b"/Spot CS 1 SCN", "#ff0000"),
        (b"/Spot CS 0.5 SCN", "#ff8080"),
        (b"/Ink CS 0.25 SCN", "#bfbfbf"),
        (b"/Profile CS 0 0 1 SCN", "#0000ff"),
        (b"q 1 0 0 RG Q", "#000000"),
    ],
)
def test_colours_of_all_common_kinds(said: bytes, colour: str) -> None:
    def resources(pdf: pikepdf.Pdf) -> Dictionary:
        blend = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([1, 1, 1]), C1=Array([1, 0, 0]), N=1)
        sampled = pdf.make_stream(b"\0", FunctionType=0)
        profile = pdf.make_stream(b"", N=3)
        return Dictionary(
            ColorSpace=Dictionary(
                Spot=Array([Name.Separation, Name("/Red"), Name.DeviceRGB, blend]),
                Ink=Array([Name.Separation, Name.Black, Name.DeviceGray, sampled]),
                Profile=Array([Name.ICCBased, profile]),
            )
        )

    assert only(read(page_of(said + b" 0 0 m 9 9 l S", resources))).colour == colour


def layered(content: bytes, *, off: tuple[str, ...] = (), **default: Any) -> bytes:
    """Layers Front, Back and Hidden, and a membership of Hidden and Front."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(600, 800))
    groups = {
        name: pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(name)))
        for name in ("Front", "Back", "Hidden")
    }
    both = Dictionary(Type=Name.OCMD, OCGs=Array([groups["Hidden"], groups["Front"]]), P=Name.AllOn)
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(content)
    page.Resources = Dictionary(
        Properties=Dictionary(F=groups["Front"], B=groups["Back"], H=groups["Hidden"], Both=both),
        XObject=Dictionary(Inner=form(pdf, b"0 0 m 30 30 l S", OC=groups["Hidden"])),
    )
    pdf.Root.OCProperties = Dictionary(
        OCGs=Array(list(groups.values())), D=Dictionary(OFF=Array([groups[name] for name in off]), **default)
    )
    out = BytesIO()
    pdf.save(out)
    return out.getvalue()


LAYERS = (
    b"/OC /F BDC 0 0 m 10 10 l S /Span BMC /OC /B BDC 0 0 m 20 20 l S EMC EMC EMC "
    b"/OC /H BDC 0 0 m 40 40 l S EMC /Inner Do /OC /Both BDC 0 0 m 50 50 l S EMC 0 0 m 60 60 l S"
)


def test_layers_give_their_names_and_those_that_are_off_are_left_out() -> None:
    """ISO 32000-2, 8.11: optional content, its membership and the default configuration."""
    shown = {in_points(stroke)[1][0]: stroke.layers for stroke in read(layered(LAYERS)).strokes}
    assert shown == {10: ("Front",), 20: ("Front", "Back"), 30: ("Hidden",), 40: ("Hidden",), 50: ("Hidden",), 60: ()}
    seen = [in_points(stroke)[1][0] for stroke in read(layered(LAYERS, off=("Hidden",))).strokes]
    assert seen == [10, 20, 60]
    seen = [in_points(stroke)[1][0] for stroke in read(layered(LAYERS, BaseState=Name.OFF)).strokes]
    assert seen == [60]


def test_what_a_clip_hides_is_left_out_and_what_it_cuts_is_open() -> None:
    content = b"q 100 100 200 200 re W n 0 0 50 50 re S 150 150 50 50 re S 200 200 m 500 200 l S 250 250 200 10 re S Q 0 0 m 5 5 l S"
    strokes = read(page_of(content)).strokes
    assert in_points(strokes[0]) == [(150, 150), (200, 150), (200, 200), (150, 200)]
    assert in_points(strokes[1]) == [(200, 200), (300, 200)]
    assert not strokes[2].is_closed
    assert {x for x, _ in in_points(strokes[2])} == {250, 300}
    assert in_points(strokes[3]) == [(0, 0), (5, 5)]


def test_a_clip_of_another_shape_cuts_too() -> None:
    triangle = b"q 100 100 m 300 100 l 100 300 l h W n 100 150 m 400 150 l S 250 250 m 260 260 l S Q"
    assert in_points(only(read(page_of(triangle)))) == [(100, 150), (250, 150)]


@pytest.mark.parametrize(
    "unseen",
    [
        b"1 G 0 0 m 9 9 l S",
        b"1 g 0 0 9 9 re f",
        b"0 0 m 9 9 l n",
        b"/Clear gs 0 0 m 9 9 l S",
        b"5 5 m S",
        b"5 5 m 5 5 l S",
    ],
)
def test_what_nobody_sees_is_no_line(unseen: bytes) -> None:
    clear = Dictionary(ExtGState=Dictionary(Clear=Dictionary(CA=0)))
    assert in_points(only(read(page_of(b"q " + unseen + b" Q 0 0 m 7 7 l S", lambda _: clear)))) == [(0, 0), (7, 7)]


def test_areas_are_their_outlines_and_thin_ones_are_lines() -> None:
    whole, thin = read(page_of(b"0 0 1 rg 100 100 50 80 re f 10 10 200 1 re f")).strokes
    assert (whole.is_closed, whole.colour, whole.width) == (True, "#0000ff", None)
    assert in_points(thin) in ([(10, 10.5), (210, 10.5)], [(210, 10.5), (10, 10.5)])
    assert thin.width == pytest.approx(MM_PER_POINT, abs=1e-4)


def test_text_stands_where_it_is_seen_single_letters_too() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.line(0, 0, 10, 10)
        canvas.setFont("Helvetica", 20)
        canvas.drawString(100, 300, "Side front")
        for at, letter in enumerate("1234"):
            canvas.drawString(100 + at * 11.12, 200, letter)
        canvas.saveState()
        canvas.translate(400, 500)
        canvas.rotate(90)
        canvas.drawString(0, 0, "Back")
        canvas.restoreState()
        canvas.drawString(300, 300, "far")

    labels = {label.text: label for label in read(one_page(draw)).labels}
    assert list(labels) == ["Side front", "1234", "Back", "far"]
    # Helvetica’s figures are 0.556 of its size wide (Adobe’s font metrics).
    assert labels["1234"].at[0] / MM_PER_POINT == pytest.approx(100 + 2 * 11.12, abs=0.5)
    assert labels["1234"].height == pytest.approx(0.7 * 20 * MM_PER_POINT)
    assert labels["Back"].at[0] / MM_PER_POINT == pytest.approx(400 - 7, abs=0.5)
    assert labels["Back"].at[1] / MM_PER_POINT > 500


def test_fonts_that_are_embedded_say_their_characters() -> None:
    def resources(pdf: pikepdf.Pdf) -> Dictionary:
        table = pdf.make_stream(
            b"1 beginbfchar <0041> <0033> endbfchar 2 beginbfrange <0050> <0052> <0058> <0060> <0061> [<00e4> <00f6>] endbfrange"
        )
        inner = Dictionary(Type=Name.Font, Subtype=Name.CIDFontType2, W=Array([0x41, Array([500])]), DW=1000)
        return Dictionary(
            Font=Dictionary(
                C=Dictionary(
                    Type=Name.Font,
                    Subtype=Name.Type0,
                    Encoding=Name("/Identity-H"),
                    DescendantFonts=Array([inner]),
                    ToUnicode=table,
                ),
                S=Dictionary(
                    Type=Name.Font,
                    Subtype=Name.Type1,
                    Encoding=Dictionary(Differences=Array([1, Name.seven, Name.A, Name("/uni00DF")])),
                ),
            )
        )

    content = b"0 0 m 9 9 l S BT /C 10 Tf 50 50 Td <00410050005200600061> Tj ET BT /S 10 Tf 50 150 Td <010203> Tj ET"
    assert [label.text for label in read(page_of(content, resources)).labels] == ["3XZäö", "7Aß"]


def test_text_that_is_not_painted_or_lies_off_the_page_is_none() -> None:
    helvetica = Dictionary(Font=Dictionary(F=Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)))
    content = b"0 0 m 9 9 l S BT 3 Tr /F 10 Tf 50 50 Td (read by a machine) Tj ET"
    assert read(page_of(content, lambda _: helvetica)).labels == ()


def test_broken_instructions_are_left_out_and_said() -> None:
    sheet = read(page_of(b"0 0 m 9 9 l S 1 2 c /Missing Do (x) w 0 0 m 7 7 l S"))
    assert len(sheet.strokes) == 2
    assert [(found.code, found.severity.value) for found in sheet.findings] == [("pdf.unread", "warn")]


def test_pages_that_are_drawings_of_their_own_lie_beside_each_other() -> None:
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4)
    for number in (1, 2, 3):
        canvas.rect(50 * MM, 50 * MM, 80 * MM, (100 + number) * MM)
        canvas.drawString(80 * MM, 100 * MM, str(number))
        canvas.showPage()
    canvas.save()
    sheet = read(out.getvalue())
    heights = [max(y for _, y in stroke.line) - min(y for _, y in stroke.line) for stroke in sheet.strokes]
    assert heights == pytest.approx([101, 102, 103])
    lefts = [min(x for x, _ in stroke.line) for stroke in sheet.strokes]
    assert lefts == sorted(lefts)
    for stroke, label in zip(sheet.strokes, sheet.labels, strict=True):
        assert min(x for x, _ in stroke.line) < label.at[0] < max(x for x, _ in stroke.line)
    assert [found.code for found in sheet.findings] == ["pdf.pages-beside"]
