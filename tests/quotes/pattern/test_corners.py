"""Four corners found on any outline that a garment may have, and never guessed where two choices come close."""

import math
from random import Random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point as Spot
from shapely import Polygon
from support_panels import (
    BULGING,
    CINCHER,
    CONCAVE,
    POINTED,
    RECTANGLE,
    SLANTED_CINCHER,
    SLIVER,
    SQUARE,
    curved_pattern,
)

from quotes.pattern.corners import Ambiguous, long_pair, nearest_vertices, sharpest_corners, sides_between
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.outline import clean_ring


def ring_of(area: Polygon) -> Polyline:
    return clean_ring([(x, y) for x, y in shapely.get_coordinates(area).tolist()[:-1]])


def with_points_every(ring: Polyline, step_mm: float) -> Polyline:
    """The same outline with many points on it."""
    return ring_of(Polygon(ring).segmentize(step_mm))


def rounded(ring: Polyline, radius_mm: float) -> Polyline:
    """The outline with its corners rounded off, arcs flattened to 0.005 mm or finer."""
    pieces = max(4, math.ceil(math.pi / 2 / (2 * math.acos(1 - 0.005 / radius_mm))))
    inner = Polygon(ring).buffer(-radius_mm, join_style="mitre")
    return ring_of(inner.buffer(radius_mm, quad_segs=pieces))


def found(ring: Polyline) -> list[Point]:
    corners = sharpest_corners(ring)
    assert isinstance(corners, tuple), corners
    return [ring[position] for position in corners]


def true_corners(ring: Polyline) -> list[Point]:
    """Of the named outlines: the lowest two and the highest two points that are no waist."""
    return [point for point in ring if point not in {(58.0, 110.0), (22.0, 110.0), (80.0, 120.0)}]


@pytest.mark.parametrize("outline", [RECTANGLE, CONCAVE, BULGING, SLIVER, CINCHER, SLANTED_CINCHER])
@pytest.mark.parametrize("step_mm", [500.0, 7.0, 0.4])
def test_corners_are_the_same_however_many_points_lie_between(outline: Polyline, step_mm: float):
    assert sorted(found(with_points_every(outline, step_mm))) == sorted(true_corners(outline))


@settings(max_examples=30)
@given(st.integers(1, 6), st.integers(12, 160), st.integers(0, 400))
def test_corners_of_curved_panels_wherever_the_ring_begins(number: int, points_a_side: int, start: int):
    panel = curved_pattern(points_a_side=points_a_side).panels[number - 1]
    ring = panel.outline
    at = start % len(ring)
    corners = {panel.front[0], panel.back[0], panel.front[-1], panel.back[-1]}
    assert set(found((*ring[at:], *ring[:at]))) == corners


@settings(max_examples=30)
@given(st.integers(0, 10**6), st.sampled_from([0.02, 0.05, 0.1]))
def test_a_hand_traced_line_keeps_its_corners(seed: int, wobble_mm: float):
    random = Random(seed)
    panel = curved_pattern(points_a_side=120).panels[2]
    corners = {panel.front[0], panel.back[0], panel.front[-1], panel.back[-1]}
    ring = tuple(
        (x, y) if (x, y) in corners else (x + random.gauss(0, wobble_mm), y + random.gauss(0, wobble_mm))
        for x, y in panel.outline
    )
    assert set(found(ring)) == corners


@pytest.mark.parametrize("radius_mm", [1.0, 3.0, 5.0, 10.0, 15.0, 20.0])
def test_a_rounded_corner_lies_in_the_middle_of_its_arc(radius_mm: float):
    """The middle of a quarter circle lies (√2 − 1) r from the corner."""
    ring = rounded(RECTANGLE, radius_mm)
    for point in found(ring):
        gap = min(math.dist(point, corner) for corner in RECTANGLE)
        assert gap == pytest.approx((math.sqrt(2) - 1) * radius_mm, abs=0.1 + 0.02 * radius_mm)


@pytest.mark.parametrize("degrees", range(0, 360, 15))
def test_turning_the_panel_turns_its_corners(degrees: int):
    turn = math.radians(degrees)
    ring = tuple(
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
        for x, y in with_points_every(CONCAVE, 5.0)
    )
    upright = sharpest_corners(with_points_every(CONCAVE, 5.0))
    assert sharpest_corners(ring) == upright


def test_a_waist_that_bends_25_degrees_outward_is_no_corner():
    bend = 120 * math.tan(math.radians(12.5))
    ring = ((0.0, 0.0), (60.0, 0.0), (60.0 + bend, 120.0), (60.0, 240.0), (0.0, 240.0))
    assert set(found(with_points_every(ring, 3.0))) == set(RECTANGLE)


@pytest.mark.parametrize("angle", [60, 75, 90, 105, 120])
def test_top_corners_of_60_to_120_degrees_are_corners(angle: int):
    rise = 60 / math.tan(math.radians(angle))
    ring = ((0.0, 0.0), (60.0, 0.0), (60.0, 240.0), (0.0, 240.0 - rise))
    assert set(found(with_points_every(ring, 2.0))) == set(ring)


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (SQUARE, "No four turns"),
        (POINTED, "Two choices"),
        (((0.0, 0.0), (80.0, 0.0), (40.0, 200.0)), "Only 3"),
        (ring_of(Spot(0, 0).buffer(100, quad_segs=90)), "Only 0"),
    ],
)
def test_what_is_not_clear_is_not_guessed(outline: Polyline, words: str):
    corners = sharpest_corners(clean_ring(outline))
    assert isinstance(corners, Ambiguous)
    assert corners.sentence.startswith(words)
    assert set(corners.candidates) <= set(outline)


def test_marked_turn_points_narrow_the_choice():
    marks = nearest_vertices(POINTED, ((0.4, 0.1), (70.0, 0.0), (66.0, 250.0), (4.0, 250.0), (4.0, 250.0)))
    assert marks == [0, 2, 3, 4, 4]
    assert sharpest_corners(POINTED, among=marks) == (0, 2, 3, 4)


def test_every_vertex_marked_is_as_good_as_none():
    ring = with_points_every(CONCAVE, 4.0)
    assert sharpest_corners(ring, among=range(len(ring))) == sharpest_corners(ring)


def test_sides_run_from_corner_to_corner_round_the_ring():
    assert sides_between(RECTANGLE, (1, 2, 3, 0)) == (
        RECTANGLE[1:3],
        RECTANGLE[2:4],
        (RECTANGLE[3], RECTANGLE[0]),
        RECTANGLE[:2],
    )


@pytest.mark.parametrize(
    ("lengths", "pair"), [((240, 60, 230, 70), 0), ((60, 240, 70, 230), 1), ((100, 95, 100, 95), None)]
)
def test_long_sides_are_a_tenth_longer_together(lengths: tuple[float, ...], pair: int | None):
    assert long_pair(lengths) == pair
