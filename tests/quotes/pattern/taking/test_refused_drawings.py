"""Drawings that leave something open are refused in a sentence that names it and what to add."""

import pytest
from support_commands import run, stop_codes
from support_drawings import (
    dxf_square,
    in_mirror,
    laid_out,
    moved_by,
    plain_dxf,
    plain_svg,
    square_svg,
    svg,
    svg_d,
    svg_text,
    turned,
)

from inventory.ground.findings import Refused, stops
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.child import read_here, take_here
from quotes.pattern.taking.taken import Role

PANELS = laid_out()


def sizes(dress) -> bytes:
    body = []
    for place, factor in enumerate((0.94, 1.0, 1.06)):
        for panel in laid_out(gap=90):
            x, y = panel.middle
            grown = panel.moved(lambda p, x=x, y=y, f=factor: (x + (p[0] - x) * f, y + (p[1] - y) * f))
            body.append(dress(place, f'd="{svg_d(grown.ring)}"'))
    body += [svg_text(str(panel.number), panel.middle) for panel in laid_out(gap=90)]
    return svg(body, box=(-100, -300, 1700, 600))


def bare(panels=PANELS) -> list[str]:
    return [f'<path d="{svg_d(p.ring)}"/>{svg_text(str(p.number), p.middle)}' for p in panels]


ASKEW = [turned(panel, 15 * (-1) ** panel.number) for panel in laid_out(gap=120)]
REFUSED = {
    "askew without a grain": (svg(bare(ASKEW)), {}, "pattern.askew", "no grain line says"),
    "an outline with a gap of 12 mm": (
        svg(
            [
                *bare([PANELS[0], *PANELS[2:]]),
                f'<path d="{svg_d([*PANELS[1].ring, (PANELS[1].ring[0][0], PANELS[1].ring[0][1] + 12)], close=False)}"/>',
                svg_text("2", PANELS[1].middle),
            ]
        ),
        {},
        "pattern.outline-open",
        "its ends lie 12 units apart",
    ),
    "lines and no outline": (svg(['<path d="M0 0 L100 0"/>']), {}, "pattern.no-panels", "ends of its lines"),
    "no line at all": (svg([]), {}, "pattern.no-panels", "No line was found"),
    "a picture": (
        svg(['<image href="data:image/png;base64,AAAA" width="9" height="9"/>']),
        {},
        "svg.picture-only",
        "a scan or a photograph",
    ),
    "a panel on a fold in the middle": (
        svg([*bare(), svg_text("cut on fold", (PANELS[2].middle[0], -80), 8)]),
        {},
        "pattern.on-fold",
        "only half of it is drawn",
    ),
    "two numbers in one": (
        svg([*bare(), svg_text("5", (PANELS[1].middle[0], -40))]),
        {},
        "pattern.number-ambiguous",
        "several numbers: 2, 5",
    ),
    "sizes by layer": (
        sizes(lambda place, d: f'<g inkscape:groupmode="layer" inkscape:label="Size {10 + 2 * place}"><path {d}/></g>'),
        {},
        "pattern.several-sizes",
        "3 sizes lie in each other: 10, 12, 14",
    ),
    "sizes by colour": (
        sizes(lambda place, d: f'<path stroke="{("red", "blue", "green")[place]}" {d}/>'),
        {},
        "pattern.several-sizes",
        "red, blue, green",
    ),
    "sizes by line": (
        sizes(lambda place, d: f'<path stroke-dasharray="{("none", "4 2", "1 1")[place]}" {d}/>'),
        {},
        "pattern.several-sizes",
        "solid, dashed 4 2, dashed 1 1",
    ),
    "a size that is not there": (
        sizes(lambda place, d: f'<g inkscape:groupmode="layer" inkscape:label="Size {10 + 2 * place}"><path {d}/></g>'),
        {"size": "99"},
        "pattern.unknown-size",
        "none of the sizes",
    ),
    "sizes that look alike": (
        sizes(lambda place, d: f"<path {d}/>"),
        {},
        "pattern.lines-over-each-other",
        "3 outlines",
    ),
    "a seam allowance, in or out": (
        svg([*bare(), svg_text("1 cm seam allowance", (300, 250))]),
        {},
        "pattern.allowance-in-or-out",
        "not whether its lines hold it",
    ),
    "an allowance without an amount": (
        svg([*bare(), svg_text("seam allowance included", (300, 250))]),
        {},
        "pattern.cut-line-without-allowance",
        "says no seam allowance",
    ),
    "without numbers, out of order": (
        svg(plain_svg([moved_by(p, {1: 300, 3: -300}.get(at, 0)) for at, p in enumerate(PANELS)], lambda p: "")),
        {},
        "pattern.panels-without-number",
        "none has a number",
    ),
    "both halves without numbers": (
        svg(
            plain_svg(PANELS, lambda p: "") + plain_svg([in_mirror(p) for p in PANELS], lambda p: ""),
            box=(-1200, -300, 2400, 600),
        ),
        {},
        "pattern.panels-without-number",
        "two halves in a mirror",
    ),
    "too few numbers said": (
        svg(plain_svg(PANELS, lambda p: "")),
        {"panels": (1, 2, 3)},
        "option.panels",
        "gives 3 numbers",
    ),
    "the last number forgotten": (
        svg(plain_svg(PANELS, lambda p: "" if p.number == 6 else str(p.number))),
        {},
        "pattern.panels-without-number",
        "may be panel 6",
    ),
    "a panel that lacks": (
        svg(bare([p for p in PANELS if p.number != 3])),
        {},
        "pattern.panel-missing",
        "Missing of panels 1 to 6: 3",
    ),
    "two squares that disagree": (
        svg(bare() + square_svg((0, 200), 50, "5 cm") + square_svg((100, 200), 30, "5 cm")),
        {},
        "file.witnesses-contradict",
        "makes a unit",
    ),
    "a script": (svg(["<script>1</script>", *bare()]), {}, "svg.script", "script"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_open_is_said(name: str):
    data, options, code, words = REFUSED[name]
    with pytest.raises(Refused) as refusal:
        read_here(data, ".svg", "drawing", ReadOptions(**options), True)
    found = [one for one in stops(refusal.value.findings) if one.code == code]
    assert found, refusal.value.findings
    assert words in found[0].message
    assert found[0].message.count(". ") <= 1


def test_a_refusal_on_the_command_line_tells_what_the_drawing_was_taken_for(tmp_path):
    path = tmp_path / "drawn.dxf"
    path.write_bytes(plain_dxf(PANELS, units=None, extra=dxf_square(0, -300, 51, "waist")))
    code, document = run("takeoff", path, "--effort", "none")
    assert code == 1
    assert stop_codes(document) == {"file.no-units"}
    rows = document["taken_for"]
    assert [row["as"] for row in rows[:6]] == [f"panel {number}" for number in range(1, 7)]
    assert [row["outline"] for row in rows] == list(range(1, len(rows) + 1))
    assert all(row["why"] for row in rows)
    assert rows[-1]["as"] in ("left out", "test square")


def test_what_the_command_asks_for_can_be_said(tmp_path):
    path = tmp_path / "drawn.svg"
    path.write_bytes(svg(plain_svg(PANELS, lambda p: ""), unit=None))
    code, document = run("takeoff", path, "--units", "mm", "--panels", "1,2,3,4,5,6", "--effort", "none")
    assert code == 0
    assert document["pattern"]["panels_per_half"] == 6
    assert "taken_for" not in document


@pytest.mark.parametrize(("option", "value"), [("--panels", "1,x"), ("--panels", ""), ("--units", "ell")])
def test_option_values_are_checked(tmp_path, option: str, value: str):
    path = tmp_path / "drawn.svg"
    path.write_bytes(svg(plain_svg(PANELS)))
    code, document = run("takeoff", path, option, value)
    assert code == 1
    assert stop_codes(document) == {f"option.{option.removeprefix('--')}"}


def test_what_is_taken_is_shown_with_its_reasons(tmp_path):
    path = tmp_path / "drawn.svg"
    body = plain_svg(PANELS) + square_svg((0, 200), 50, "5 cm") + plain_svg([in_mirror(PANELS[0])], lambda p: "")
    path.write_bytes(svg([*body, '<rect x="-250" y="-290" width="1400" height="580"/>'], box=(-300, -300, 1500, 600)))
    taken = take_here(path.read_bytes(), path.suffix, ReadOptions())
    assert taken.drawing is not None
    roles = [outline.role for outline in taken.outlines]
    assert roles.count(Role.PANEL) == 6
    assert roles.count(Role.OTHER_HALF) == 1
    assert roles.count(Role.TEST_SQUARE) == 1
    assert roles.count(Role.FRAME) == 1
    assert taken.scales[0].witness == 'the square marked "5 cm"'
    assert taken.scales[0].closed_waist_mm == pytest.approx(604.93, abs=0.1)
    assert all(outline.waist for outline in taken.outlines if outline.is_panel)


def test_a_refused_drawing_is_still_shown(tmp_path):
    path = tmp_path / "drawn.svg"
    path.write_bytes(svg(plain_svg(PANELS), unit=None))
    taken = take_here(path.read_bytes(), path.suffix, ReadOptions())
    assert taken.drawing is None
    assert [outline.panel for outline in taken.outlines] == [1, 2, 3, 4, 5, 6]
    assert taken.scales[0].words == "read as millimetres"
