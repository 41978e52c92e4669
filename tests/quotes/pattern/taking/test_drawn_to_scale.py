"""A drawing that says it is not at full size: taken so where a square bears that out, else refused.

How scales are written: ISO 5455 (SCALE 1:2, 1:1, 2:1; the word may be left out).
"""

import pytest
from support_drawings import (
    closed_waist,
    dxf_square,
    laid_out,
    plain_dxf,
    plain_svg,
    square_svg,
    svg,
    svg_d,
    svg_text,
)

from inventory.ground.findings import Refused, Severity, stops
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_here
from quotes.pattern.taking.words import said


@pytest.mark.parametrize(
    ("words", "share"),
    [
        ("Half scale", 1 / 2),
        ("half-scale pattern", 1 / 2),
        ("1/2 scale", 1 / 2),
        ("SCALE 1:2", 1 / 2),
        ("scale: 1 : 2", 1 / 2),
        ("Scale 50 %", 1 / 2),
        ("50 % scale", 1 / 2),
        ("50% of full size", 1 / 2),
        ("1:2", 1 / 2),
        ("M 1:2", 1 / 2),
        ("Maßstab 1:5", 1 / 5),
        ("échelle 1:10", 1 / 10),
        ("quarter scale", 1 / 4),
        ("scale 66,7 %", 0.667),
        ("scale 2:1", 2.0),
        ("scale 1:1", 1.0),
        ("Scale 1:1  mm", 1.0),
        ("Scale 1:2 cm", 1 / 2),
        ("scale 100 %", 1.0),
        ("actual size", 1.0),
        ("scale 1/2 in", None),
        ("Do not print at 96 % scale", None),
        ("if your printer is set to 97 % scale, set 100 %", None),
        ("waist 10% of full size", None),
        ("scale bar 10 cm", None),
        ("scale 1:0", None),
        ("page 1/2", None),
        ("size 12", None),
        ("print at 100 %", None),
    ],
)
def test_what_a_scale_is_called(words: str, share: float | None):
    assert said(words).drawn_share == (share if share is None else pytest.approx(share))
    assert said(words).number is None


def small_svg(words: str, *extra: str, share: float = 0.5, named: bool = False) -> bytes:
    panels = laid_out(scale=share)
    body = [f'<path id="panel-{p.number}" d="{svg_d(p.ring)}"/>' for p in panels] if named else plain_svg(panels)
    return svg([*body, svg_text(words, (300, 250)), *extra])


def refusal(data: bytes, kind: str = ".svg", **options: object) -> Refused:
    with pytest.raises(Refused) as refused:
        read_here(data, kind, "drawing", ReadOptions(**options), True)  # type: ignore[arg-type]
    return refused.value


def full_square(side: float = 25.0, words: str = "5 cm") -> list[str]:
    return square_svg((0, 200), side, words)


@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize(
    ("words", "share"), [("half scale", 0.5), ("Scale 1:2", 0.5), ("scale 80 %", 0.8), ("scale 2:1", 2.0)]
)
def test_a_square_that_bears_it_out_gives_the_true_lengths(words: str, share: float, named: bool):
    data = small_svg(words, *full_square(50 * share), share=share, named=named)
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    # Of panels without a waist line the narrowest level counts.
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.005 if named else 0.001)
    (found,) = [found for found in reading.findings if found.code == "file.not-at-full-size"]
    assert found.severity is Severity.NOTE
    assert found.message == (
        f'The drawing says "{words}", and the square marked "5 cm" bears it out; every length is taken {1 / share:.4g} times.'
    )


def test_a_dxf_at_half_scale_with_its_square():
    def extra(document, space):
        dxf_square(0, -200, 25, "5 cm")(document, space)
        space.add_text("SCALE 1:2", height=8).set_placement((200, -200))

    reading = read_here(plain_dxf(laid_out(scale=0.5), extra=extra), ".dxf", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.001)


@pytest.mark.parametrize("units", [None, "mm"])
@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize(("words", "share"), [("half scale", 0.5), ("scale 80 %", 0.8)])
def test_without_a_square_nobody_knows(words: str, share: float, named: bool, units: str | None):
    (found,) = stops(refusal(small_svg(words, share=share, named=named), units=units).findings)
    assert found.code == "file.not-at-full-size"
    assert found.message == f'The drawing says "{words}", and no test square on it bears that out.'


@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize("share", [1.0, 0.8])
def test_a_square_of_another_scale_contradicts_the_words(share: float, named: bool):
    """A square for the print, at full size beside smaller pieces, tells nothing of the pieces."""
    (found,) = stops(refusal(small_svg("scale 80 %", *full_square(50.0), share=share, named=named)).findings)
    assert found.code == "file.not-at-full-size"
    assert found.message == 'The drawing says "scale 80 %", yet the square marked "5 cm" has not that scale.'


@pytest.mark.parametrize("words", ["scale 1:1", "actual size", "Scale 100 %", "1:1"])
@pytest.mark.parametrize("square", [True, False])
def test_full_size_in_words_is_nothing_to_tell(words: str, square: bool):
    data = small_svg(words, *(full_square(50.0) if square else []), share=1.0)
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.findings == ()


def test_of_two_scales_that_which_the_square_has_counts():
    words = ("detail: scale 1:4", "pattern: scale 1:1")
    data = small_svg(words[0], svg_text(words[1], (600, 250)), *full_square(50.0), share=1.0)
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.001)
    (found,) = stops(refusal(small_svg(words[0], svg_text(words[1], (600, 250)), share=1.0)).findings)
    assert found.code == "file.not-at-full-size"


def test_without_a_unit_the_square_alone_says_how_long_one_is():
    panels = laid_out(scale=0.5)
    data = svg([*plain_svg(panels), svg_text("half scale", (300, 250)), *full_square()], unit=None)
    reading = read_here(data, ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.001)
