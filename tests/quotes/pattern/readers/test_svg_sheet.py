"""What a free SVG shows: words where they stand, by SVG 2 (11, text; 5, structure) and CSS Values 3 for lengths."""

import pytest

from inventory.ground.findings import Refused
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.svg_sheet import read_sheet
from quotes.pattern.sheet import Label, Sheet

BOX = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def read(body: str, size: str = 'width="400mm" height="400mm" viewBox="0 0 400 400"') -> Sheet:
    return read_sheet(f"<svg {BOX} {size}>{body}</svg>".encode(), ReadOptions())


def labels(body: str) -> list[Label]:
    return list(read(body).labels)


def words(body: str) -> list[str]:
    return [label.text for label in labels(body)]


@pytest.mark.parametrize("dy", ["1.2em", "19.2", "19.2px", "14.4pt", "1.2pc", "5.08mm", "0.508cm", "0.2in"])
def test_a_line_further_down_is_a_text_of_its_own(dy: str):
    """1.2 em of letters of 16 px are 19.2 px; 1 in = 96 px = 72 pt = 6 pc = 25.4 mm (CSS Values 3, absolute lengths)."""
    first, second = labels(f'<text x="50" y="60" font-size="16">3<tspan x="50" dy="{dy}">cut 2</tspan></text>')
    assert (first.text, second.text) == ("3", "cut 2")
    assert first.at[1] - second.at[1] == pytest.approx(19.2, abs=0.01)


@pytest.mark.parametrize(("x", "at"), [("96", 96), ("1in", 96), ("2.54cm", 96), ("96 106 116", 96), ("1e2", 100)])
def test_words_begin_where_they_are_said_to(x: str, at: float):
    (label,) = labels(f'<text x="{x}" y="60" text-anchor="middle">7</text>')
    assert label.at[0] == pytest.approx(at)


@pytest.mark.parametrize("x", ["", "50%", "5furlongs", "left"])
def test_a_place_that_is_no_length_is_the_edge(x: str):
    (label,) = labels(f'<text x="{x}" y="60" text-anchor="middle">7</text>')
    assert label.at[0] == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Panel <tspan>3</tspan>", ["Panel 3"]),
        ("A<tspan>B<tspan>C</tspan>D</tspan>E", ["ABCDE"]),
        ("Panel <title>a tip</title>3", ["Panel 3"]),
        ("Panel 3<tspan display='none'> draft 4</tspan> front", ["Panel 3 front"]),
        ("Panel 3<tspan visibility='hidden' x='9'> draft 4</tspan>", ["Panel 3"]),
        ("<tspan x='10' y='20'>3</tspan><tspan x='10' y='40'>cut 2</tspan>", ["3", "cut 2"]),
        ("<tspan x='10' y='20'> </tspan>", []),
    ],
)
def test_parts_of_a_text_are_read_in_their_order(text: str, said: list[str]):
    assert words(f"<text>{text}</text>") == said


@pytest.mark.parametrize(
    "hidden",
    [
        '<text visibility="hidden">4</text>',
        '<g display="none"><text>4</text></g>',
        "<defs><text>4</text></defs>",
        '<clipPath id="c"><path d="M0 0 L9 9"/></clipPath>',
        '<path visibility="hidden" d="M0 0 L90 0"/>',
        '<path opacity="0" d="M0 0 L90 0"/>',
        '<path d="M5 5"/>',
        '<rect width="90" height="90" fill="none"/>',
        '<style>.bounds { fill: none }</style><rect class="bounds" width="90" height="90"/>',
        '<g style="fill:none;stroke:none"><rect width="90" height="90"/></g>',
    ],
)
def test_what_nobody_sees_is_left_out(hidden: str):
    sheet = read(hidden + '<path d="M0 0 L50 0"/><text>3</text>')
    assert [stroke.line for stroke in sheet.strokes] == [((0.0, 0.0), (50.0, 0.0))]
    assert [label.text for label in sheet.labels] == ["3"]


def widths(sheet: Sheet) -> list[float]:
    return [max(x for x, _ in stroke.line) - min(x for x, _ in stroke.line) for stroke in sheet.strokes]


def test_lengths_of_shapes_may_have_units_and_be_shares():
    """1in = 96 user units (CSS Values 3); 100% of the viewport's width, of its diagonal / √2 for a radius (SVG 2, 8.9)."""
    shapes = (
        '<rect width="100%" height="50%"/>'
        '<rect x="1in" width="25.4mm" height="96"/>'
        '<line x1="10%" x2="2.54cm" y1="0" y2="72pt"/>'
        '<circle cx="50%" cy="50%" r="25%"/>'
        '<svg width="200" height="200" viewBox="0 0 50 50"><rect width="100%" height="100%"/></svg>'
    )
    assert widths(read(shapes)) == pytest.approx([400, 96, 56, 200, 200], abs=0.1)


@pytest.mark.parametrize(
    ("size", "wide"), [('width="400mm" height="400mm"', 400 * 96 / 25.4), ('viewBox="0 0 300 200"', 300)]
)
def test_the_page_of_which_a_shape_is_a_share(size: str, wide: float):
    assert widths(read('<rect width="100%" height="9"/>', size)) == pytest.approx([wide])


def test_a_share_of_no_known_page_is_refused():
    with pytest.raises(Refused) as refusal:
        read('<rect width="100%" height="9"/>', size="")
    assert refusal.value.findings[0].code == "svg.shape"


def test_a_picture_beside_lines_hinders_nothing():
    assert (
        len(read('<image href="data:image/png;base64,AAAA" width="9" height="9"/><path d="M0 0 L5 0"/>').strokes) == 1
    )


@pytest.mark.parametrize(
    ("use", "line"),
    [
        ('<use href="#p" x="10" y="20"/>', ((10.0, -20.0), (30.0, -20.0))),
        ('<use xlink:href="#p" x="1in"/>', ((96.0, 0.0), (116.0, 0.0))),
        ('<use href="#s" width="40" height="40"/>', ((0.0, 0.0), (40.0, 0.0))),
        ('<use href="#s" x="5" width="40mm" height="40mm"/>', ((5.0, 0.0), (5 + 40 * 96 / 25.4, 0.0))),
        ('<svg x="7" y="8" width="40" height="40" viewBox="0 0 20 20"><path d="M0 0 L20 0"/></svg>', ((7.0, -8.0), (47.0, -8.0))),
    ],
)  # fmt: skip
def test_what_is_used_stands_where_it_is_used(use: str, line: tuple[tuple[float, float], ...]):
    """SVG 2, 5.5 and 8.2: a use moves by x and y; a symbol or inner svg fits its viewBox into width and height."""
    made = (
        '<defs><path id="p" d="M0 0 L20 0"/><symbol id="s" viewBox="0 0 20 20"><path d="M0 0 L20 0"/></symbol></defs>'
    )
    (stroke,) = read(made + use).strokes
    assert [part for point in stroke.line for part in point] == pytest.approx(
        [part for point in line for part in point]
    )


def test_what_uses_nothing_is_refused():
    with pytest.raises(Refused) as refusal:
        read('<use href="#none"/>')
    assert refusal.value.findings[0].code == "svg.use"


@pytest.mark.parametrize(
    ("size", "page", "scale"),
    [
        ('width="400mm" height="200mm" viewBox="0 0 400 200"', (400, 200), 1.0),
        ('viewBox="0,0,400,200"', (400, 200), None),
        ('width="400" height="200px"', (400, 200), 25.4 / 96),
        ('width="100%" height="200"', None, None),
        ("", None, None),
    ],
)
def test_the_page_in_the_drawings_own_units(size: str, page: tuple[float, float] | None, scale: float | None):
    sheet = read('<path d="M0 0 L50 0"/>', size)
    assert (sheet.page, sheet.mm_per_unit) == (page, scale)


def test_names_are_what_people_gave_after_what_programs_gave():
    body = '<g id="layer_x31_" data-name="Front"><title>Size 10</title><path id="p" class="cut" data-panel="3" d="M0 0 L5 0"/></g>'
    (stroke,) = read(body).strokes
    assert stroke.layers == ("layer1", "Front", "Size 10", "p", "cut", "panel 3")


def test_text_in_text_without_end_is_refused():
    with pytest.raises(Refused) as refusal:
        read("<text>" + "<tspan>" * 400 + "3" + "</tspan>" * 400 + "</text>")
    assert refusal.value.findings[0].code in ("svg.too-many", "svg.too-deep", "svg.broken")
