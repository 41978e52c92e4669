"""What must hold for any garment: scale, mirror, order, layers, printing and reading back.

Sources: geometry (lengths scale by k, areas by k²); the rest is common practice, no source.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_patterns import block_a, scaled

from inventory.ground.findings import Refused
from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped, shipped_codes
from quotes.labour.estimate import estimate_labour
from quotes.labour.standard import default_times
from quotes.pattern.block import Block, Level, draw_block
from quotes.pattern.panels import EdgeName, Pattern
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.edges import binding_mm, waist_tape_mm
from quotes.takeoff.pieces import pieces_to_cut
from quotes.takeoff.take_off import take_off
from quotes.takeoff.takeoff import Takeoff


@st.composite
def blocks(draw: st.DrawFn) -> Block:
    """Measurements of anybody: waists of 50 to 130 cm, two to twelve panels a half."""
    waist = draw(st.integers(500, 1300))
    gap = draw(st.integers(0, 80))
    return Block(
        panels_per_half=draw(st.integers(2, 12)),
        lacing_gap_mm=gap,
        levels=(
            Level(height_mm=150, girth_mm=waist + draw(st.integers(0, 250)), take_in_mm=draw(st.integers(0, 20))),
            Level(height_mm=0, girth_mm=waist, take_in_mm=draw(st.integers(0, 120))),
            Level(height_mm=-160, girth_mm=waist + draw(st.integers(0, 350))),
        ),
        top=(draw(st.integers(120, 220)), draw(st.integers(90, 160)), draw(st.integers(110, 180))),
        bottom=(-draw(st.integers(110, 200)), -draw(st.integers(80, 150)), -draw(st.integers(100, 180))),
    )


def off(pattern: Pattern, code: str = "two-layer", **choices: object) -> Takeoff:
    construction = shipped(code)
    return take_off(pattern, construction, Choices(**choices), plain_shelf(construction))  # type: ignore[arg-type]


def minutes(takeoff: Takeoff) -> float:
    return estimate_labour(takeoff.work, takeoff.construction, default_times()).total_min


@settings(max_examples=60, deadline=None)
@given(blocks(), st.sampled_from(shipped_codes()))
def test_anybodys_block_is_taken_off_or_refused_in_a_sentence(block: Block, code: str):
    try:
        takeoff = off(draw_block(block).pattern, code)
    except Refused:
        return
    assert len({piece.label for piece in takeoff.pieces}) == len(takeoff.pieces) == takeoff.work.pieces
    assert takeoff.work.seam_passes >= takeoff.work.seams
    assert minutes(takeoff) > 0
    assert all(line.quantity >= 0 and line.buy_quantity >= 0 for line in takeoff.lines)


@settings(max_examples=40, deadline=None)
@given(blocks(), st.sampled_from(shipped_codes()))
def test_by_default_nothing_is_lost_but_what_the_trade_says(block: Block, code: str):
    """Thread 15 % and 25 m for toile and hand; flats, fusible and toile as drawn: no piece spoilt, no length added."""
    try:
        takeoff = off(draw_block(block).pattern, code)
    except Refused:
        return
    found = {line.code: line for line in takeoff.lines}
    drawn = {cloth.role: cloth.lay_mm for cloth in takeoff.cloths}
    flats = [line for line in takeoff.lines if line.needed.family == "flat"]
    assert sum(line.quantity for line in flats) == sum(run.count for run in takeoff.bones if run.kind == "flat")
    assert {(line.reason.waste, line.reason.source) for line in flats} <= {("", "common practice")}
    assert float(found["thread"].quantity) == pytest.approx(takeoff.thread_mm * 1.15 / 1000 + 25, abs=0.0006)
    for role in ("toile", "fusible"):
        assert float(found[role].quantity) == pytest.approx(drawn[role] / 1000, abs=0.0006)
        assert found[role].reason.waste == ""


@settings(max_examples=40, deadline=None)
@given(blocks(), st.floats(0.5, 1.6))
def test_scaling_scales_lengths_by_k_and_areas_by_k_squared(block: Block, factor: float):
    pattern = draw_block(block).pattern
    larger = scaled(pattern, factor)
    for before, after in zip(pattern.panels, larger.panels, strict=True):
        assert after.net_area_mm2 == pytest.approx(before.net_area_mm2 * factor**2, rel=1e-9)
        assert after.waist_width_mm == pytest.approx(before.waist_width_mm * factor, rel=1e-9)
    assert larger.closed_waist_mm == pytest.approx(pattern.closed_waist_mm * factor, rel=1e-9)
    edges = sum(panel.edge_mm(name) for panel in pattern.panels for name in (EdgeName.TOP, EdgeName.BOTTOM))
    grown = sum(panel.edge_mm(name) for panel in larger.panels for name in (EdgeName.TOP, EdgeName.BOTTOM))
    assert grown == pytest.approx(edges * factor, rel=1e-9)
    # Binding adds fixed ends, so it grows by exactly as much as the edges of both halves do.
    assert binding_mm(larger) - binding_mm(pattern) == pytest.approx(2 * (grown - edges), abs=1e-6)
    tape = waist_tape_mm(larger, shipped("two-layer")) - waist_tape_mm(pattern, shipped("two-layer"))
    assert tape == pytest.approx(larger.closed_waist_mm - pattern.closed_waist_mm, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(blocks())
def test_one_more_layer_never_lowers_cloth_thread_or_hours(block: Block):
    pattern = draw_block(block).pattern
    try:
        one, two, three = (off(pattern, code) for code in ("single-layer", "two-layer", "three-layer"))
    except Refused:
        return
    for fewer, more in ((one, two), (two, three)):
        assert fewer.work.pieces < more.work.pieces
        assert _cloth_mm2(fewer) < _cloth_mm2(more)
        assert minutes(fewer) < minutes(more)


@settings(max_examples=30, deadline=None)
@given(blocks(), st.integers(400, 1600), st.integers(400, 1600))
def test_a_narrower_cloth_never_takes_less_length(block: Block, one: int, other: int):
    pattern, construction = draw_block(block).pattern, shipped("single-layer")
    narrow, wide = sorted((one, other))
    try:
        lays = [
            take_off(pattern, construction, Choices(), plain_shelf(construction, usable_width_mm=width))
            .cloths[0]
            .lay_mm
            for width in (narrow, wide)
        ]
    except Refused:
        return
    assert lays[0] >= lays[1]


@pytest.mark.parametrize("code", shipped_codes())
def test_each_panel_is_cut_once_per_layer_and_half(code: str):
    pieces = pieces_to_cut(draw_block(block_a()).pattern, shipped(code))
    assert len({(piece.panel, piece.half, piece.layer) for piece in pieces}) == len(pieces)
    assert {piece.half for piece in pieces} == {"left", "right"}


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 12))
def test_a_bone_is_never_longer_than_its_channel_allows(panels: int):
    """20 to 30 mm shorter than the channel (common practice); sold lengths step down, never up."""
    try:
        takeoff = off(draw_block(replace(block_a(), panels_per_half=panels + 1)).pattern)
    except Refused:
        return
    for run in takeoff.bones:
        assert run.length_mm <= run.ideal_mm + 1e-6
        assert run.ideal_mm <= run.channel_mm - 20


def _cloth_mm2(takeoff: Takeoff) -> float:
    return sum(cloth.area_mm2 for cloth in takeoff.cloths if cloth.role in takeoff.construction.roles)
