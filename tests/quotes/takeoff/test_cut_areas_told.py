"""The area of cut pieces as pages print it: of the cut line with its corners, by hand and by shapely's own offset."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon
from support_patterns import block_a, block_b, taken_off, trapezoid_pattern

from quotes.construction.construction import Allowances, Choices
from quotes.construction.shipped import shipped
from quotes.pattern.block import Block, draw_block
from quotes.pattern.cutline import EdgeAllowances, cut_outline_area_mm2
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import take_off
from quotes.takeoff.takeoff import MaterialLine, Takeoff


def line(takeoff: Takeoff, code: str) -> MaterialLine:
    return next(line for line in takeoff.lines if line.code == code)


@given(*[st.floats(0, 60) for _ in range(4)])
def test_a_rectangle_by_hand(front: float, back: float, top: float, bottom: float):
    panel = trapezoid_pattern((80, 80), height=250).panels[0]
    allowances = EdgeAllowances(front_mm=front, back_mm=back, top_mm=top, bottom_mm=bottom)
    assert cut_outline_area_mm2(panel, allowances) == pytest.approx((80 + front + back) * (250 + top + bottom))


@pytest.mark.parametrize("block", [block_a(), block_b()])
def test_an_even_allowance_is_shapelys_mitred_offset(block: Block):
    for panel in draw_block(block).pattern.panels:
        even = EdgeAllowances(front_mm=12.7, back_mm=12.7, top_mm=12.7, bottom_mm=12.7)
        expected = Polygon(panel.outline).buffer(12.7, join_style="mitre", mitre_limit=10).area
        assert cut_outline_area_mm2(panel, even) == pytest.approx(expected, rel=1e-6)


def test_the_cloth_line_tells_the_area_with_its_corners():
    """Six panels of 60 × 240: seams 10, centre front 10, centre back 50, trimming 10; both halves, one layer."""
    construction = replace(
        shipped("single-layer"),
        allowances=Allowances(seam_mm=10, centre_front_mm=10, centre_back_mm=50, top_mm=10, bottom_mm=10),
    )
    pattern = trapezoid_pattern(*[(60.0, 60.0)] * 6)
    takeoff = take_off(pattern, construction, Choices(), plain_shelf(construction))
    with_corners = 2 * (5 * 80 * 260 + 120 * 260)
    without = with_corners - 2 * (5 * 4 * 10 * 10 + 2 * 10 * 10 + 2 * 50 * 10)
    assert sum(cloth.area_mm2 for cloth in takeoff.cloths if cloth.role == "outer") == pytest.approx(without)
    assert f"12 pieces of {with_corners / 1e6:.3f} m² together" in line(takeoff, "cloth.outer").reason.counted
    assert f"12 pieces of {with_corners / 1e6:.3f} m² together" in line(takeoff, "toile").reason.counted
    # The quick length is reckoned from the trade's formula, which leaves corners out, and says so.
    for code in ("cloth.outer", "toile"):
        assert f"{without / 1e6:.3f} m² without corners" in line(takeoff, code).reason.formula


def test_a_modesty_panel_is_counted_with_its_pieces():
    """Two pieces 170 mm wide, 20 mm shorter than centre back (270.2 mm as drawn, 250 tall)."""
    counted = [
        line(taken_off(block_a(), "single-layer", modesty_panel=panel), "cloth.outer").reason.counted
        for panel in (False, True)
    ]
    plain, more = (float(text.split(" of ")[1].split(" m²")[0]) for text in counted)
    assert more - plain == pytest.approx(2 * 170 * 250.2 / 1e6, abs=0.001)
