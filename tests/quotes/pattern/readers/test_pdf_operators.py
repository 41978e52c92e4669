"""What each operator of a page's content does, by ISO 32000-2 (8.4 to 8.10, 9.3 and 9.4); words also as PDFium places them."""

import math
from io import BytesIO
from typing import Any

import pikepdf
import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name

from inventory.ground.findings import Refused
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.pdf import read_sheet
from quotes.pattern.sheet import Sheet, Stroke

MM_PER_POINT = 25.4 / 72
HELVETICA = Dictionary(
    Type=Name.Font,
    Subtype=Name.Type1,
    BaseFont=Name.Helvetica,
    FirstChar=32,
    LastChar=57,
    Widths=Array([278, *[556] * 25]),
)
"""With its space and figures as wide as Adobe's metrics of the standard fonts say."""


def page_of(content: bytes, **resources: Any) -> bytes:
    """A page of 600 by 800 points with this content."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(600, 800))
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(content)
    page.Resources = Dictionary(Font=Dictionary(F=HELVETICA), **resources)
    out = BytesIO()
    pdf.save(out)
    return out.getvalue()


def read(content: bytes, **resources: Any) -> Sheet:
    return read_sheet(page_of(content, **resources), ReadOptions())


def only(content: bytes, **resources: Any) -> Stroke:
    (stroke,) = read(content, **resources).strokes
    return stroke


def corners(stroke: Stroke) -> list[tuple[float, float]]:
    return [(round(x / MM_PER_POINT, 2), round(y / MM_PER_POINT, 2)) for x, y in stroke.line]


def bezier(points: list[tuple[float, float]], at: float) -> tuple[float, float]:
    """A cubic curve by Bernstein's polynomials (ISO 32000-2, 8.5.2.2)."""
    shares = [math.comb(3, k) * at**k * (1 - at) ** (3 - k) for k in range(4)]
    return sum(s * x for s, (x, _) in zip(shares, points, strict=True)), sum(
        s * y for s, (_, y) in zip(shares, points, strict=True)
    )


CURVES = {
    "c": (b"0 0 m 0 90 90 90 90 0 c S", [(0, 0), (0, 90), (90, 90), (90, 0)]),
    "v, its first bend where it begins": (b"0 0 m 90 90 90 0 v S", [(0, 0), (0, 0), (90, 90), (90, 0)]),
    "y, its second where it ends": (b"0 0 m 0 90 90 0 y S", [(0, 0), (0, 90), (90, 0), (90, 0)]),
}


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_goes_where_its_polynomial_goes(name: str):
    content, points = CURVES[name]
    drawn = [(x / MM_PER_POINT, y / MM_PER_POINT) for x, y in only(content).line]
    for at in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, y = bezier(points, at)
        assert min(math.dist((x, y), point) for point in drawn) < 3


@pytest.mark.parametrize("curve", [b"0 -90 90 -90 90 0 c", b"90 -90 90 0 v"])
def test_what_follows_a_closed_subpath_begins_where_that_did(curve: bytes):
    """ISO 32000-2, 8.5.2.1: h makes the start of the subpath the current point."""
    ring, after = read(b"100 100 m 200 100 l 200 200 l h 1 0 0 1 0 0 cm " + curve + b" S").strokes
    assert ring.is_closed
    assert corners(after)[0] == (100, 100)
    assert corners(after)[-1] == (90, 0)
    if curve.endswith(b"v"):
        middle = bezier([(100, 100), (100, 100), (90, -90), (90, 0)], 0.5)
        assert min(math.dist(middle, point) for point in corners(after)) < 3
    line = read(b"100 100 m 200 100 l 200 200 l h 50 50 l S").strokes[1]
    assert corners(line) == [(100, 100), (50, 50)]


@pytest.mark.parametrize(
    ("paint", "is_closed", "colour"),
    [
        (b"S", False, "#ff0000"),
        (b"s", True, "#ff0000"),
        (b"f", True, "#0000ff"),
        (b"F", True, "#0000ff"),
        (b"f*", True, "#0000ff"),
        (b"B", False, "#ff0000"),
        (b"B*", False, "#ff0000"),
        (b"b", True, "#ff0000"),
        (b"b*", True, "#ff0000"),
    ],
)
def test_every_way_of_painting(paint: bytes, is_closed: bool, colour: str):
    """Table 59: capital S leaves the path open, small s closes it; f paints the inside, B and b both."""
    stroke = only(b"1 0 0 RG 0 0 1 rg 0 0 m 100 0 l 100 100 l " + paint)
    assert (stroke.is_closed, stroke.colour) == (is_closed, colour)


@pytest.mark.parametrize(
    ("said", "colour"),
    [
        (b"0.5 g", "#808080"),
        (b"0 1 1 0 k", "#ff0000"),
        (b"/DeviceRGB cs 0 1 0 sc", "#00ff00"),
        (b"/DeviceRGB cs 0 1 0 scn", "#00ff00"),
        (b"/DeviceRGB cs", "#000000"),
        (b"/Pattern cs /P scn", ""),
    ],
)
def test_inks_of_areas(said: bytes, colour: str):
    assert only(said + b" 0 0 100 80 re f").colour == colour


STATE = {"W": {"LW": 3}, "D": {"D": Array([Array([6, 3]), 0])}, "P": {"CA": 0}, "I": {"ca": 0}, "None": {}}


def states() -> Dictionary:
    return Dictionary(**{name: Dictionary(Type=Name.ExtGState, **said) for name, said in STATE.items()})


def test_settings_in_a_dictionary_of_the_graphics_state():
    """ISO 32000-2, table 57: LW the width, D the dashes, CA and ca how much of pen and ink is seen."""
    assert only(b"/W gs 0 0 m 90 0 l S", ExtGState=states()).width == pytest.approx(3 * MM_PER_POINT, abs=1e-4)
    dashed = only(b"/D gs 0 0 m 90 0 l S", ExtGState=states())
    assert dashed.dash == pytest.approx((6 * MM_PER_POINT, 3 * MM_PER_POINT), abs=1e-4)
    seen = only(b"q /P gs 0 0 m 90 0 l S Q q /I gs 0 0 50 50 re f Q /None gs 0 0 m 7 7 l S", ExtGState=states())
    assert corners(seen) == [(0, 0), (7, 7)]
    filled = only(b"/P gs 0 0 1 rg 0 0 90 50 re B", ExtGState=states())
    assert (filled.colour, filled.width) == ("#0000ff", None)


def test_a_font_may_be_set_there_too():
    said = Dictionary(T=Dictionary(Type=Name.ExtGState, Font=Array([HELVETICA, 20])))
    (label,) = read(b"0 0 m 9 9 l S /T gs BT 50 60 Td (7) Tj ET", ExtGState=said).labels
    assert label.text == "7"
    assert label.height == pytest.approx(0.7 * 20 * MM_PER_POINT)


@pytest.mark.parametrize("content", [b"Q EMC 0 0 m 7 7 l S", b"0 i /Perceptual ri 0 0 m 7 7 l S", b"s 0 0 m 7 7 l S"])
def test_what_has_nothing_to_end_or_to_draw_does_no_harm(content: bytes):
    sheet = read(content)
    assert [corners(stroke) for stroke in sheet.strokes] == [[(0, 0), (7, 7)]]
    assert sheet.findings == ()


def test_of_other_things_to_draw_than_forms_and_pictures_nothing_is_seen():
    """PostScript objects were taken out of the standard (ISO 32000-2, annex on what is no longer used)."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(600, 800))
    page = pdf.pages[0].obj
    script = pdf.make_stream(b"showpage", Type=Name.XObject, Subtype=Name.PS)
    bare = pdf.make_stream(b"0 0 m 30 40 l S", Type=Name.XObject, Subtype=Name.Form)
    page.Resources = Dictionary(XObject=Dictionary(S=script, B=bare))
    page.Contents = pdf.make_stream(b"/S Do /B Do")
    out = BytesIO()
    pdf.save(out)
    # A form without a box of its own is not cut.
    assert [corners(stroke) for stroke in read_sheet(out.getvalue(), ReadOptions()).strokes] == [[(0, 0), (30, 40)]]


PICTURE = b"BI /W 1 /H 1 /BPC 8 /CS /G ID \x00 EI"


@pytest.mark.parametrize(
    ("content", "is_scan"),
    [
        (b"q 600 0 0 800 0 0 cm " + PICTURE + b" Q", True),
        (b"q 60 0 0 80 0 0 cm " + PICTURE + b" Q", False),
        (b"q 600 0 0 800 900 0 cm " + PICTURE + b" Q", False),
        (b"q 600 0 0 800 0 900 cm " + PICTURE + b" Q", False),
    ],
)
def test_a_picture_counts_by_how_much_of_the_page_it_covers(content: bytes, is_scan: bool):
    with pytest.raises(Refused) as refusal:
        read(content)
    assert refusal.value.findings[0].code == ("pdf.scan" if is_scan else "pdf.no-lines")


WORDS = {
    "moved": b"100 200 Td (7) Tj",
    "moved twice": b"100 200 Td 30 -40 Td (7) Tj",
    "by a matrix": b"2 0 0 2 100 200 Tm (7) Tj",
    "a line further": b"14 TL 100 200 Td T* (7) Tj",
    "a line further with its leading": b"100 200 Td 0 -30 TD T* (7) Tj",
    "shown on the next line": b"14 TL 100 200 Td (7) '",
    "shown on the next line, spaced": b'14 TL 100 200 Td 5 3 (7) "',
    "raised": b"8 Ts 100 200 Td (7) Tj",
    "moved within": b"100 200 Td [-3000 (7)] TJ",
    "after letters": b"100 200 Td 10 Tc (   ) Tj (7) Tj",
    "after spaces": b"100 200 Td 25 Tw (   ) Tj (7) Tj",
    "stretched": b"150 Tz 100 200 Td (   ) Tj (7) Tj",
}


@pytest.mark.parametrize("name", WORDS)
def test_words_stand_where_another_reader_finds_them(name: str):
    data = page_of(b"0 0 m 9 9 l S BT /F 20 Tf " + WORDS[name] + b" ET")
    (label,) = read_sheet(data, ReadOptions()).labels
    document = pypdfium2.PdfDocument(data)
    page = document[0].get_textpage()
    places = [page.get_charbox(at) for at in range(page.count_chars()) if page.get_text_range(at, 1) == "7"]
    ((left, bottom, right, top),) = places
    assert label.text == "7"
    x, y = (part / MM_PER_POINT for part in label.at)
    # The middle of a letter's room is that of its ink, but for the sides that a font leaves free; spaces between follow it.
    assert x == pytest.approx((left + right) / 2, abs=3)
    assert bottom - 4 <= y <= top


@pytest.mark.parametrize("content", [b"3 Tr (7) Tj", b"( ) Tj", b"-900 0 Td (7) Tj", b"0 0 0 0 5 5 Tm (7) Tj"])
def test_words_that_nobody_sees_are_none(content: bytes):
    assert read(b"0 0 m 9 9 l S BT /F 20 Tf 0 0 600 800 re W n " + content + b" ET").labels == ()
