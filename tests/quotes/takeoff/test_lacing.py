"""Where the grommets sit on back edges of any height, near the waist or far from it.

Sources: the column of a common corset (15 mm from the ends, 25 mm apart, 20 mm within 40 mm of the waist; common
practice) and its count 1 + ⌈(t − m − z) ÷ d⌉ + ⌈2z ÷ dw⌉ + ⌈(s − m − z) ÷ d⌉; the rest is geometry.
"""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point
from support_patterns import block_a, taken_off, trapezoid_pattern

from quotes.construction.construction import Choices, Grommets
from quotes.construction.shipped import shipped
from quotes.pattern.block import draw_block
from quotes.pattern.panels import Panel
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.lacing import grommet_heights_mm
from quotes.takeoff.take_off import take_off
from quotes.takeoff.takeoff import Takeoff

USUAL = Grommets()
TWO = shipped("two-layer")


def back_panel(above: float, below: float, *, lean: float = 0.0) -> Panel:
    """A panel 80 mm wide whose back edge ends so far above and below the waist, and leans so much."""
    panel = trapezoid_pattern((80, 80 + lean), height=above + below).panels[0]
    return replace(panel, waist_mm=below)


def off(above: float, below: float) -> Takeoff:
    front, back = trapezoid_pattern((60, 60), (60, 60), height=300.0).panels
    pattern = replace(
        trapezoid_pattern((60, 60), (60, 60), height=300.0),
        panels=(front, replace(back_panel(above, below), number=back.number)),
        ease=frozenset({1}),
    )
    # Spirals at the lacing, which are cut to any length: a flat that short is not sold.
    construction = replace(TWO, bones=replace(TWO.bones, back_kind="spiral"))
    return take_off(pattern, construction, Choices(), plain_shelf(construction))


@settings(max_examples=300)
@given(
    st.floats(0, 300),
    st.floats(0, 300),
    st.floats(-60, 60),
    st.builds(
        Grommets,
        margin_mm=st.floats(5, 60),
        waist_zone_mm=st.floats(0, 120),
        pitch_mm=st.floats(20, 60),
        waist_pitch_mm=st.floats(8, 20),
    ),
)
def test_no_grommet_lies_off_the_edge(above: float, below: float, lean: float, column: Grommets):
    """Anywhere the edge may end: each grommet is level with the finished edge, the usual distance from its ends."""
    if above + below < 4:
        return
    panel = back_panel(above, below, lean=lean)
    heights = grommet_heights_mm(panel, column)
    edge = LineString(panel.back)
    ends = Point(panel.back[0]), Point(panel.back[-1])
    assert heights == tuple(sorted(heights))
    for height in heights:
        level = LineString([(-1000, panel.waist_mm + height), (1000, panel.waist_mm + height)])
        spot = edge.intersection(level)
        assert not spot.is_empty, f"{height} mm lies off an edge from {-below} to {above} mm"
        if len(heights) > 1:
            assert min(spot.distance(end) for end in ends) >= column.margin_mm - 1e-6
    if len(heights) == 1:
        assert above + below < 2 * column.margin_mm + column.waist_pitch_mm + 0.01
        assert heights[0] == pytest.approx((above - below) / 2)
        return
    # The first and the last lie at the usual distance from the ends.
    assert (heights[0], heights[-1]) == pytest.approx((column.margin_mm - below, above - column.margin_mm), abs=0.02)


@settings(max_examples=300)
@given(st.floats(0, 300), st.floats(0, 300))
def test_they_stand_evenly_and_never_further_apart_at_the_waist(above: float, below: float):
    if above + below < 50:
        return
    heights = grommet_heights_mm(back_panel(above, below), USUAL)
    spaces = [upper - lower for lower, upper in pairwise(heights)]
    assert all(7.5 <= space <= USUAL.pitch_mm + 0.01 for space in spaces)
    # At most three spacings: below the waist, at the waist, above it; the one at the waist is the closest.
    runs = [spaces[0]]
    for space in spaces[1:]:
        if not math.isclose(space, runs[-1], abs_tol=0.02):
            runs.append(space)
    assert len(runs) <= 3
    at_waist = [
        upper - lower for lower, upper in pairwise(heights) if min(above, 15) > (lower + upper) / 2 > -min(below, 15)
    ]
    assert all(space <= min(spaces) + 0.02 for space in at_waist)


@settings(max_examples=200)
@given(st.floats(55, 300), st.floats(55, 300))
def test_their_number_is_the_trades_where_the_waist_zone_has_room(above: float, below: float):
    above, below = round(above, 1), round(below, 1)
    count = 1 + math.ceil(round(above - 55, 2) / 25) + 4 + math.ceil(round(below - 55, 2) / 25)
    assert len(grommet_heights_mm(back_panel(above, below), USUAL)) == count


@pytest.mark.parametrize(
    ("above", "below", "heights"),
    [
        # A belt 60 mm tall about the waist: 30 mm between the margins, two spaces of 15 mm.
        (30, 30, (-15, 0, 15)),
        # A waspie that ends 20 mm below the waist: 5 mm below it is the last; 45 mm to the end of the zone in three
        # spaces of 15 mm, then 65 mm more in three of 21.67 mm.
        (120, 20, (-5, 10, 25, 40, 40 + 65 / 3, 40 + 130 / 3, 105)),
        # 1 mm beyond the zone is no place for a grommet of its own: it joins the five spaces of the zone, 16.2 mm each.
        (56, 55, (-40, -23.8, -7.6, 8.6, 24.8, 41)),
        # 10 mm between the margins hold one, in the middle.
        (25, 15, (5,)),
    ],
)
def test_short_backs_by_hand(above: float, below: float, heights: tuple[float, ...]):
    assert grommet_heights_mm(back_panel(above, below), USUAL) == pytest.approx(heights)


def test_a_back_too_short_for_two_grommets_is_told():
    takeoff = off(25, 15)
    told = {found.code: found.message for found in takeoff.findings}
    assert takeoff.grommets.per_side == 1
    assert told["takeoff.back-too-short"] == (
        "The back edge is 40 mm tall: 15 mm from its ends there is room for one grommet only."
    )


def test_a_back_that_ends_at_the_waist_is_told():
    takeoff = off(200, 10)
    told = {found.code: found.message for found in takeoff.findings}
    assert told["takeoff.no-grommet-at-waist"] == (
        "The back edge ends 10 mm below the waist; 15 mm from its end no grommet lies at the waist."
    )
    assert "takeoff.no-grommet-at-waist" not in {found.code for found in off(200, 15).findings}


def test_a_common_back_is_told_nothing_of():
    """Worked example A: 12 a side (common practice, by hand 3 + 4 + 4 + 1)."""
    takeoff = taken_off(block_a())
    assert takeoff.grommets.per_side == 12
    assert not takeoff.findings
    back = draw_block(block_a()).pattern.panels[-1]
    assert grommet_heights_mm(back, TWO.grommets)[0] == -125
