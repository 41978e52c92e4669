"""Corners named either way round, and outlines too regular to tell; the rules are the product's own."""

import pytest
from support_assemble import findings, read
from support_panels import alike

RECTANGLE = ((0.0, 0.0), (60.0, 0.0), (60.0, 200.0), (0.0, 200.0))


@pytest.mark.parametrize("corners", [(0, 1, 2, 3), (1, 0, 3, 2)])
def test_corners_may_be_named_with_or_against_the_clock(corners: tuple[int, int, int, int]):
    """Front left of back or right of it: as placed, front stands at the left and both are 200 mm long."""
    for panel in read(alike(RECTANGLE, corners=corners, waist_mm=100.0)).pattern.panels:
        assert panel.front[0][0] < panel.back[0][0]
        assert panel.front[0][1] < panel.front[-1][1]
        assert panel.net_area_mm2 == pytest.approx(12_000)


def test_a_square_does_not_say_which_of_its_sides_are_seams():
    square = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    assert [(found.code, found.message) for found in findings(alike(square, turn_points=square))] == [
        (
            "pattern.corners-ambiguous",
            "The four corners cannot be told apart. Its four sides are too much alike to tell front and back from top "
            "and bottom. Turns are at (0, 0); (100, 0); (100, 100); (0, 100) mm.",
        )
    ] * 2
