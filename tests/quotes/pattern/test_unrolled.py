"""Seams unrolled: where a difference arises. Source: lengths of straight lines; the triangle with sides 15, 20 and 25."""

import math
from dataclasses import replace

import pytest
from support_panels import curved_pattern

from quotes.pattern.geometry import Polyline
from quotes.pattern.panels import EdgeName, Notch, Panel
from quotes.pattern.truing import seams
from quotes.pattern.unrolled import unrolled_seams


def strip(number: int, front: Polyline, back: Polyline) -> Panel:
    return Panel(
        number=number,
        front=front,
        back=back,
        top=(front[-1], back[-1]),
        bottom=(front[0], back[0]),
        waist_mm=0.0,
    )


STRAIGHT: Polyline = ((60.0, -90.0), (60.0, 150.0))
DETOUR: Polyline = ((0.0, -90.0), (0.0, 55.0), (15.0, 75.0), (0.0, 95.0), (0.0, 150.0))
"""Ten millimetres longer than it is high, all of them between 55 and 95 above the waist: twice 25 in place of 40."""


def test_a_detour_is_found_where_it_is():
    (seam,) = unrolled_seams(
        [strip(1, ((0.0, -90.0), (0.0, 150.0)), STRAIGHT), strip(2, DETOUR, ((60.0, -90.0), (60.0, 150.0)))]
    )
    assert seam.difference_mm == pytest.approx(-10.0)
    assert (seam.above_mm, seam.below_mm) == pytest.approx((-10.0, 0.0))
    assert (seam.arises.low_mm, seam.arises.high_mm, seam.arises.growth_mm) == pytest.approx((50.0, 100.0, -10.0))
    drifts = {step.level_mm: step.drift_mm for step in seam.steps}
    assert drifts[50.0] == pytest.approx(0.0)
    assert drifts[75.0] == pytest.approx(-5.0)
    assert drifts[100.0] == pytest.approx(-10.0)


def test_an_edge_that_ends_lower_parts_at_its_end():
    short: Polyline = ((60.0, -86.0), (60.0, 150.0))
    (seam,) = unrolled_seams(
        [
            strip(1, ((0.0, -86.0), (0.0, 150.0)), short),
            strip(2, ((0.0, -90.0), (0.0, 150.0)), ((60.0, -90.0), (60.0, 150.0))),
        ]
    )
    assert (seam.above_mm, seam.below_mm, seam.difference_mm) == pytest.approx((0.0, -4.0, -4.0))
    assert seam.arises.low_mm == seam.arises.high_mm == pytest.approx(-88.0)
    assert seam.arises.growth_mm == pytest.approx(-4.0)


def test_notches_stand_by_their_length_from_the_waist():
    first = replace(
        strip(1, ((0.0, -90.0), (0.0, 150.0)), STRAIGHT), notches=(Notch(edge=EdgeName.BACK, along_mm=100.0),)
    )
    second = replace(
        strip(2, DETOUR, ((60.0, -90.0), (60.0, 150.0))),
        notches=(Notch(edge=EdgeName.FRONT, along_mm=90.0), Notch(edge=EdgeName.TOP, along_mm=5.0)),
    )
    (seam,) = unrolled_seams([first, second])
    assert (seam.notches, seam.other_notches) == ((10.0,), (0.0,))


def test_what_trues_drifts_nowhere_and_sums_agree_with_the_seams():
    pattern = curved_pattern()
    for seam, unrolled in zip(seams(pattern.panels), unrolled_seams(pattern.panels), strict=True):
        assert unrolled.difference_mm == pytest.approx(seam.difference_mm, abs=1e-9)
        assert -unrolled.steps[0].second_mm + unrolled.steps[-1].second_mm == pytest.approx(seam.other_length_mm)
        assert max(abs(step.drift_mm) for step in unrolled.steps) < 0.05
        levels = [step.level_mm for step in unrolled.steps]
        assert levels == sorted(levels)
        assert math.isclose(min(abs(level) for level in levels), 0.0, abs_tol=1e-9)
