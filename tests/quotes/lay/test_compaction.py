"""Lays pushed together: as short as plain geometry says, and never a lay that is not true."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, unary_union
from support_lays import simple_outlines

from quotes.lay.check import lay_faults
from quotes.lay.compaction import compacted
from quotes.lay.convex import convex_parts
from quotes.lay.lay_plan import Effort, LayPiece, LayProblem
from quotes.lay.nest import lay
from quotes.pattern.geometry import Polyline


def shifted(outline: Polyline, along: float, across: float = 0.0) -> Polyline:
    return tuple((x + along, y + across) for x, y in outline)


def length(outlines: tuple[Polyline, ...]) -> float:
    return max(x for outline in outlines for x, _ in outline)


SQUARE: Polyline = ((0, 0), (10, 0), (10, 10), (0, 10))
# Its slanted side falls back by 30 over a height of 40, along a side of 50.
TRAPEZIUM: Polyline = ((0, 0), (80, 0), (50, 40), (0, 40))


@pytest.mark.parametrize("between", [40.0, 2.5, 2.0, 1.9])
def test_two_squares_end_up_the_spacing_apart(between: float):
    pushed = compacted([SQUARE, shifted(SQUARE, 10 + between)], width=12.0, spacing=2.0)
    assert length(pushed) == pytest.approx(22, abs=1e-4)


def test_slanted_sides_keep_the_spacing_across_their_slant():
    """Two trapezia fit into a box of 80 + 50; apart by 4 across a side of 50 over 40 makes 4 × 50 ÷ 40 along."""
    turned = tuple((130.0 - x, 40.0 - y) for x, y in TRAPEZIUM)
    pushed = compacted([TRAPEZIUM, shifted(turned, 20)], width=40.0, spacing=4.0)
    assert length(pushed) == pytest.approx(130 + 5, abs=1e-4)
    assert Polygon(pushed[0]).distance(Polygon(pushed[1])) == pytest.approx(4, abs=1e-4)


def test_a_piece_slides_into_the_hollow_of_another():
    hollow: Polyline = ((0, 0), (60, 0), (60, 10), (20, 10), (20, 30), (60, 30), (60, 40), (0, 40))
    pushed = compacted([hollow, shifted(SQUARE, 65, 15)], width=40.0, spacing=1.0)
    assert length(pushed) == pytest.approx(60, abs=1e-4)
    assert Polygon(pushed[0]).distance(Polygon(pushed[1])) >= 1


def test_a_piece_a_little_off_the_cloth_comes_back():
    pushed = compacted([SQUARE, shifted(SQUARE, 0, 10.01)], width=20.005, spacing=0.0)
    assert max(y for outline in pushed for _, y in outline) <= 20.005
    assert min(y for outline in pushed for _, y in outline) >= 0
    assert not Polygon(pushed[0]).overlaps(Polygon(pushed[1]))


@pytest.mark.parametrize("spacing", [0.0, 2.0])
def test_pieces_that_fill_the_width_exactly_come_back_onto_the_cloth(spacing: float):
    """Six and four across make ten: no length that is kept beyond that fits, however small. Along, both are ten."""
    six: Polyline = ((0, 0), (10, 0), (10, 6), (0, 6))
    four: Polyline = ((0, 0), (10, 0), (10, 4), (0, 4))
    outlines = [six, shifted(four, 3, 6.0005 + spacing)]
    pushed = compacted(outlines, width=10.0 + spacing, spacing=spacing)
    assert length(pushed) == pytest.approx(10, abs=1e-4)
    assert max(y for outline in pushed for _, y in outline) <= 10 + spacing + 1e-6
    assert Polygon(pushed[0]).distance(Polygon(pushed[1])) >= spacing - 1e-6
    assert Polygon(pushed[0]).intersection(Polygon(pushed[1])).area <= 1e-5


def test_curves_drawn_with_thousands_of_corners_are_pushed_nearly_as_near(monkeypatch: pytest.MonkeyPatch):
    """Discs of 10 across, on a width of 20 each along the cloth from the one before by √(20² − 10²) at the most."""
    parts: list[int] = []

    def counted(outline: Polyline) -> tuple[tuple[int, ...], ...]:
        parts.append(len(found := convex_parts(outline)))
        return found

    monkeypatch.setattr("quotes.lay.compaction.convex_parts", counted)
    turns = [2 * math.pi * place / 3000 for place in range(3000)]
    disc = tuple((5 + 5 * math.cos(turn), 5 + 5 * math.sin(turn)) for turn in turns)
    pushed = compacted([disc, shifted(disc, 12, 4.9), shifted(disc, 24)], width=15.0, spacing=0.0)
    assert length(pushed) <= 10 + 2 * math.sqrt(10**2 - 5**2) + 0.02
    assert not Polygon(pushed[0]).intersects(Polygon(pushed[1]))
    assert max(parts) < 100


def test_pieces_too_small_to_be_told_from_points_are_pushed_like_others():
    speck = tuple((x * 1e-11, y * 1e-11) for x, y in SQUARE)
    assert length(compacted([speck, shifted(speck, 3)], width=10.0, spacing=0.0)) <= 3
    assert length(compacted([speck, shifted(SQUARE, 3)], width=10.0, spacing=0.0)) == pytest.approx(10, abs=1e-4)


def test_what_cannot_be_moved_apart_stays_as_it_was():
    on_top = [SQUARE, SQUARE, SQUARE]
    assert compacted(on_top, width=10.0, spacing=0.0) == tuple(on_top)


@settings(max_examples=30, deadline=None)
@given(simple_outlines())
def test_convex_parts_make_up_the_outline(outline: Polyline):
    """A shape is convex where it is its own hull; areas are those of GEOS."""
    parts = [Polygon([outline[place] for place in part]) for part in convex_parts(outline)]
    for part in parts:
        assert part.exterior.is_ccw
        assert part.area == pytest.approx(part.convex_hull.area, rel=1e-9)
    whole = Polygon(outline)
    assert math.fsum(part.area for part in parts) == pytest.approx(whole.area, rel=1e-9)
    assert unary_union(parts).symmetric_difference(whole).area < 1e-6 * whole.area


@settings(max_examples=15, deadline=None)
@given(st.lists(simple_outlines(), min_size=1, max_size=5), st.sampled_from([0.0, 2.0]))
def test_rows_of_any_shapes_stay_true_and_grow_no_longer(outlines: list[Polyline], spacing: float):
    pieces = tuple(LayPiece(label=str(place), outline=outline, copies=2) for place, outline in enumerate(outlines))
    problem = LayProblem(width=250.0, pieces=pieces, spacing=spacing)
    plan = lay(problem, Effort.NONE)
    assert not lay_faults(problem, plan)
    lying = [placement.outline for placement in plan.placements]
    again = compacted(lying, width=problem.width, spacing=spacing)
    assert length(again) <= plan.length * (1 + 1e-6)
