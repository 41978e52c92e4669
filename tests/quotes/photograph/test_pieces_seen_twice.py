"""Pieces that two photographs show: laid anew by shapely's own turning and shifting, they are counted once."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon
from shapely.affinity import affine_transform, rotate, scale, translate
from support_photographs import fixture_panels

from quotes.photograph.reading import PhotoPiece, PhotoReading
from quotes.photograph.twice import congruence_mm, each_once

PANELS = fixture_panels("underbust.svg")


def piece(number: int = 0, *, photo: str = "a.jpg", plus_minus: float = 0.15) -> PhotoPiece:
    panel = PANELS[number]
    waist = [x for x, _ in panel.outline]
    return PhotoPiece(
        photo=photo,
        outline=tuple(panel.outline),
        notches=((min(waist), panel.waist_mm), (max(waist), panel.waist_mm)),
        plus_minus_mm=plus_minus,
        outline_px=(),
    )


def laid(
    one: PhotoPiece, degrees: float, *, photo: str = "b.jpg", mirrored: bool = False, **changes: float
) -> PhotoPiece:
    """The same piece elsewhere, its ring begun at another corner."""

    def moved(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        shape = Polygon([*points, *points[:1]] if len(points) > 2 else [*points, (0.0, 500.0)])
        if mirrored:
            shape = affine_transform(shape, [-1, 0, 0, 1, 0, 0])
        shape = translate(rotate(shape, degrees, origin=(0, 0)), 210.0, -35.0)
        return tuple(shape.exterior.coords)[: len(points)]

    outline, notches = moved(one.outline), moved(one.notches)
    return replace(one, photo=photo, outline=(*outline[2:], *outline[:2]), notches=notches, **changes)


def reading(photo: str, *pieces: PhotoPiece) -> PhotoReading:
    return PhotoReading(
        photo=photo, px_per_mm=3.0, cards=4, residual_px=0.05, size_px=(1000, 1000), shown=b"", pieces=pieces
    )


def counted(*readings: PhotoReading) -> list[list[tuple[str, list[tuple[str, int]]]]]:
    """By photograph: each piece that is left with the others that it stands for."""
    return [
        [(one.photo, [(same.photo, same.piece) for same in one.same_as]) for one in left.pieces]
        for left in each_once(readings)
    ]


@pytest.mark.parametrize("degrees", [0.0, 4.0, 97.0, 180.0, -130.0])
def test_outlines_that_were_only_moved_lie_upon_each_other(degrees: float) -> None:
    assert congruence_mm(piece().outline, laid(piece(), degrees).outline) < 0.01


def test_what_a_scaled_outline_is_off_is_what_geometry_says() -> None:
    """A circle of 100 mm and one of 100.4: everywhere 0.4 mm apart."""
    ring = Polygon([(100 * math.cos(a), 100 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 720, endpoint=False)])
    larger = scale(ring, 1.004, 1.004)
    one, two = (tuple(shape.exterior.coords)[:-1] for shape in (ring, larger))
    assert congruence_mm(one, two) == pytest.approx(0.4, abs=0.01)


def test_a_piece_in_two_photographs_is_counted_once_as_the_exacter_one_has_it() -> None:
    again = laid(piece(), 12.0, plus_minus_mm=0.1)
    assert counted(reading("a.jpg", piece(), piece(1)), reading("b.jpg", again)) == [
        [("a.jpg", [])],
        [("b.jpg", [("a.jpg", 1)])],
    ]
    (found,) = each_once([reading("a.jpg", piece()), reading("b.jpg", again)])[1].findings
    assert (found.code, found.where, found.severity.value) == ("photograph.seen-twice", "b.jpg", "note")
    assert "differ by 0.00 mm" in found.message


def test_three_photographs_of_one_piece_leave_one() -> None:
    ones = [
        piece(plus_minus=0.2),
        laid(piece(), 5, plus_minus_mm=0.3),
        laid(piece(), 9, photo="c.jpg", plus_minus_mm=0.1),
    ]
    left = each_once([reading(one.photo, one) for one in ones])
    assert [len(one.pieces) for one in left] == [0, 0, 1]
    assert {same.photo for same in left[2].pieces[0].same_as} == {"a.jpg", "b.jpg"}


def test_a_mirrored_piece_is_another_one() -> None:
    assert counted(reading("a.jpg", piece()), reading("b.jpg", laid(piece(), 3, mirrored=True))) == [
        [("a.jpg", [])],
        [("b.jpg", [])],
    ]


def test_equal_pieces_in_one_photograph_are_two() -> None:
    both = reading("a.jpg", piece(), laid(piece(), 7, photo="a.jpg"))
    assert counted(both) == [[("a.jpg", []), ("a.jpg", [])]]
    seen = counted(both, reading("b.jpg", laid(piece(), 30)))
    assert sum(len(photo) for photo in seen) == 2


def test_no_two_panels_of_a_corset_are_one_piece() -> None:
    ones = reading("a.jpg", *(piece(number) for number in range(3)))
    others = reading("b.jpg", *(laid(piece(number), 20) for number in range(3, 6)))
    assert [len(photo) for photo in counted(ones, others)] == [3, 3]


def test_a_piece_with_other_notches_is_another_one() -> None:
    """The same outline, its waist marked 30 mm lower."""
    moved = laid(replace(piece(), notches=tuple((x, y - 30) for x, y in piece().notches)), 10)
    assert [len(photo) for photo in counted(reading("a.jpg", piece()), reading("b.jpg", moved))] == [1, 1]


def test_a_piece_cut_a_little_smaller_is_another_one() -> None:
    """By 0.8 %: 2 mm in its height, and less than 2 % of its area."""
    smaller = replace(piece(), outline=tuple((x * 0.992, y * 0.992) for x, y in piece().outline))
    assert [len(photo) for photo in counted(reading("a.jpg", piece()), reading("b.jpg", laid(smaller, 1)))] == [1, 1]


@pytest.mark.parametrize("plus_minus", [0.15, 0.4, 1.0])
def test_neighbouring_panels_that_are_nearly_alike_stay_two(plus_minus: float) -> None:
    """Panels 3 and 4 of the underbust are 1.9 mm apart, and 0.48 where one lies with its face down."""
    ones = reading("a.jpg", replace(piece(2), plus_minus_mm=plus_minus))
    for mirrored in (False, True):
        other = reading("b.jpg", replace(laid(piece(3), 2.0, mirrored=mirrored), plus_minus_mm=plus_minus))
        left = each_once([ones, other])
        assert [len(one.pieces) for one in left] == [1, 1]
        assert {found.code for one in left for found in one.findings} <= {"photograph.may-be-one"}


def test_outlines_names_all_and_leaves_none_out() -> None:
    left = each_once([reading("a.jpg", piece()), reading("b.jpg", laid(piece(), 12.0))], leaves_out=False)
    assert [len(one.pieces) for one in left] == [1, 1]
    (same,) = left[0].pieces[0].same_as
    assert (same.photo, same.piece) == ("b.jpg", 1)
