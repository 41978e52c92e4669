"""SVG drawings as makers make them become the pattern that they show, to 0.5 % and 0.5 mm.

The drawings are made of the underbust's points. What they must come to is reckoned apart from our readers: areas by
svgpathtools from the drawing's own paths, seam lengths and the waist from the fixture's points.
"""

from collections.abc import Sequence

import pytest
from support_drawings import (
    Drawn,
    closed_waist,
    in_mirror,
    laid_out,
    moved_by,
    plain_svg,
    seam_lengths,
    square_svg,
    svg,
    svg_areas,
    svg_d,
    svg_text,
    turned,
)

from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_here
from quotes.pattern.truing import seams

PX, PT, CM, INCH = 96 / 25.4, 72 / 25.4, 0.1, 1 / 25.4
"""Units to a millimetre (CSS: 1 in = 96 px = 72 pt)."""
PANELS = laid_out()
PLACES = ("CF", "front", "side front", "side", "side back", "CB")


def ring(panel: Drawn, dress: str = "") -> str:
    return f'<path {dress} d="{svg_d(panel.ring)}"/>'


def line(points: Sequence[tuple[float, float]], dress: str = "") -> str:
    return f'<path {dress} d="{svg_d(points, close=False)}"/>'


def number(panel: Drawn, words: str = "", up: float = 60.0) -> str:
    return svg_text(words or str(panel.number), (panel.middle[0], panel.middle[1] + up))


def layer(name: str, body: str, ids: str = "") -> str:
    return f'<g inkscape:groupmode="layer" inkscape:label="{name}" {ids}>{body}</g>'


def in_units(per_mm: float) -> list[str]:
    return plain_svg(laid_out(scale=per_mm))


def box(per_mm: float) -> tuple[float, float, float, float]:
    return -50 * per_mm, -300 * per_mm, 1200 * per_mm, 600 * per_mm


def arrow(panel: Drawn) -> str:
    """Shaft and head of the grain line as one path of two runs."""
    (x0, y0), (x1, y1) = panel.grain
    along, across = ((x1 - x0) / 120, (y1 - y0) / 120), (-(y1 - y0) / 120, (x1 - x0) / 120)
    left = (x1 - 8 * along[0] + 4 * across[0], y1 - 8 * along[1] + 4 * across[1])
    right = (x1 - 8 * along[0] - 4 * across[0], y1 - 8 * along[1] - 4 * across[1])
    return f'<path d="{svg_d(panel.grain, close=False)} {svg_d([left, panel.grain[1], right], close=False)}"/>'


def askew(degrees: float = 15.0) -> list[Drawn]:
    return [turned(panel, degrees * (-1) ** panel.number) for panel in laid_out(gap=120)]


def ticks(panel: Drawn) -> str:
    (x0, y0), (x1, y1) = panel.waist
    return line([(x0, y0), (x0 + 5, y0)]) + line([(x1 - 5, y1), (x1, y1)])


def each(*parts, panels: Sequence[Drawn] = PANELS) -> list[str]:
    return [part(panel) for panel in panels for part in parts]


def waist(panel: Drawn) -> str:
    return line(panel.waist)


WIDE = {"box": (-100, -300, 1700, 600)}
DRAWINGS = {
    "numbers as text": svg(plain_svg(PANELS)),
    "the word panel": svg(plain_svg(PANELS, lambda p: f"Panel {p.number}")),
    "no. below the outline": svg(each(ring, waist, lambda p: number(p, f"no. {p.number}", -170))),
    "number, name and cut 4 in lines": svg(
        each(
            ring,
            waist,
            lambda p: (
                f'<text x="{p.middle[0] - 20}" y="{-p.middle[1]}" font-size="9"><tspan x="{p.middle[0] - 20}" dy="0">Piece</tspan>'
                f'<tspan x="{p.middle[0] - 20}" dy="10">{p.number}</tspan><tspan x="{p.middle[0] - 20}" dy="10">cut 4</tspan></text>'
            ),
        )
    ),
    "cut 2 and size 12 beside the number": svg(
        each(ring, waist, number, lambda p: number(p, "cut 2", -60), lambda p: number(p, "size 12", -80))
    ),
    "in pixels": svg(in_units(PX), unit="px", box=box(PX)),
    "in points": svg(in_units(PT), unit="pt", box=box(PT)),
    "in centimetres": svg(in_units(CM), unit="cm", box=box(CM)),
    "in inches": svg(in_units(INCH), unit="in", box=box(INCH)),
    "a test square of 5 cm": svg(plain_svg(PANELS) + square_svg((0, 200), 50, "5 cm")),
    "a test square of 2 inches": svg(plain_svg(PANELS) + square_svg((0, 200), 50.8, "2 in x 2 in")),
    "a scale bar": svg([*plain_svg(PANELS), line([(0, -250), (100, -250)]), svg_text("10 cm", (50, -245), 8)]),
    "no unit but a test square": svg(plain_svg(PANELS) + square_svg((0, 200), 50, "5 cm"), unit=None),
    "a layer a panel, named": svg(
        [layer(place, ring(p) + waist(p), f'id="layer{p.number}"') for p, place in zip(PANELS, PLACES, strict=True)]
    ),
    "a layer a panel, P1 to P6": svg([layer(f"P{p.number}", ring(p) + waist(p), 'id="g17"') for p in PANELS]),
    "layers as the program calls them": svg([layer(f"Layer {p.number}", ring(p) + waist(p)) for p in PANELS]),
    "lettered": svg(each(ring, waist, lambda p: number(p, "ABCDEF"[p.number - 1]))),
    "without numbers, in a row that trues": svg(plain_svg(PANELS, lambda p: "")),
    "one number forgotten": svg(plain_svg(PANELS, lambda p: "" if p.number == 4 else str(p.number))),
    "askew, the grain by its name": svg(
        each(ring, number, waist, lambda p: line(p.grain, 'id="grain line"'), panels=askew()), **WIDE
    ),
    "askew, the grain an arrow": svg(each(ring, number, waist, arrow, panels=askew(-9)), **WIDE),
    "askew, the word grain beside a line": svg(
        each(
            ring,
            number,
            waist,
            lambda p: line(p.grain),
            lambda p: svg_text("grain", (p.grain[1][0], p.grain[1][1] + 8), 6),
            panels=askew(20),
        ),
        **WIDE,
    ),
    "askew, its waist line alone": svg(each(ring, number, waist, panels=askew(12)), **WIDE),
    "notch ticks for the waist": svg(each(ring, number, ticks)),
    "one waist line through all": svg([*each(ring, number), line([(-20, 0), (1150, 0)], 'id="waist"')]),
    "one waist line through all, with its word": svg(
        [*each(ring, number), line([(-40, 0), (1150, 0)]), svg_text("waist", (-30, 4), 6)]
    ),
    "waist lines that run on beyond the panel": svg(
        each(ring, number, lambda p: line([(p.waist[0][0] - 10, 0), (p.waist[1][0] + 10, 0)]))
    ),
    "a heading with numbers": svg(
        [*plain_svg(PANELS), svg_text("Underbust corset, 6 panels, size 12", (100, 180), 10)]
    ),
    "centre front to the right, told by CF and CB": svg(
        plain_svg([in_mirror(p) for p in PANELS], lambda p: {1: "CF", 6: "CB"}.get(p.number, "")),
        box=(-1200, -300, 2400, 600),
    ),
    "places with numbers of their own": svg(
        plain_svg(PANELS, lambda p: ("Front 1", "Front 2", "Side 1", "Side 2", "Back 1", "Back 2")[p.number - 1])
    ),
    "on its side, by a turned group": svg(
        [f'<g transform="translate(40 10) rotate(90)">{"".join(plain_svg(PANELS))}</g>'], box=(-300, -50, 600, 1300)
    ),
    "a test square in a panel": svg([*each(ring, number, waist), *square_svg((15, 40), 50, "5 cm")]),
    "ends that miss each other by a millimetre": svg(
        each(lambda p: line([*p.ring, (p.ring[0][0] + 0.7, p.ring[0][1] + 0.7)]), number, waist)
    ),
    "outlines in two lines": svg(
        each(lambda p: f"<g>{line(p.ring[:40])}{line([*p.ring[39:], p.ring[0]])}</g>", number, waist)
    ),
    "drawn over again": svg(plain_svg(PANELS) + plain_svg(PANELS, lambda p: "")),
    "a frame round all": svg([*plain_svg(PANELS), '<rect x="-40" y="-280" width="1100" height="560"/>']),
    "a hidden draft": svg(
        [*plain_svg(PANELS), f'<g style="display:none">{"".join(plain_svg([moved_by(p, 5) for p in PANELS]))}</g>']
    ),
    "a symbol and a clip never used": svg(
        [
            f'<defs><clipPath id="c">{ring(PANELS[0])}</clipPath></defs><symbol id="s">{ring(PANELS[1])}</symbol>',
            *plain_svg(PANELS),
        ]
    ),
    "both halves, numbered": svg(
        plain_svg(PANELS) + plain_svg([in_mirror(p) for p in PANELS]), box=(-1200, -300, 2400, 600)
    ),
    "a mirrored copy without numbers": svg(
        plain_svg(PANELS) + plain_svg([in_mirror(p) for p in PANELS], lambda p: ""), box=(-1200, -300, 2400, 600)
    ),
    "two rows": svg(plain_svg([moved_by(p, 0, 0) if p.number < 4 else moved_by(p, -330, -350) for p in PANELS])),
    "centre front on a fold": svg([*plain_svg(PANELS), svg_text("fold", (PANELS[0].ring[0][0] + 8, -80), 8)]),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_natural_drawing_becomes_its_pattern(name: str):
    data = DRAWINGS[name]
    per_mm = {"in pixels": PX, "in points": PT, "in centimetres": CM, "in inches": INCH}.get(name, 1.0)
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    pattern = reading.pattern
    assert pattern.panels_per_half == 6
    expected = svg_areas(svg(each(ring)), 1.0)
    assert [panel.net_area_mm2 for panel in pattern.panels] == pytest.approx(expected, rel=0.005)
    own = svg_areas(data, 1 / per_mm)
    assert not own or all(any(area == pytest.approx(drawn, rel=0.001) for drawn in own) for area in expected)
    for seam, (back, front) in zip(seams(pattern.panels), seam_lengths(), strict=True):
        assert seam.length_mm == pytest.approx(back, abs=0.5)
        assert seam.other_length_mm == pytest.approx(front, abs=0.5)
    assert pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.005)


AT_THE_WAIST = {
    "grain": lambda p: line([(p.middle[0], -30), (p.middle[0], 30)]) + svg_text("grain", (p.middle[0] + 6, 4), 6),
    "fold": lambda p: svg_text("cut 4 on fold", (p.waist[0][0] + 9, 3), 6) if p.number == 1 else "",
}


@pytest.mark.parametrize("word", AT_THE_WAIST)
def test_a_word_of_another_line_leaves_the_waist_the_waist(word: str):
    body = each(ring, waist, lambda p: number(p, f"Panel {p.number}"), AT_THE_WAIST[word])
    reading = read_here(svg(body), ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), abs=0.1)
    assert "pattern.waist-missing" not in {finding.code for finding in reading.findings}


def test_a_picked_size_is_the_one_that_was_drawn_so():
    sizes = {"10": 0.94, "12": 1.0, "14": 1.06}
    body = []
    for name, factor in sizes.items():
        for panel in laid_out(gap=90):
            x, y = panel.middle
            grown = panel.moved(lambda p, x=x, y=y, f=factor: (x + (p[0] - x) * f, y + (p[1] - y) * f))
            body.append(layer(f"Size {name}", ring(grown)))
    body += [number(panel) for panel in laid_out(gap=90)]
    data = svg(body, **WIDE)
    for place, name in enumerate(sizes):
        reading = read_here(data, ".svg", "sizes", ReadOptions(size=name), True)
        assert isinstance(reading, Reading)
        own = svg_areas(data, 1.0)[6 * place : 6 * place + 6]
        assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(own, rel=1e-4)


@pytest.mark.parametrize("words", ["1 cm seam allowance", "seam allowance 10 mm included", ""])
def test_a_stitching_line_in_its_cut_line_is_the_stitching_line(words: str):
    wide = laid_out(allowance=10)
    body = each(
        lambda p: f'<path d="{svg_d(p.cut)}"/>', lambda p: ring(p, 'stroke-dasharray="4 2"'), number, panels=wide
    )
    reading = read_here(svg([*body, svg_text(words, (200, 200))]), ".svg", "nested", ReadOptions(), True)
    assert isinstance(reading, Reading)
    expected = svg_areas(svg(each(ring)), 1.0)
    assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(expected, rel=0.001)
    assert reading.pattern.seam_allowance_mm == (10.0 if words else None)
    assert all(panel.cut_line for panel in reading.pattern.panels)


@pytest.mark.parametrize(
    ("words", "options"),
    [
        ("1 cm seam allowance included", {}),
        ("includes seam allowance", {"seam_allowance_mm": 10.0}),
        ("1 cm seam allowance", {"seam_allowance_mm": 10.0}),
    ],
)
def test_lines_that_hold_their_allowance_are_cut_lines(words: str, options: dict):
    wide = laid_out(allowance=10)
    body = each(lambda p: f'<path d="{svg_d(p.cut)}"/>', number, panels=wide)
    reading = read_here(svg([*body, svg_text(words, (200, 200))]), ".svg", "cut", ReadOptions(**options), True)
    assert isinstance(reading, Reading)
    expected = svg_areas(svg(each(ring)), 1.0)
    assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize("numbers", [(1, 2, 3, 4, 5, 6), (6, 5, 4, 3, 2, 1)])
def test_numbers_that_the_maker_says_go_left_to_right(numbers: tuple[int, ...]):
    panels = [in_mirror(p) for p in PANELS] if numbers[0] == 6 else PANELS
    data = svg(plain_svg(panels, lambda p: ""), box=(-1200, -300, 2400, 600))
    reading = read_here(data, ".svg", "told", ReadOptions(panels=numbers), True)
    assert isinstance(reading, Reading)
    expected = svg_areas(svg(each(ring)), 1.0)
    assert [panel.net_area_mm2 for panel in reading.pattern.panels] == pytest.approx(expected, rel=0.001)


def test_zero_leaves_an_outline_out():
    body = plain_svg([*PANELS, moved_by(PANELS[5], 160)], lambda p: "")
    reading = read_here(svg(body), ".svg", "told", ReadOptions(panels=(1, 2, 3, 4, 5, 6, 0)), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.panels_per_half == 6
