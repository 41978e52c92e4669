"""A wrong unit never goes through: the waist that it would make, squares, bars and words contradict it.

Factors: 1 in = 25.4 mm = 72 pt = 96 px (CSS Values 3, absolute lengths).
"""

import pytest
from support_drawings import (
    closed_waist,
    dxf_square,
    laid_out,
    panels_of,
    plain_dxf,
    plain_svg,
    square_svg,
    svg,
    svg_d,
    svg_text,
)

from inventory.ground.findings import Refused, stops
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_here

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "px": 25.4 / 96}
WRONG = [(true, said) for true in MM_PER for said in MM_PER if true != said]
ALIKE = {("px", "pt"), ("pt", "px")}
"""Three quarters of each other: either waist could be a body's, so only a witness tells them apart."""


def refused(data: bytes, kind: str, **options: object):
    with pytest.raises(Refused) as refusal:
        read_here(data, kind, "drawing", ReadOptions(**options), True)  # type: ignore[arg-type]
    return refusal.value


def drawn_in(unit: str, said: str, *extra: str, named: bool = False) -> bytes:
    scale = 1 / MM_PER[unit]
    panels = laid_out(scale=scale)
    body = plain_svg(panels)
    if named:
        body = [f'<path id="panel-{p.number}" d="{svg_d(p.ring)}"/>' for p in panels]
    box = (-50 * scale, -300 * scale, 1200 * scale, 600 * scale)
    return svg([*body, *extra], unit=said, box=box)


@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize(("true", "said"), [pair for pair in WRONG if pair not in ALIKE])
def test_a_waist_that_no_body_has_stops_and_names_the_likelier_unit(true: str, said: str, named: bool):
    refusal = refused(drawn_in(true, said, named=named), ".svg")
    sentences = " ".join(f"{found.message} {found.hint}" for found in stops(refusal.findings))
    if stops(refusal.findings)[0].code == "pattern.waist-unbelievable":
        assert f"--units {true}" in sentences
    else:
        # Sizes that no panel has were refused before.
        assert stops(refusal.findings)[0].code in ("pattern.looks-like-other-units", "pattern.size", "svg.viewbox")
        assert "units" in sentences


@pytest.mark.parametrize(("true", "said"), [pair for pair in WRONG if pair not in ALIKE])
def test_the_likelier_unit_mends_it(true: str, said: str):
    reading = read_here(drawn_in(true, said), ".svg", "drawing", ReadOptions(units=true), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.001)
    assert "file.units-overruled" in {finding.code for finding in reading.findings}


@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize(("true", "said"), WRONG)
def test_a_test_square_contradicts_every_wrong_unit(true: str, said: str, named: bool):
    scale = 1 / MM_PER[true]
    refusal = refused(drawn_in(true, said, *square_svg((0, 200 * scale), 50 * scale, "5 cm"), named=named), ".svg")
    codes = {found.code for found in stops(refusal.findings)}
    assert codes & {
        "file.units-contradict",
        "pattern.looks-like-other-units",
        "pattern.size",
        "pattern.waist-unbelievable",
    }
    if "file.units-contradict" in codes:
        assert any(f"--units {true}" in found.hint for found in refusal.findings)


@pytest.mark.parametrize("words", ["waist 66 cm", "Waist: 26 in", "closed waist 605 mm"])
@pytest.mark.parametrize(("true", "said"), sorted(ALIKE))
def test_a_stated_waist_contradicts_pixels_taken_for_points(true: str, said: str, words: str):
    scale = 1 / MM_PER[true]
    refusal = refused(drawn_in(true, said, svg_text(words, (300 * scale, 250 * scale), 20 * scale)), ".svg")
    (found,) = stops(refusal.findings)
    assert found.code == "file.units-contradict"
    assert f"--units {true}" in found.hint


@pytest.mark.parametrize("words", ["waist 66 cm", "Waist: 26 in", "closed waist 605 mm"])
def test_a_stated_waist_that_fits_is_no_fault(words: str):
    reading = read_here(drawn_in("mm", "mm", svg_text(words, (300, 250))), ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.findings == ()


def in_eighths(length: float) -> str:
    whole, eighths = divmod(round(length / 25.4 * 8), 8)
    return f"{whole} {eighths}/8 in"


def dimensioned(unit: str, written) -> list[str]:
    """Each panel's width and height on dimension lines below and beside it, its waist's width on the waist line."""
    scale = 1 / MM_PER[unit]
    rows = []
    for panel in laid_out(scale=scale):
        xs, ys = zip(*panel.ring, strict=True)
        left, right, low, high = min(xs), max(xs), min(ys), max(ys)
        below, beside = low - 15 * scale, right + 10 * scale
        lines = [((left, below), (right, below)), ((beside, low), (beside, high))]
        spots = [((left + right) / 2, below - 8 * scale), (beside + 4 * scale, (low + high) / 2)]
        for line, spot in zip([*lines, panel.waist], [*spots, (panel.middle[0], 4 * scale)], strict=True):
            (x0, y0), (x1, y1) = line
            length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 * MM_PER[unit]
            rows += [f'<path d="{svg_d(line, close=False)}"/>', svg_text(written(length), spot, 5 * scale)]
    return rows


WRITTEN = {
    "whole millimetres": lambda length: f"{length:.0f} mm",
    "centimetres": lambda length: f"{length / 10:.1f} cm",
    "whole centimetres": lambda length: f"{length / 10:.0f} cm",
    "eighths of an inch": in_eighths,
}


@pytest.mark.parametrize("written", WRITTEN.values(), ids=WRITTEN)
def test_dimensions_rounded_as_drawings_round_them_bear_the_unit_out(written):
    data = drawn_in("mm", "mm", *dimensioned("mm", written))
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.005)
    assert reading.findings == ()


def test_dimensions_contradict_a_wrong_unit_together():
    """Points read as pixels are three quarters as long (CSS Values 3)."""
    found = stops(refused(drawn_in("pt", "px", *dimensioned("pt", WRITTEN["whole millimetres"])), ".svg").findings)
    assert [one.code for one in found] == ["file.units-contradict"]
    assert "--units pt" in found[0].hint


def test_a_square_is_measured_by_the_words_in_it():
    """The width of a panel, written above the square, is none of its."""
    square = square_svg((0, 220), 50, "5 cm")
    data = drawn_in("mm", "mm", svg_text("66 mm", (25, -195), 5), *square)
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)


@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize(("page", "paper"), [((2383.94, 3370.39), "A0"), ((1683.78, 2383.94), "A1")])
def test_a_page_that_is_a_paper_in_points_alone_was_drawn_in_points(page, paper: str, named: bool):
    """A0 is 841 x 1189 mm (ISO 216): 2383.94 x 3370.39 points. Three quarters of the waist could still be a body's."""
    panels = laid_out("overbust", gap=20, scale=72 / 25.4)
    body = [f'<path id="panel-{p.number}" d="{svg_d(p.ring)}"/>' for p in panels] if named else plain_svg(panels)
    data = svg(body, unit="px", box=(0, -600, *page))
    (found,) = stops(refused(data, ".svg").findings)
    assert found.code == "file.units-contradict"
    assert f"read as points it is {paper}" in found.message
    assert "--units pt" in found.hint
    for units, share in (("pt", 1.0), ("px", 0.75)):
        reading = read_here(data, ".svg", "drawing", ReadOptions(units=units), True)
        assert isinstance(reading, Reading)
        assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist("overbust") * share, rel=0.005)


def test_what_cannot_be_read_beside_named_panels_hinders_nothing():
    body = [f'<path id="panel-{p.number}" d="{svg_d(p.ring)}"/>' for p in laid_out()]
    reading = read_here(svg([*body, '<rect width="wide" height="1"/>']), ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)


def test_what_the_maker_says_is_held_against_the_square_too():
    data = svg(plain_svg(laid_out()) + square_svg((0, 200), 50, "5 cm"), unit=None)
    (found,) = stops(refused(data, ".svg", units="pt").findings)
    assert found.code == "file.units-contradict"
    assert found.hint == "Say --units mm instead."


@pytest.mark.parametrize(
    ("scale", "unit", "words"),
    [(1.0, "mm", "millimetres"), (72 / 25.4, "pt", "points"), (96 / 25.4, "px", "pixels")],
)
def test_without_a_unit_the_likeliest_is_named(scale: float, unit: str, words: str):
    # Of pixels read as points come 80.66 cm: believable too, and further from what is usual.
    (found,) = stops(refused(svg(plain_svg(laid_out(scale=scale)), unit=None), ".svg").findings)
    assert found.code == "file.no-units"
    assert f"read as {words} its closed waist would be 60.49 cm" in found.message
    assert f"--units {unit}" in found.hint


@pytest.mark.parametrize(
    ("scale", "units", "likelier"),
    [(0.1, 1, "cm"), (0.1, 4, "cm"), (1 / 25.4, 4, "in"), (72 / 25.4, 4, "pt"), (1.0, 1, "mm")],
)
def test_a_dxf_in_another_unit_than_it_says(scale: float, units: int, likelier: str):
    data = plain_dxf(laid_out(scale=scale), units=units, scale=scale)
    found = stops(refused(data, ".dxf").findings)[0]
    assert found.code in ("pattern.waist-unbelievable", "pattern.looks-like-other-units", "pattern.size")
    assert f"--units {likelier}" in found.hint or "--units" in found.hint
    square = plain_dxf(
        laid_out(scale=scale), units=units, scale=scale, extra=dxf_square(0, -300 * scale, 50 * scale, "5 cm")
    )
    codes = [one.hint for one in stops(refused(square, ".dxf").findings)]
    assert any(f"--units {likelier}" in hint for hint in codes)


def test_a_json_pattern_in_another_unit_stops_too():
    import json

    document = {"name": "x", "units": "in", "panels": panels_of("underbust")}
    for panel in document["panels"]:
        for edge in ("front", "back", "top", "bottom"):
            panel[edge] = [[x / 10, y / 10] for x, y in panel[edge]]
        panel["waist"] = 0.0
    (found,) = stops(refused(json.dumps(document).encode(), ".json").findings)
    assert found.code == "pattern.waist-unbelievable"
    assert found.hint == "Say --units cm."


def test_points_are_no_unit_of_a_table():
    (found,) = stops(refused(b"panel,height,width\n1,0,60\n1,10,60\n", ".csv", units="pt").findings)
    assert found.code == "option.units"
