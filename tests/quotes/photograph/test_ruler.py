"""A ruler in the picture against its length as the maker says it: drawn to size, so that any difference is the arithmetic's own."""

import pytest
from shapely import box
from shapely.affinity import rotate
from support_commands import run, stop_codes
from support_photographs import fixture_panels

from inventory.ground.findings import Refused
from quotes.photograph.reading import PhotoPiece, PhotoReading
from quotes.photograph.ruler import without_ruler


def piece(outline: tuple[tuple[float, float], ...]) -> PhotoPiece:
    return PhotoPiece(photo="a.jpg", outline=outline, notches=(), plus_minus_mm=0.1, outline_px=())


def strip(length: float, width: float = 30.0, degrees: float = 33.0) -> PhotoPiece:
    return piece(tuple(rotate(box(0, 0, length, width), degrees).exterior.coords)[:-1])


PANEL = piece(tuple(fixture_panels("underbust.svg")[0].outline))


def reading(*pieces: PhotoPiece, photo: str = "a.jpg") -> PhotoReading:
    return PhotoReading(
        photo=photo, px_per_mm=3.0, cards=4, residual_px=0.05, size_px=(1000, 1000), shown=b"", pieces=pieces
    )


def codes(*readings: PhotoReading, ruler_mm: float) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as refused:
        without_ruler(readings, ruler_mm)
    return [(found.code, found.where) for found in refused.value.findings]


@pytest.mark.parametrize(("length", "said"), [(300.0, "+0.00%"), (302.7, "+0.90%"), (297.3, "-0.90%")])
def test_a_ruler_within_a_hundredth_is_told_and_is_no_piece(length: float, said: str) -> None:
    (left,) = without_ruler([reading(strip(length), PANEL)], 300.0)
    assert left.pieces == (PANEL,)
    (found,) = left.findings
    assert (found.code, found.severity.value) == ("photograph.ruler", "note")
    assert f"comes out as {length:.1f} mm ({said})" in found.message


@pytest.mark.parametrize(("length", "word"), [(309.3, "3.1% more"), (290.0, "3.3% less")])
def test_a_ruler_that_is_off_by_more_stops_the_reading(length: float, word: str) -> None:
    """A print at 97 % makes 300 mm come out as 309.3."""
    with pytest.raises(Refused, match=word) as refused:
        without_ruler([reading(strip(length), PANEL)], 300.0)
    assert [found.code for found in refused.value.findings] == ["photograph.ruler-off"]


def test_a_panel_as_long_as_the_ruler_is_not_taken_for_it() -> None:
    ys = [y for _, y in PANEL.outline]
    assert codes(reading(PANEL), ruler_mm=max(ys) - min(ys)) == [("photograph.no-ruler", "a.jpg")]


def test_of_two_straight_strips_the_one_nearer_in_length_is_the_ruler() -> None:
    (left,) = without_ruler([reading(strip(296.0), strip(300.5))], 300.0)
    assert left.pieces == (strip(296.0),)


def test_one_of_several_photographs_may_show_it() -> None:
    first, second = without_ruler([reading(PANEL), reading(strip(500.0), photo="b.jpg")], 500.0)
    assert (first.pieces, second.pieces) == ((PANEL,), ())
    assert codes(reading(PANEL), reading(PANEL, photo="b.jpg"), ruler_mm=500.0) == [
        ("photograph.no-ruler", "a.jpg, b.jpg")
    ]


@pytest.mark.parametrize(("said", "code"), [("long", "option.not-a-length"), ("30", "option.out-of-range")])
def test_a_ruler_of_no_believable_length_is_refused_before_any_photograph_is_read(said: str, code: str) -> None:
    exit_code, answer = run("outlines", "nothing.jpg", "--ruler", said)
    assert (exit_code, stop_codes(answer)) == (1, {code})
    assert [found["where"] for found in answer["findings"]] == ["--ruler"]
