"""Which busk closes a centre front, on rectangles; as the defaults say: sold from 203 mm to 432 mm, 25 mm clear."""

from dataclasses import replace

import pytest
from support_patterns import trapezoid_pattern

from inventory.ground.materials import MaterialKind
from quotes.construction.construction import FrontKind
from quotes.construction.shipped import shipped
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.front import front_line, front_need

TWO = shipped("two-layer")


@pytest.mark.parametrize(
    ("height", "length", "code", "message"),
    [
        # Made to 215 − 25.
        (
            215,
            190.0,
            "takeoff.no-busk-fits",
            "Centre front is 215 mm; the shortest busk that is sold, 203 mm, would leave less than 20 mm.",
        ),
        (225, 203.2, "takeoff.busk-close", "The busk of 203 mm leaves 22 mm; 25 mm is usual."),
        (
            500,
            431.8,
            "takeoff.busk-short",
            "The longest busk that fits, 432 mm, leaves 68 mm of centre front open.",
        ),
    ],
)
def test_a_busk_that_fits_badly_is_told(height: float, length: float, code: str, message: str):
    need, findings = front_need(trapezoid_pattern((60, 60), (60, 60), height=height), TWO, plain_shelf(TWO))
    assert need.length_mm == pytest.approx(length)
    assert [(found.code, found.where, found.message) for found in findings] == [(code, "centre front", message)]


def test_the_busk_is_one_of_the_lengths_that_the_material_is_sold_in():
    shelf = plain_shelf(TWO)
    busk = replace(shelf.material(MaterialKind.BUSK), lengths_mm=(300.0, 250.0, 150.0))
    shelf = replace(shelf, others={**shelf.others, MaterialKind.BUSK: busk})
    need, findings = front_need(trapezoid_pattern((60, 60), (60, 60), height=300), TWO, shelf)
    # 250 mm is nearest to the standard 254 mm, which has 5 loops.
    assert (need.length_mm, need.loops, findings) == (250.0, 5, ())


def test_a_closed_front_takes_nothing():
    closed = replace(TWO, front=FrontKind.CLOSED)
    need, findings = front_need(trapezoid_pattern((60, 60), (60, 60)), closed, plain_shelf(closed))
    assert (need.length_mm, need.loops, findings) == (0, 0, ())
    assert front_line(need, plain_shelf(closed)) == []
