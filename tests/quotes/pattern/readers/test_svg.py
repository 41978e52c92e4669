"""Reading SVG against the CSS units, closed forms and the standard's transforms; every fault named."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import Matrix, Path
from svgpathtools import parse_path

from inventory.ground.findings import Refused
from quotes.pattern.drawing import Drawing, ReadOptions
from quotes.pattern.geometry import length_mm, ring_area_mm2
from quotes.pattern.readers.svg import read
from quotes.pattern.readers.svg_lines import flattened

RECTANGLE = '<rect data-panel="1" width="60" height="200"/>'
SECOND = '<rect data-panel="2" width="60" height="200"/>'


def svg(body: str, size: str = 'width="100mm" viewBox="0 0 100 300"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'.encode()


def ring(body: str, size: str = 'width="100mm" viewBox="0 0 100 300"', **options: object) -> tuple:
    drawing: Drawing = read(svg(body, size), ReadOptions(**options))  # type: ignore[arg-type]
    return drawing.panels[0].stitching or ()


def around(points: tuple) -> float:
    return length_mm((*points, points[0]))


def codes(data: bytes, **options: object) -> list[str]:
    with pytest.raises(Refused) as refusal:
        read(data, ReadOptions(**options))  # type: ignore[arg-type]
    return [finding.code for finding in refusal.value.findings]


@pytest.mark.parametrize(
    ("width", "mm"), [("1in", 25.4), ("25.4mm", 25.4), ("2.54cm", 25.4), ("72pt", 25.4), ("6pc", 25.4), ("96px", 25.4)]
)
def test_geo_07_and_08_css_lengths(width: str, mm: float):
    """CSS Values 3, absolute lengths; W3C SVG 1.1 test coords-units-03-b: 1 in = 2.54 cm = 25.4 mm = 72 pt = 6 pc."""
    found = ring('<rect data-panel="1" width="10" height="20"/>', f'width="{width}" viewBox="0 0 10 30"')
    assert ring_area_mm2(found) == pytest.approx(mm * 2 * mm)


def test_geo_09_viewbox_scale():
    """width 210 mm, viewBox 0 0 210 297: one user unit is a millimetre."""
    assert around(ring(RECTANGLE, 'width="210mm" height="297mm" viewBox="0 0 210 297"')) == pytest.approx(520)


def test_a_drawing_without_a_real_size_needs_units():
    assert codes(svg(RECTANGLE, 'viewBox="0 0 100 300"')) == ["file.no-units"]
    assert codes(svg(RECTANGLE, 'width="100" height="300"')) == ["file.no-units"]
    assert around(ring(RECTANGLE, 'viewBox="0 0 9 9"', units="cm")) == pytest.approx(5200)
    assert codes(svg(RECTANGLE, 'width="100mm" height="100mm" viewBox="0 0 100 300"')) == ["file.units-contradict"]


def test_geo_19_cubic():
    """Arc-length integral 154.88679880318648, by svgpathtools and scipy."""
    d = "M0 0 C0 50 50 100 100 100 L0 100 Z"
    assert parse_path("M0 0 C0 50 50 100 100 100").length() == pytest.approx(154.88679880318648, abs=1e-6)
    assert around(ring(f'<path data-panel="1" d="{d}"/>')) == pytest.approx(154.88679880318648 + 200, abs=0.1)


def test_geo_20_circle_by_four_cubics():
    """κ = 4/3(√2 − 1): a quarter is 1.5710166980738558 long at r 1."""
    k = 0.5522847498307935 * 50
    d = f"M50 0 C50 {k} {k} 50 0 50 C{-k} 50 -50 {k} -50 0 C-50 {-k} {-k} -50 0 -50 C{k} -50 50 {-k} 50 0Z"
    assert around(ring(f'<path data-panel="1" d="{d}"/>')) == pytest.approx(4 * 50 * 1.5710166980738558, abs=0.1)


def test_geo_21_arc():
    """M0,0 A50,50 0 0 1 100,0 is 50π."""
    found = ring('<path data-panel="1" d="M0,0 A50,50 0 0 1 100,0 Z"/>')
    assert around(found) == pytest.approx(157.07963267948963 + 100, abs=0.1)


@pytest.mark.parametrize(
    ("body", "length"),
    [
        ('<circle data-panel="1" cx="50" cy="50" r="40"/>', 2 * math.pi * 40),
        ('<polygon data-panel="1" points="0,0 60,0 60,200 0,200"/>', 520),
        ('<path data-panel="1" d="M0 0h60v200H0z"/>', 520),
        ('<path data-panel="1" d="M0 0 Q30 40 60 0 T 120 0 L120 200 L0 200Z"/>', None),
        ('<g transform="scale(2)"><rect data-panel="1" width="30" height="100"/></g>', 520),
        ('<g transform="rotate(37) translate(5,6)"><g transform="matrix(0,1,-1,0,3,3)">' + RECTANGLE + "</g></g>", 520),
        ('<defs><rect id="r" width="60" height="200"/></defs><use data-panel="1" href="#r" x="9"/>', 520),
        (
            '<symbol id="s" viewBox="0 0 10 10"><rect width="3" height="10"/></symbol>'
            '<g data-panel="1"><use href="#s" width="200" height="200"/></g>',
            520,
        ),
        ('<svg x="5" width="120" height="400" viewBox="0 0 60 200">' + RECTANGLE + "</svg>", 1040),
    ],
)
def test_shapes_transforms_and_references(body: str, length: float | None):
    found = around(ring(body))
    if length is None:
        length = parse_path("M0 0 Q30 40 60 0 T 120 0").length() + 120 + 400
    assert found == pytest.approx(length, abs=0.1)


def test_panels_are_told_by_number():
    body = (
        '<path id="panel-1" d="M0 0h60v200H0z"/><g aria-label="Panel 2"><path d="M0 0h60v200H0z"/></g>'
        '<g xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:label="left panel 3"><path d="M0 0h60v200H0z"/></g>'
        '<g xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:groupmode="layer" i:label="Panel 9">'
        '<path data-panel="4" id="panel-8" d="M0 0h60v200H0z"/></g>'
    )
    assert [panel.number for panel in read(svg(body), ReadOptions()).panels] == [1, 2, 3, 4]


def test_parts_of_a_panel():
    body = (
        '<g data-panel="1"><path class="cut" d="M-10 -10h80v220h-80z"/><path data-part="seam" d="M0 0h60v200H0z"/>'
        '<path class="waist thin" d="M0 90H60"/><line class="grain" x1="30" y1="150" x2="30" y2="50"/>'
        '<circle class="notch" cx="0" cy="90" r="1"/><text class="label">1</text></g>'
    )
    panel = read(svg(body), ReadOptions()).panels[0]
    assert ring_area_mm2(panel.cut or ()) == pytest.approx(80 * 220)
    assert ring_area_mm2(panel.stitching or ()) == pytest.approx(12_000)
    assert panel.waist == ((0.0, -90.0), (60.0, -90.0))
    assert panel.notches == ((0.0, pytest.approx(-90.0)),)


@pytest.mark.parametrize(
    "hidden",
    [
        'display="none"',
        'style="display: none"',
        'visibility="hidden"',
        'style="visibility:hidden"',
        'class="old"',
        'id="draft"',
    ],
)
def test_what_is_hidden_is_not_there(hidden: str):
    """By attributes, by style, by the drawing's own style sheet (SVG 2, chapter 6; CSS Display 3 and 2.2, 11.2)."""
    sheet = "<style>.old { display: none } g#draft { visibility: hidden }</style>"
    assert codes(svg(f"{sheet}<g {hidden}>{RECTANGLE}</g>")) == ["pattern.no-panels"]
    assert len(read(svg(f"{sheet}{SECOND}<g {hidden}>{RECTANGLE}</g>"), ReadOptions()).panels) == 1


def test_two_unnamed_lines_are_not_guessed():
    body = '<g data-panel="1"><path d="M0 0h60v200H0z"/><path d="M5 5h50v190H5z"/></g>'
    assert codes(svg(body)) == ["svg.which-line"]


def test_the_standards_own_doctype_may_stand():
    line = b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert read(line + svg(RECTANGLE), ReadOptions()).panels[0].number == 1


BOMB = b'<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>' + svg("<text>&b;</text>")
NESTED = "".join(f'<g id="n{k}"><use href="#n{k - 1}"/><use href="#n{k - 1}"/></g>' for k in range(1, 30))


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (BOMB, "svg.entities"),
        (svg("<script>alert(1)</script>"), "svg.script"),
        (svg('<rect onclick="x()" data-panel="1" width="9" height="9"/>'), "svg.script"),
        (svg('<image href="http://example.org/x.png"/>'), "svg.outside-reference"),
        (svg('<use href="other.svg#x"/>'), "svg.outside-reference"),
        (svg('<rect style="fill:url(http://example.org/a)" width="9" height="9"/>'), "svg.outside-reference"),
        (svg('<use href="#nowhere"/>'), "svg.use"),
        (svg('<g id="n0">' + RECTANGLE + "</g>" + NESTED), "svg.too-many"),
        (svg('<g id="a"><use href="#a"/></g>'), "svg.too-many"),
        (svg('<path data-panel="1" d="M0 0 L"/>'), None),
        (svg('<path data-panel="x" d="M0 0h1v1z"/>'), "pattern.panel-without-number"),
        (svg('<path data-panel="1" d="M0 0h60"/>'), "pattern.outline-open"),
        (b"<svg", "svg.broken"),
        (b"<html/>", "svg.not-svg"),
        (b"\xff\xfe\x00", "svg.broken"),
    ],
)
def test_what_is_unsafe_or_broken_is_refused(data: bytes, code: str | None):
    found = codes(data)
    assert found if code is None else found == [code]


@settings(max_examples=60)
@given(st.binary(max_size=60), st.integers(0, 400))
def test_damage_is_refused_or_read_but_never_breaks(noise: bytes, place: int):
    data = svg(RECTANGLE + SECOND)
    place %= len(data)
    with contextlib.suppress(Refused):
        read(data[:place] + noise + data[place + len(noise) :], ReadOptions())


CURVE = '<path data-panel="1" d="M0 0 C1e300 1e308 1e308 0 60 0v200H0z"/>'


@pytest.mark.parametrize(
    ("data", "code", "where", "message"),
    [
        (b'<?xml-stylesheet href="a.css"?>' + svg(RECTANGLE), "svg.outside-reference", "<?xml-stylesheet>", "The SVG asks for a style sheet of its own."),
        (svg('<style>@import "x.css";</style>' + RECTANGLE), "svg.outside-reference", "<style>", "A style sheet refers outside the file."),
        (svg('<use x="3"/>'), "svg.use", "<use>", "Nothing in the file has the id ''."),
        (svg("<g/>" * 20_001), "svg.too-many", "file", "The drawing has more than 20000 elements."),
        (svg(RECTANGLE, 'width="wide" viewBox="0 0 9 9"'), "svg.length", "<svg width>", "'wide' is no length."),
        (svg(RECTANGLE, 'width="0mm" viewBox="0 0 9 9"'), "svg.length", "<svg width>", "A width of 0mm is not more than zero."),
        (svg(RECTANGLE, 'width="9mm" viewBox="0 0 9"'), "svg.viewbox", "<svg>", "The viewBox '0 0 9' is not four numbers."),
        (svg(RECTANGLE, 'width="9mm" viewBox="0 0 0 9"'), "svg.viewbox", "<svg>", "The viewBox '0 0 0 9' has no size."),
        (svg('<rect data-panel="1" width="6o" height="200"/>'), "svg.shape", 'rect "1"', "The rect cannot be read."),
        # SVG 1.1, 8.3.2: a path begins with a moveto.
        (svg('<path data-panel="1" d="L0 0h60v200H0z"/>'), "pattern.outline-open", 'path "1"', "Panel 1 has no closed line."),
        (svg(CURVE), "pattern.not-finite", "path", "A coordinate is not a finite number."),
        (svg('<rect data-panel="1" width="60" height="200000"/>'), "pattern.size", 'rect "1"', "A point lies 200 m from the origin; 100 m is believed."),
    ],
)  # fmt: skip
def test_each_fault_of_a_drawing_is_one_sentence_with_its_place(data: bytes, code: str, where: str, message: str):
    """The product's own rule, but where the standard is named."""
    with pytest.raises(Refused) as refusal:
        read(data, ReadOptions())
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [(code, where, message)]


def test_a_real_size_without_a_viewbox_is_in_css_pixels():
    """CSS Values 3: 96 px are an inch, so 520 px round are 520 × 25.4 ÷ 96 mm."""
    assert around(ring(RECTANGLE, 'width="100mm"')) == pytest.approx(520 * 25.4 / 96)


def test_the_makers_unit_decides_between_two_sizes_and_is_overruled_by_one():
    assert around(ring(RECTANGLE, 'width="9mm" height="9mm" viewBox="0 0 9 18"', units="cm")) == pytest.approx(5200)
    drawing = read(svg(RECTANGLE), ReadOptions(units="cm"))
    assert around(drawing.panels[0].stitching or ()) == pytest.approx(520)
    assert [(found.code, found.message) for found in drawing.findings] == [
        (
            "file.units-overruled",
            "Its own size says 1 mm a user unit, --units says cm; its own size is taken.",
        )
    ]


@pytest.mark.parametrize(
    ("box", "size"),
    [
        ("", (3, 10)),
        ('viewBox="0 0 10 10"', (30, 100)),
        ('viewBox="0 0 10 10" preserveAspectRatio="xMidYMid slice"', (60, 200)),
        ('viewBox="0 0 10 10" preserveAspectRatio="none"', (60, 100)),
    ],
)
def test_a_symbol_fills_its_viewport_as_it_says(box: str, size: tuple[float, float]):
    """SVG 1.1, 7.8: meet takes the smaller of the two scales (20 and 10), slice the larger, none both."""
    body = (
        f'<symbol id="s" {box}><rect width="3" height="10"/></symbol>'
        '<g data-panel="1"><use href="#s" width="200" height="100"/></g>'
    )
    xs, ys = zip(*ring(body), strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx(size)


def test_an_ellipse_has_its_area():
    """π a b."""
    found = ring('<ellipse data-panel="1" cx="50" cy="70" rx="40" ry="60"/>')
    assert ring_area_mm2(found) == pytest.approx(math.pi * 40 * 60, rel=1e-3)


def test_an_arc_smaller_than_the_flatness_is_one_stroke():
    """A half circle of radius 0.004 mm at the corner of a rectangle: 60.008 mm wide, 200 mm tall."""
    found = ring('<path data-panel="1" d="M0 0a.004 .004 0 0 1 .008 0h60v200H0z"/>')
    assert ring_area_mm2(found) == pytest.approx(60.008 * 200, abs=1e-3)
    assert len(found) == 5


def test_what_follows_a_closed_line_begins_where_it_closed():
    """SVG 1.1, 8.3.3: the next subpath starts at the same point as the current one."""
    ring, after = flattened(Path("M10 0h60v200H10z l5 20"), Matrix())
    assert ring == (((10.0, 0.0), (70.0, 0.0), (70.0, -200.0), (10.0, -200.0), (10.0, 0.0)), True)
    assert after == (((10.0, 0.0), (15.0, -20.0)), False)


def test_the_part_of_a_line_may_stand_among_other_classes():
    body = '<g data-panel="1"><path d="M0 0h60v200H0z"/><path class="thin waist" d="M0 90H60"/></g>'
    assert read(svg(body), ReadOptions()).panels[0].waist == ((0.0, -90.0), (60.0, -90.0))
