"""The estimating block against two worked examples (common practice, worked by hand; six and seven panels)."""

from dataclasses import replace

import pytest
from support_patterns import block_a, block_b

from inventory.ground.findings import Refused
from quotes.pattern.block import Block, Level, draw_block
from quotes.pattern.panels import EdgeName


def test_underbust_has_the_worked_areas_and_seam_lengths():
    pattern = draw_block(block_a()).pattern
    assert [round(panel.net_area_mm2 / 100) for panel in pattern.panels] == [185, 146, 119, 118, 142, 179]
    assert [round(panel.edge_mm(EdgeName.BACK)) for panel in pattern.panels] == [264, 248, 232, 245, 257, 270]
    assert round(pattern.panels[0].edge_mm(EdgeName.FRONT)) == 280
    assert [round(panel.waist_width_mm, 1) for panel in pattern.panels] == [64.3, 47.2, 37.3, 37.3, 47.2, 64.3]


def test_overbust_has_the_worked_seam_lengths_and_waist():
    pattern = draw_block(block_b()).pattern
    edges = [pattern.panels[0].edge_mm(EdgeName.FRONT), *(p.edge_mm(EdgeName.BACK) for p in pattern.panels)]
    assert [round(length) for length in edges] == [380, 360, 341, 322, 312, 311, 310, 310]
    assert [round(p.waist_width_mm, 1) for p in pattern.panels] == [61.2, 46.1, 35.6, 31.8, 35.6, 46.1, 61.2]


@pytest.mark.parametrize(("block", "closed_mm"), [(block_a(), 595), (block_b(), 635)])
def test_the_closed_waist_is_body_less_reduction_less_gap(block: Block, closed_mm: float):
    assert draw_block(block).pattern.closed_waist_mm == pytest.approx(closed_mm, abs=1e-9)


def test_a_block_without_a_waist_is_refused_with_the_place():
    levels = (Level(height_mm=130, girth_mm=780), Level(height_mm=-100, girth_mm=880))
    block = Block(panels_per_half=6, lacing_gap_mm=50, levels=levels, top=(130, 110, 130), bottom=(-150, -120, -140))
    with pytest.raises(Refused) as refusal:
        draw_block(block)
    assert [finding.code for finding in refusal.value.findings] == ["block.waist-missing"]


WAIST, UNDERBUST, HIP = (Level(height_mm=y, girth_mm=girth) for y, girth in ((0, 720), (130, 780), (-150, 940)))


@pytest.mark.parametrize(
    ("changed", "code", "where", "message"),
    [
        ({"panels_per_half": 1}, "block.panel-count", "panels_per_half", "1 panels per half is outside 2 to 24."),
        ({"lacing_gap_mm": 301}, "block.lacing-gap", "lacing_gap", "A lacing gap of 301 mm is outside 0 to 300 mm."),
        ({"levels": (WAIST,)}, "block.levels", "levels", "At least two levels are needed."),
        (
            {"levels": (WAIST, UNDERBUST, HIP)},
            "block.level-order",
            "levels[1].height",
            "The level at 130 mm does not lie below the one before, 0 mm.",
        ),
        (
            {"levels": (replace(UNDERBUST, girth_mm=78), WAIST, HIP)},
            "block.girth",
            "levels[0].girth",
            "A girth of 78 mm is outside 100 to 3000 mm.",
        ),
        (
            {"levels": (UNDERBUST, replace(WAIST, take_in_mm=670), HIP)},
            "block.nothing-left",
            "levels[1]",
            "Taking 670 mm in and leaving 50 mm open leaves nothing of 720 mm.",
        ),
        (
            {"top": (130.0, 110.0, 1400.0)},
            "block.height",
            "top[2]",
            "The garment would be 1540 mm tall at centre back; 40 to 1500 mm can be drawn.",
        ),
        (
            {"top": (130.0, -5.0, 130.0)},
            "block.waist-outside",
            "top[1]",
            "The waist does not lie between top (-5 mm) and bottom (-120 mm) at side.",
        ),
    ],
)
def test_each_fault_of_a_block_is_one_sentence_with_its_place(changed: dict, code: str, where: str, message: str):
    """The product's own rule: what no garment can have, with the limit that it breaks."""
    block = Block(
        panels_per_half=6,
        lacing_gap_mm=50,
        levels=(UNDERBUST, WAIST, HIP),
        top=(130, 110, 130),
        bottom=(-150, -120, -140),
    )
    with pytest.raises(Refused) as refusal:
        draw_block(replace(block, **changed), where="options[0].block")
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [
        (code, f"options[0].block.{where}", message)
    ]


def test_a_panel_that_vanishes_at_the_waist_is_refused():
    """By hand: half widths 1000 and 150, six panels of 166.7; weights sin(πj/6) ÷ 3.732 take from panel 3 at the waist
    850 × (0.232 + 0.268) ÷ 2 = 212.5, more than it has, and from panel 2
    850 × (0.134 + 0.232) ÷ 2 = 155.6, which it has."""
    levels = (
        Level(height_mm=130, girth_mm=2000),
        Level(height_mm=0, girth_mm=300),
        Level(height_mm=-150, girth_mm=2000),
    )
    block = Block(panels_per_half=6, lacing_gap_mm=0, levels=levels, top=(130, 110, 130), bottom=(-150, -120, -140))
    with pytest.raises(Refused) as refusal:
        draw_block(block)
    found = refusal.value.findings
    assert {one.code for one in found} == {"pattern.panel-vanishes"}
    assert [one.where for one in found] == ["panel 3", "panel 4"]
