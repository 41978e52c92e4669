"""Pieces from photographs laid out as one sheet. Truth: a box of 80 × 240 mm with notches 120 above its bottom, turned by known angles."""

import pytest

from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import Polyline, turned
from quotes.pattern.taking.take import take
from quotes.photograph.reading import PhotoPiece, PhotoReading
from quotes.photograph.sheet import laid_in_a_row, sheet_of
from quotes.photograph.shown import pieces_of_rings, shown_photos

BOX = ((0.0, 0.0), (80.0, 0.0), (80.0, 240.0), (0.0, 240.0))
AT_THE_WAIST = ((0.0, 120.0), (80.0, 120.0))
ON_ONE_EDGE = ((0.0, 120.0), (0.0, 180.0))


def piece(degrees: float, notches: Polyline = AT_THE_WAIST) -> PhotoPiece:
    return PhotoPiece(
        photo="a.jpg",
        outline=turned(BOX, degrees),
        notches=turned(notches, degrees),
        plus_minus_mm=0.2,
        outline_px=BOX,
    )


def reading(*pieces: PhotoPiece, photo: str = "a.jpg") -> PhotoReading:
    return PhotoReading(
        photo=photo, px_per_mm=5.0, cards=4, residual_px=0.05, size_px=(400, 300), shown=b"", pieces=pieces
    )


def width(line: Polyline) -> float:
    xs = [x for x, _ in line]
    return max(xs) - min(xs)


@pytest.mark.parametrize("degrees", [0.0, 2.5, -2.5, 30.0, -40.0])
def test_a_piece_that_lies_askew_is_levelled_by_its_waist(degrees: float):
    (laid,) = laid_in_a_row([reading(piece(degrees))])[0].pieces
    assert width(laid.outline) == pytest.approx(80.0)
    assert laid.notches[0][1] == pytest.approx(laid.notches[1][1])


def test_a_piece_on_its_side_stays_on_its_side():
    (laid,) = laid_in_a_row([reading(piece(87.0))])[0].pieces
    assert width(laid.outline) == pytest.approx(240.0)


@pytest.mark.parametrize("notches", [(), AT_THE_WAIST[:1], ON_ONE_EDGE])
def test_a_piece_without_a_notch_on_either_side_lies_as_it_was_photographed(notches: Polyline):
    (laid,) = laid_in_a_row([reading(piece(2.5, notches))])[0].pieces
    assert width(laid.outline) == pytest.approx(width(turned(BOX, 2.5)))


def test_pieces_of_all_photographs_stand_in_order_and_apart():
    readings = [reading(piece(2.0), piece(30.0)), reading(piece(-5.0), photo="b.jpg")]
    sheet = sheet_of(readings)
    assert [stroke.where for stroke in sheet.strokes] == ["a.jpg, piece 1", "a.jpg, piece 2", "b.jpg, piece 1"]
    lefts = [min(x for x, _ in stroke.line) for stroke in sheet.strokes]
    assert lefts == pytest.approx([0.0, 120.0, 240.0])
    assert len(sheet.notches) == 6


def test_each_outline_on_the_table_is_found_in_its_photograph():
    readings = [reading(piece(2.0), piece(30.0)), reading(piece(-5.0), photo="b.jpg")]
    rings = [outline.ring for outline in take(sheet_of(readings), ReadOptions()).outlines]
    one, two = shown_photos(readings)
    found = pieces_of_rings(one, rings) + pieces_of_rings(two, rings)
    assert [min(x for x, _ in rings[place]) for place in found if place is not None] == pytest.approx(
        [0.0, 120.0, 240.0]
    )
    assert pieces_of_rings(one, rings[2:]) == [None, None]
