"""Outlines with fewer corners or with room around them, held against the geometry library's offsets."""

import math

from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon
from support_lays import simple_outlines

from quotes.lay.simpler import SHARPEST, simpler, with_room
from quotes.pattern.geometry import Polyline


@given(simple_outlines(), st.sampled_from([0.5, 2.0, 10.0]))
def test_room_around_an_outline_holds_all_that_lies_so_near_and_little_else(outline: Polyline, room: float):
    """Held against the geometry library's own offset, whose arcs are arcs: a sharp tip, cut off at one and a half times the
    room, has corners at √(1.5² + 1) times it.
    """
    around, true = Polygon(with_room(outline, room, 0.1)), Polygon(outline)
    assert around.is_valid
    assert around.contains(true.buffer(0.999 * room))
    # A hollow that is all but closed is filled up.
    assert Polygon(true.buffer(1.81 * room + 0.2).exterior).contains(around)


def test_a_square_with_room_around_it_is_a_square():
    assert set(with_room(((0, 0), (10, 0), (10, 10), (0, 10)), 1.0, 0.1)) == {(-1, -1), (11, -1), (11, 11), (-1, 11)}


def test_outlines_that_are_simpler_hold_the_true_ones_and_little_else():
    """Edges lie 0.1 outside at most; tips of sharp corners three times that (the mitre limit, and as much again cut off)."""
    blade = tuple((x, 4 * math.sin(math.pi * x / 100)) for x in range(0, 101, 4))
    outline = (*blade, *((x, -y) for x, y in reversed(blade[1:-1])))
    true, outer = Polygon(outline), Polygon(simpler(outline, 0.1))
    assert outer.contains(true)
    assert len(outer.exterior.coords) < len(true.exterior.coords)
    assert true.hausdorff_distance(outer) <= 0.1 * SHARPEST


def test_curves_drawn_with_hundreds_of_corners_are_made_simpler():
    """A curve in waves for which halves are not enough: what is left out of it lies a last digit inside."""
    turns = [2 * math.pi * place / 600 for place in range(600)]
    far = [30 * (1 + 0.12 * sum(math.cos(waves * turn + 4) for waves in (2, 3, 4, 5))) for turn in turns]
    outline = tuple((reach * math.cos(turn), reach * math.sin(turn)) for reach, turn in zip(far, turns, strict=True))
    outer = Polygon(simpler(outline, 0.06))
    assert outer.contains(Polygon(outline))
    assert len(outer.exterior.coords) < len(outline) / 3
    assert Polygon(outline).hausdorff_distance(outer) <= 0.06 * SHARPEST
