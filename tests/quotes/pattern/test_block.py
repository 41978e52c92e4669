"""The estimating block against two worked examples (common practice, worked by hand; six and seven panels)."""

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
