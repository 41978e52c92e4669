"""Seams trued at their tolerances. Source: common practice (1.5 mm is allowed, more than 3 mm is an error)."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support_panels import curved_pattern
from support_patterns import block_a, block_b, trapezoid_pattern

from inventory.ground.findings import Severity
from quotes.pattern.block import draw_block
from quotes.pattern.geometry import Polyline
from quotes.pattern.panels import Panel, Pattern
from quotes.pattern.truing import length_below_mm, seams, truing_findings


def upright(number: int, front_mm: float, back_mm: float, *, width: float = 60.0, waist: float = 100.0) -> Panel:
    front: Polyline = ((0.0, 0.0), (0.0, front_mm))
    back: Polyline = ((width, 0.0), (width, back_mm))
    return Panel(
        number=number,
        front=front,
        back=back,
        top=(front[-1], back[-1]),
        bottom=(front[0], back[0]),
        waist_mm=waist,
    )


def severities(pattern: Pattern, code: str = "pattern.seam-does-not-true") -> list[Severity]:
    return [finding.severity for finding in truing_findings(pattern) if finding.code == code]


@pytest.mark.parametrize(
    ("longer", "severity"),
    [
        (0.0, None),
        (1.5, None),
        (1.5 + 1e-9, None),
        (1.51, Severity.WARN),
        (3.0, Severity.WARN),
        (3.0 + 1e-9, Severity.WARN),
        (3.01, Severity.STOP),
    ],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_tolerances_hold_at_their_bounds(longer: float, severity: Severity | None, sign: int):
    pattern = Pattern(name="", panels=(upright(1, 240, 240 + sign * longer), upright(2, 240, 240)))
    assert severities(pattern) == ([severity] if severity else [])


def test_float_dust_at_the_bound_is_allowed():
    """0.1 + 0.2 is more than 0.3 in binary: 241.5 reached by summing legs is still 1.5 longer."""
    legs = tuple((60.0, 0.1 * step) for step in range(2416))
    panel = replace(upright(1, 240, 241.5), back=legs, top=((0.0, 240.0), legs[-1]), bottom=((0.0, 0.0), legs[0]))
    assert severities(Pattern(name="", panels=(panel, upright(2, 240, 240)))) == []


def test_ease_lets_a_seam_differ():
    pattern = Pattern(name="", panels=(upright(1, 240, 252), upright(2, 240, 240)), ease=frozenset({1}))
    assert severities(pattern) == []


def test_the_finding_says_which_seam_by_how_much_and_the_mend():
    pattern = Pattern(name="", panels=(upright(1, 240, 240), upright(2, 240, 245), upright(3, 240, 240)))
    (found,) = truing_findings(pattern)
    assert found.where == "seam 2"
    assert "5.00 mm (panel 2 back 245.00 mm, panel 3 front 240.00 mm)" in found.message
    assert "seam 2 as ease" in found.hint


@pytest.mark.parametrize(("lower", "warned"), [(1.5, False), (1.6, True)])
def test_waists_that_miss_each_other_are_warned_of(lower: float, warned: bool):
    pattern = Pattern(name="", panels=(upright(1, 240, 240), upright(2, 240, 240, waist=100 - lower)))
    assert severities(pattern, "pattern.waist-does-not-meet") == [Severity.WARN] * warned


@pytest.mark.parametrize(("width", "warned"), [(24.9, True), (25.0, False), (75.0, False), (75.1, True)])
def test_waist_widths_outside_25_to_75_are_warned_of(width: float, warned: bool):
    """Common practice: another number of panels is wanted then."""
    pattern = Pattern(name="", panels=(upright(1, 240, 240), upright(2, 240, 240, width=width)))
    found = [finding.where for finding in truing_findings(pattern) if finding.code == "pattern.panel-waist-width"]
    assert found == ["panel 2"] * warned


def test_uneven_halves_are_trued_each_for_itself():
    left = (upright(1, 240, 240), upright(2, 240, 240))
    right = (upright(1, 240, 244), upright(2, 240, 240))
    found = truing_findings(Pattern(name="", panels=left, right_panels=right))
    assert [(finding.where, finding.severity) for finding in found] == [("right seam 1", Severity.STOP)]


@pytest.mark.parametrize("pattern", [draw_block(block_a()).pattern, draw_block(block_b()).pattern, curved_pattern()])
def test_a_block_and_a_curved_garment_true_exactly(pattern: Pattern):
    for seam in seams(pattern.panels):
        assert seam.difference_mm == pytest.approx(0, abs=1e-9)
        assert seam.waist_offset_mm == pytest.approx(0, abs=1e-9)
    assert not truing_findings(pattern)


def test_a_seam_is_first_less_second_and_sewn_at_their_mean():
    (seam,) = seams((upright(1, 240, 243), upright(2, 240, 240)))
    assert (seam.number, seam.length_mm, seam.other_length_mm) == (1, 243, 240)
    assert (seam.difference_mm, seam.mean_mm) == (3, 241.5)


def test_length_below_a_level_follows_the_edge():
    """3-4-5 legs: 50 up to the knee at 40, 25 more to the level at 60."""
    edge = ((0.0, 0.0), (30.0, 40.0), (0.0, 80.0))
    assert length_below_mm(edge, 60.0) == pytest.approx(75)
    assert length_below_mm(edge, -1.0) == 0
    assert length_below_mm(edge, 99.0) == pytest.approx(100)


@given(st.floats(0.2, 5))
def test_differences_scale_with_the_pattern(factor: float):
    pattern = trapezoid_pattern((50, 80), (60, 70))
    (seam,) = seams(pattern.panels)
    larger = seams(
        tuple(
            replace(
                panel,
                front=tuple((x * factor, y * factor) for x, y in panel.front),
                back=tuple((x * factor, y * factor) for x, y in panel.back),
                waist_mm=panel.waist_mm * factor,
            )
            for panel in pattern.panels
        )
    )[0]
    assert larger.difference_mm == pytest.approx(seam.difference_mm * factor, abs=1e-9)
    assert larger.waist_offset_mm == pytest.approx(seam.waist_offset_mm * factor, abs=1e-9)
