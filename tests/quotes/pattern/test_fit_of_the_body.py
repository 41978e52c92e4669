"""What is proposed where nobody says how much is taken in, and what is hard to believe.

Sources: a published drafting tutorial (10 % of the waist is where a draft starts); published measuring pages (4 in, 100
mm, is the usual reduction, rarely more); a published corset-fitting manual (3 in off bust and hip, the lacing in it);
common practice for ease (0 to 25 mm); the rest is subtraction.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support_patterns import block_a, block_b, trapezoid_pattern

from inventory.ground.findings import Finding, Severity
from inventory.ground.units import LengthUnit
from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.pattern.block import Block, Level, draw_block, with_proposed_reduction
from quotes.pattern.block_json import read_block
from quotes.pattern.fit import FIT_CODES, fit_findings, take_in_findings
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import take_off

TWO = shipped("two-layer")


def with_levels(*levels: Level) -> Block:
    return replace(block_a(), levels=levels)


def told(block: Block) -> dict[str, Finding]:
    return {found.code: found for found in draw_block(block).findings}


@pytest.mark.parametrize("block", [block_a(), block_b()])
def test_of_the_worked_examples_nothing_is_told(block: Block):
    assert not FIT_CODES & told(block).keys()
    assert "pattern.reduction-not-said" not in told(block)


@given(st.floats(450, 1500), st.floats(0, 100))
def test_up_to_the_trades_usual_line_nothing_is_told(waist: float, reduction: float):
    if reduction <= 0.15 * waist:
        assert fit_findings(reduction, body_waist_mm=waist, where="waist") == ()


@given(st.floats(450, 1500), st.floats(100.01, 400))
def test_beyond_four_inches_is_a_warning_and_no_stop(waist: float, reduction: float):
    found = fit_findings(reduction, body_waist_mm=waist, where="waist")
    assert [(one.code, one.severity) for one in found] == [("pattern.large-reduction", Severity.WARN)]


def test_much_of_a_small_waist_is_a_warning_below_four_inches():
    """90 of 520 mm are 17 %."""
    (found,) = fit_findings(90.0, body_waist_mm=520.0, where="waist")
    assert "90 mm (17.3 %)" in found.message


def test_a_childs_waist_is_a_warning():
    """430 mm: the waist of an infant in any size table, or 43 cm of something else."""
    (found,) = fit_findings(0.0, body_waist_mm=430.0, where="waist")
    assert (found.code, found.severity) == ("pattern.child-waist", Severity.WARN)
    assert "take nothing in" in found.hint
    assert "doctor" in found.hint


@pytest.mark.parametrize(
    ("height", "girth", "take_in", "code"),
    [
        (130, 780, 200, "pattern.large-take-in"),
        (130, 780, 76, "pattern.large-take-in"),
        (130, 780, 75, None),
        (130, 400, 70, "pattern.large-take-in"),  # 17.5 %
        (40, 740, 90, None),  # so near the waist it is taken in as the waist is
        (40, 740, 101, "pattern.large-take-in"),
        (-150, 940, -25, None),
        (-150, 940, -26, "pattern.larger-than-body"),
        (0, 720, -60, "pattern.larger-than-body"),
        (0, 720, 75, None),
    ],
)
def test_take_ins_that_are_hard_to_believe(height: float, girth: float, take_in: float, code: str | None):
    found = take_in_findings(take_in, height_mm=height, girth_mm=girth)
    assert [one.code for one in found] == ([code] if code else [])
    assert all(one.severity is Severity.WARN for one in found)


def test_200_mm_at_the_underbust_is_drawn_and_told():
    waist, hip = Level(height_mm=0, girth_mm=720, take_in_mm=75), Level(height_mm=-150, girth_mm=940)
    found = told(with_levels(Level(height_mm=130, girth_mm=780, take_in_mm=200), waist, hip))["pattern.large-take-in"]
    assert found.where == "130 mm above the waist"
    assert found.message == "200 mm (25.6 %) is taken in here; more than 75 mm or 15 % is hardly ever worn."


def test_a_waist_of_which_nothing_is_said_is_asked_about():
    """Its figures stay those of nothing taken in: 720 − 50 of gap."""
    unsaid = with_levels(Level(height_mm=130, girth_mm=780), Level(height_mm=0, girth_mm=720))
    drawn = draw_block(unsaid)
    found = told(unsaid)["pattern.reduction-not-said"]
    assert drawn.pattern.closed_waist_mm == pytest.approx(670)
    assert (found.severity, "72 mm, 10 % of the waist" in found.hint) == (Severity.WARN, True)
    said = with_levels(Level(height_mm=130, girth_mm=780), Level(height_mm=0, girth_mm=720, take_in_mm=0))
    assert "pattern.reduction-not-said" not in told(said)


def test_a_file_that_leaves_take_in_out_says_nothing_of_it():
    document = {
        "panels_per_half": 6,
        "lacing_gap": 50,
        "levels": [{"height": 130, "girth": 780}, {"height": 0, "girth": 720}],
        "top": [130, 110, 130],
        "bottom": [-150, -120, -140],
    }
    block = read_block(document, unit=LengthUnit.MM, where="block", name="x")
    assert not block.is_reduction_said
    document["levels"] = [{"height": 130, "girth": 780}, {"height": 0, "girth": 720, "take_in": 0}]
    assert read_block(document, unit=LengthUnit.MM, where="block", name="x").is_reduction_said


@given(st.integers(300, 1500))
def test_the_proposal_is_a_tenth_of_the_waist_and_says_so(waist: int):
    unsaid = with_levels(Level(height_mm=130, girth_mm=waist + 60), Level(height_mm=0, girth_mm=waist))
    block, (found,) = with_proposed_reduction(unsaid)
    assert block.reduction_mm == pytest.approx(waist / 10)
    assert "are proposed, 10 % of" in found.message
    assert with_proposed_reduction(block) == (block, ())


def test_a_reduction_said_beside_a_file_is_judged_and_an_assumed_one_is_not():
    """A closed waist of 480 mm: with 150 said it is taken from 680 (22 %); of 480 + 50 a tenth is proposed."""
    pattern = trapezoid_pattern(*[(40.0, 40.0)] * 6)
    shelf = plain_shelf(TWO)
    said = {found.code for found in take_off(pattern, TWO, Choices(), shelf, reduction_mm=150, gap_mm=50).findings}
    assumed = {found.code: found for found in take_off(pattern, TWO, Choices(), shelf).findings}
    assert "pattern.large-reduction" in said
    assert "pattern.large-reduction" not in assumed
    assert "59 mm, 10 % of the body waist are taken as a proposal." in assumed["takeoff.fit-assumed"].message


def test_a_file_for_a_child_is_told():
    """Closed 300 + 50 of gap, a tenth assumed: a waist of 389 mm."""
    takeoff = take_off(trapezoid_pattern(*[(25.0, 25.0)] * 6), TWO, Choices(), plain_shelf(TWO))
    assert "A waist of 389 mm is a child's" in " ".join(found.message for found in takeoff.findings)
