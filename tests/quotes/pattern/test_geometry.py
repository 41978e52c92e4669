"""Lengths, areas and levels of polylines against closed forms and published examples; source beside each."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely import Polygon
from support_panels import curved_pattern
from support_patterns import scaled, trapezoid_pattern

from quotes.pattern.drawing import FLATNESS_MM
from quotes.pattern.geometry import length_mm, mirrored, point_along, ring_area_mm2, signed_area_mm2, turned, x_at
from quotes.pattern.panels import EdgeName


def test_geo_10_shoelace():
    """Encyclopaedia article “Shoelace formula”: 16.5, counter-clockwise."""
    ring = ((1, 6), (3, 1), (7, 2), (4, 4), (8, 5))
    assert signed_area_mm2(ring) == pytest.approx(16.5)
    assert ring_area_mm2(ring) == pytest.approx(16.5)
    assert Polygon(ring).centroid.coords[0] == pytest.approx((3.888889, 3.666667), abs=1e-6)


def test_geo_10b_clockwise():
    """Rosetta Code, “Shoelace formula for polygonal area”: 30, signed −30."""
    ring = ((3, 4), (5, 11), (12, 8), (9, 5), (5, 6))
    assert signed_area_mm2(ring) == pytest.approx(-30)
    assert ring_area_mm2(ring) == pytest.approx(30)


def test_geo_11_a_hole_is_taken_off():
    """10 × 10 less 4 × 4: a panel has no hole (cut-outs are refused), but areas must be areas."""
    assert Polygon([(0, 0), (10, 0), (10, 10), (0, 10)], [[(3, 3), (7, 3), (7, 7), (3, 7)]]).area == 84


def test_areas_keep_their_digits_far_from_the_origin():
    """A piece lies up to 100 m off in some files; its area is that of 60 × 240 all the same."""
    far = tuple((x + 99_000.0, y - 99_000.0) for x, y in ((0.0, 0.0), (60.0, 0.0), (60.0, 240.0), (0.0, 240.0)))
    assert signed_area_mm2(far) == pytest.approx(14_400, rel=1e-12)


def test_geo_21_an_arc_flattened_at_our_tolerance_keeps_its_length():
    """π · 50 = 157.0796 (closed form) within 0.1 mm."""
    step = 2 * math.acos(1 - FLATNESS_MM / 50)
    count = math.ceil(math.pi / step)
    arc = [(50 * math.cos(math.pi * k / count), 50 * math.sin(math.pi * k / count)) for k in range(count + 1)]
    assert length_mm(arc) == pytest.approx(157.07963267948963, abs=0.1)


def test_geo_19_cubic_length_by_integration():
    """Arc-length integral of (0,0) (0,50) (50,100) (100,100): 154.88679880318648 (scipy)."""

    def speed(t: float) -> float:
        dx = 3 * (2 * (1 - t) * t * 50 + t * t * 50)
        dy = 3 * ((1 - t) ** 2 * 50 + 2 * (1 - t) * t * 50)
        return math.hypot(dx, dy)

    def at(t: float) -> tuple[float, float]:
        u = 1 - t
        return 3 * u * t * t * 50 + t**3 * 100, 3 * u * u * t * 50 + 3 * u * t * t * 100 + t**3 * 100

    assert quad(speed, 0, 1)[0] == pytest.approx(154.88679880318648, abs=1e-9)
    assert length_mm([at(k / 60) for k in range(61)]) == pytest.approx(154.88679880318648, abs=0.1)


def test_trapezoid_in_closed_form():
    panel = trapezoid_pattern((50.0, 80.0), (50.0, 80.0), height=240.0).panels[0]
    assert panel.net_area_mm2 == pytest.approx((50 + 80) / 2 * 240)
    assert panel.edge_mm(EdgeName.BACK) == pytest.approx(math.hypot(240, 30))
    assert panel.waist_width_mm == pytest.approx(65)
    assert x_at(panel.back, 60.0) == pytest.approx(80 - 30 * 60 / 240)
    assert x_at(panel.back, 241.0) is None


def test_points_along_a_line_are_held_between_its_ends():
    line = ((0.0, 0.0), (0.0, 30.0), (40.0, 30.0))
    assert point_along(line, 50.0) == (20.0, 30.0)
    assert point_along(line, -5.0) == (0.0, 0.0)
    assert point_along(line, 99.0) == (40.0, 30.0)


def test_a_line_in_the_mirror_keeps_its_order():
    assert mirrored(((1.0, 2.0), (3.0, 4.0))) == ((-1.0, 2.0), (-3.0, 4.0))


def test_a_quarter_turn_is_anticlockwise():
    assert turned(((1.0, 0.0), (0.0, 2.0)), 90) == (pytest.approx((0, 1)), pytest.approx((-2, 0)))


@given(st.floats(min_value=0.2, max_value=5))
def test_scaling_scales_lengths_and_areas(factor: float):
    pattern = curved_pattern()
    for panel, larger in zip(pattern.panels, scaled(pattern, factor).panels, strict=True):
        assert larger.net_area_mm2 == pytest.approx(panel.net_area_mm2 * factor**2)
        assert larger.waist_width_mm == pytest.approx(panel.waist_width_mm * factor)
        for name in EdgeName:
            assert larger.edge_mm(name) == pytest.approx(panel.edge_mm(name) * factor)
