"""Stripes and prints that are matched take more cloth: a fuller share is lost, and one repeat for each row of panels.

Common practice, from the same table as the other fill shares; example A of the trade's worked examples, one layer.
"""

from dataclasses import replace

import pytest
from support_patterns import block_a

from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.lay.lay_plan import Effort
from quotes.lay.laying import laid
from quotes.pattern.block import draw_block
from quotes.takeoff.chosen_materials import Shelf, plain_shelf
from quotes.takeoff.take_off import lay_problems, take_off

ONE = shipped("single-layer")
PATTERN = draw_block(block_a()).pattern
AREA_MM2, USABLE_MM, TALLEST_MM = 291_000, 1340, 300
"""Cut area of one layer, both halves; usable width of cloth 1370 wide; tallest box with its trimmings."""


def lay_mm(**facts: object) -> float:
    shelf = plain_shelf(ONE)
    cloth = replace(shelf.cloths["outer"], **facts)  # type: ignore[arg-type]
    takeoff = take_off(PATTERN, ONE, Choices(toile=False), Shelf(cloths={"outer": cloth}, others=shelf.others))
    return takeoff.cloths[0].lay_mm


@pytest.mark.parametrize(("repeat_mm", "rows"), [(0, 0), (60, 2), (160, 2), (320, 2)])
def test_a_matched_lay_fills_less_and_adds_a_repeat_for_each_row(repeat_mm: float, rows: int):
    by_area = AREA_MM2 / (USABLE_MM * 0.45)
    assert TALLEST_MM < by_area < 2 * TALLEST_MM
    assert lay_mm(handling="matched", repeat_mm=repeat_mm) == pytest.approx(by_area + rows * repeat_mm, rel=0.003)


def test_a_repeat_that_is_not_matched_takes_nothing_more():
    assert lay_mm(repeat_mm=160) == lay_mm() < lay_mm(handling="matched")


@pytest.mark.parametrize("repeat_mm", [60.0, 160.0, 320.0])
def test_the_waists_of_a_matched_lay_lie_at_whole_repeats_and_it_is_no_shorter(repeat_mm: float):
    """What is matched at the waist meets at every seam there; a plain lay is a matched one without its condition."""
    shelf = plain_shelf(ONE)
    cloth = replace(shelf.cloths["outer"], handling="matched", repeat_mm=repeat_mm)
    matched = Shelf(cloths={"outer": cloth}, others=shelf.others)
    choices = Choices(toile=False)
    (problem,) = lay_problems(PATTERN, ONE, choices, matched).values()
    (plain,) = lay_problems(PATTERN, ONE, choices, shelf).values()
    plan = laid(problem, Effort.QUICK)
    assert plan.length >= laid(plain, Effort.QUICK).length - 1
    outlines = {piece.label: piece.outline for piece in problem.pieces}
    for placed in plan.placements:
        sign = 1 if placed.rotation == 0 else -1
        own_left = min(sign * x for x, _ in outlines[placed.label])
        waist = min(x for x, _ in placed.outline) - own_left
        assert abs(waist / repeat_mm - round(waist / repeat_mm)) * repeat_mm < 0.5, placed.label
