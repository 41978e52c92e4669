"""Thread by the geometry of stitch type 301, and cloth that shrinks; source beside each."""

from dataclasses import replace

import pytest
from support_patterns import block_a, taken_off

from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.pattern.block import draw_block
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.stitching import channel_runs, lockstitch_ratio
from quotes.takeoff.take_off import take_off


def test_lab_50_geometric_ratio():
    """Lockstitch geometry, class 301 of ISO 4915: C = 2 + 2TS; T 0.01 in, S 10 a inch: 2.2."""
    assert lockstitch_ratio(0.01 * 25.4, 25.4 / 10) == pytest.approx(2.2)


def test_lab_51_metric_corset_weight():
    """The same formula: T 1.2 mm, stitch 2.5 mm: 2.96; 12.00 m of seam take 35.52 m."""
    assert lockstitch_ratio(1.2, 2.5) == pytest.approx(2.96)
    assert 12.00 * lockstitch_ratio(1.2, 2.5) == pytest.approx(35.52)


def test_lab_52_handbook_ratio_is_short_for_four_plies():
    """Common ratio table: 2.5 × seam for 301, 220 cm take 550 cm; four plies of 0.5 mm take more at every length."""
    assert 220 * 2.5 == 550
    assert all(lockstitch_ratio(2.0, stitch) > 2.5 for stitch in (2.0, 2.5, 3.0))


def test_lab_53_waste_is_added_on_the_measured_thread():
    """Unpicking method (NF G07-101 for the unravelling): 540 with 15 % waste is 621; the thread line adds alike."""
    assert pytest.approx(621) == 540 * 1.15
    takeoff = taken_off(block_a(), toile=False)
    line = next(row for row in takeoff.lines if row.code == "thread")
    assert float(line.quantity) * 1000 == pytest.approx(takeoff.thread_mm * 1.15 + 10_000, abs=1)


def test_lab_54_shorter_stitches_take_more_thread():
    """Chauhan & Ghosh, IJFTR; Malek et al., Autex Research Journal 20(4): stitch density dominates."""
    assert lockstitch_ratio(1.2, 2.0) > lockstitch_ratio(1.2, 2.5) > lockstitch_ratio(1.2, 3.0)


def test_lab_55_stitch_length_and_density():
    """25.4 ÷ 2.5 = 10.16 stitches a inch."""
    assert pytest.approx(10.16) == 25.4 / 2.5


def test_a_ply_thickness_in_the_construction_replaces_the_flat_ratio():
    construction = replace(shipped("two-layer"), ply_thickness_mm=0.5)
    pattern = draw_block(block_a()).pattern
    takeoff = take_off(pattern, construction, Choices(), plain_shelf(construction))
    assert takeoff.thread_mm != pytest.approx(taken_off(block_a()).thread_mm)
    # Seam passes lie through two plies: 2 + 2 × 1.0 ÷ 3.0 and 2 + 2 × 1.0 ÷ 2.0.
    sewn = 2.489 * 2 * (lockstitch_ratio(1.0, 3.0) + lockstitch_ratio(1.0, 2.0))
    assert takeoff.thread_mm / 1000 > sewn


def test_std_01_and_02_cloth_to_buy_is_need_over_what_is_kept():
    """ISO 5077: 350 mm marks that measure 339.5 mm are −3.0 %; its inverse: 1000 mm take 1030.93, not 1030."""
    change = (339.5 - 350) / 350
    assert change == pytest.approx(-0.03)
    assert 1000 / (1 + change) == pytest.approx(1030.93, abs=0.005)
    construction = shipped("single-layer")
    shelf = plain_shelf(construction)
    cloth = replace(shelf.cloths["outer"], shrinkage_share=0.03)
    pattern = draw_block(block_a()).pattern
    shrinking = take_off(pattern, construction, Choices(), replace(shelf, cloths={"outer": cloth}))
    plain = take_off(pattern, construction, Choices(), shelf)
    before, after = (next(r for r in t.lines if r.code == "cloth.outer") for t in (plain, shrinking))
    assert float(after.quantity) == pytest.approx(float(before.quantity) / 0.97, abs=0.001)


def test_without_bones_no_channel_is_sewn():
    assert channel_runs((), shipped("two-layer")) == ()
