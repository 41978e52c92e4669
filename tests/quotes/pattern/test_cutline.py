"""Areas, lengths and offsets against closed forms and general-purpose geometry libraries; source beside each."""

import math

import pyclipper
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely import LineString, Polygon
from support_patterns import block_a, scaled, trapezoid_pattern

from quotes.pattern.block import draw_block
from quotes.pattern.cutline import EdgeAllowances, cut_area_mm2, cut_outline, offset_ring
from quotes.pattern.geometry import length_mm, point_along, ring_area_mm2, signed_area_mm2, x_at
from quotes.pattern.model import EdgeName

RECTANGLE = (
    ((0.0, 0.0), (100.0, 0.0)),
    ((100.0, 0.0), (100.0, 60.0)),
    ((100.0, 60.0), (0.0, 60.0)),
    ((0.0, 60.0), (0.0, 0.0)),
)


def even(distance: float) -> EdgeAllowances:
    return EdgeAllowances(front_mm=distance, back_mm=distance, top_mm=distance, bottom_mm=distance)


def test_geo_10_shoelace():
    """Encyclopaedia article “Shoelace formula”: 16.5, counter-clockwise."""
    ring = ((1, 6), (3, 1), (7, 2), (4, 4), (8, 5))
    assert signed_area_mm2(ring) == pytest.approx(16.5)
    assert ring_area_mm2(ring) == pytest.approx(16.5)
    assert Polygon(ring).centroid.x == pytest.approx(3.888889, abs=1e-6)


def test_geo_10b_clockwise():
    """Rosetta Code, “Shoelace formula for polygonal area”: 30, signed −30."""
    ring = ((3, 4), (5, 11), (12, 8), (9, 5), (5, 6))
    assert signed_area_mm2(ring) == pytest.approx(-30)
    assert ring_area_mm2(ring) == pytest.approx(30)


def test_geo_11_a_hole_is_taken_off():
    """10 × 10 less 4 × 4: a panel has no hole (cut-outs are refused), but areas must be areas."""
    assert Polygon([(0, 0), (10, 0), (10, 10), (0, 10)], [[(3, 3), (7, 3), (7, 7), (3, 7)]]).area == 84


def test_geo_12_outward_offset_is_mitred():
    """Offset polygon: 100 × 60 by 10 has 9600 and 400 round; pyclipper agrees."""
    ring = offset_ring(RECTANGLE, [10.0] * 4)
    assert ring_area_mm2(ring) == pytest.approx(9600)
    assert length_mm((*ring, ring[0])) == pytest.approx(400)
    clipper = pyclipper.PyclipperOffset(miter_limit=10.0)
    clipper.AddPath([(0, 0), (100, 0), (100, 60), (0, 60)], pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    assert pyclipper.Area(clipper.Execute(10)[0]) == pytest.approx(ring_area_mm2(ring))


def test_geo_13_and_14_our_corners_are_neither_round_nor_bevelled():
    """Steiner: round 9514.16, bevel 9400; a cut line is mitred, so more than both."""
    assert ring_area_mm2(offset_ring(RECTANGLE, [10.0] * 4)) > 6000 + 320 * 10 + math.pi * 100 > 9400


def test_geo_15_inward_offset():
    """100 × 60 by 10 inward is 80 × 40."""
    assert ring_area_mm2(offset_ring(RECTANGLE, [-10.0] * 4)) == pytest.approx(3200)


def test_geo_16_offset_of_a_3_4_5_triangle():
    """Tangential polygon formula: 60,000 + 1200 × 10 + 100 Σ cot(α ÷ 2) = 72,600, 1320 round."""
    edges = (((0.0, 0.0), (400.0, 0.0)), ((400.0, 0.0), (0.0, 300.0)), ((0.0, 300.0), (0.0, 0.0)))
    ring = offset_ring(edges, [10.0] * 3)
    assert ring_area_mm2(ring) == pytest.approx(72_600)
    assert length_mm((*ring, ring[0])) == pytest.approx(1320)


def test_geo_17_one_sided_offset_keeps_its_corner():
    """(0,0)-(100,0)-(100,60) to the left by 10: (0,10)-(90,10)-(90,60)."""
    moved = LineString([(0, 0), (100, 0), (100, 60)]).offset_curve(10, join_style="mitre")
    assert [tuple(map(float, point)) for point in moved.coords] == [(0, 10), (90, 10), (90, 60)]


def test_each_edge_has_its_own_allowance():
    panel = trapezoid_pattern((60.0, 60.0), (60.0, 60.0)).panels[0]
    ring = cut_outline(panel, EdgeAllowances(front_mm=10, back_mm=50, top_mm=5, bottom_mm=20))
    xs, ys = zip(*ring, strict=True)
    assert (min(xs), max(xs), min(ys), max(ys)) == pytest.approx((-10, 110, -20, 245))


def test_trapezoid_in_closed_form():
    panel = trapezoid_pattern((50.0, 80.0), (50.0, 80.0), height=240.0).panels[0]
    assert panel.net_area_mm2 == pytest.approx((50 + 80) / 2 * 240)
    assert panel.edge_mm(EdgeName.BACK) == pytest.approx(math.hypot(240, 30))
    assert panel.waist_width_mm == pytest.approx(65)
    assert x_at(panel.back, 60.0) == pytest.approx(80 - 30 * 60 / 240)
    assert point_along(panel.front, 60.0) == (0.0, 60.0)
    formula = cut_area_mm2(panel, even(10.0))
    assert formula == pytest.approx(panel.net_area_mm2 + 10 * (240 + math.hypot(240, 30) + 50 + 80))


def test_an_arc_flattened_at_our_tolerance_keeps_its_length():
    """π · 50 (closed form) within 0.1 mm at 0.005 mm flatness."""
    step = 2 * math.acos(1 - 0.005 / 50)
    count = math.ceil(math.pi / step)
    arc = [(50 * math.cos(math.pi * k / count), 50 * math.sin(math.pi * k / count)) for k in range(count + 1)]
    assert length_mm(arc) == pytest.approx(157.07963267948963, abs=0.1)


def test_geo_19_cubic_length_by_integration():
    """Arc-length integral of (0,0) (0,50) (50,100) (100,100): 154.88679880318648 (scipy)."""

    def speed(t: float) -> float:
        dx = 3 * (2 * (1 - t) * t * 50 + t * t * 50)
        dy = 3 * ((1 - t) ** 2 * 50 + 2 * (1 - t) * t * 50)
        return math.hypot(dx, dy)

    assert quad(speed, 0, 1)[0] == pytest.approx(154.88679880318648, abs=1e-9)


@given(st.floats(0, 60), st.floats(0, 60), st.floats(0, 60), st.floats(0, 60))
def test_the_cut_line_holds_the_stitching_line(front: float, back: float, top: float, bottom: float):
    for panel in draw_block(block_a()).pattern.panels[:3]:
        ring = cut_outline(panel, EdgeAllowances(front_mm=front, back_mm=back, top_mm=top, bottom_mm=bottom))
        cut = Polygon(ring)
        assert cut.is_valid
        assert cut.buffer(1e-6).contains(Polygon(panel.outline))


@given(st.floats(min_value=0.2, max_value=5))
def test_scaling_scales_lengths_and_areas(factor: float):
    pattern = draw_block(block_a()).pattern
    for panel, larger in zip(pattern.panels, scaled(pattern, factor).panels, strict=True):
        assert larger.net_area_mm2 == pytest.approx(panel.net_area_mm2 * factor**2)
        for name in EdgeName:
            assert larger.edge_mm(name) == pytest.approx(panel.edge_mm(name) * factor)
