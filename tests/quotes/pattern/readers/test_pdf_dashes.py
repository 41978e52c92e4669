"""Dashes written one by one become the lines that they were drawn as; the lines are known (plane geometry, no source)."""

import math

import pytest
from shapely import LineString

from quotes.pattern.geometry import Polyline, length_mm, ring_area_mm2
from quotes.pattern.readers.pdf_dashes import undashed
from quotes.pattern.sheet import Stroke


def stroke(*line: tuple[float, float]) -> Stroke:
    return Stroke(line=line, is_closed=False, where="page 1", colour="#000000", width=0.4)


def dashes(line: Polyline, dash: float, gap: float, *, turned: bool = False) -> list[Stroke]:
    """The dashes of a line, as a program that knows no dashes writes them, each turned round if it likes."""
    whole, found, at = LineString(line), [], 0.0
    while at < whole.length:
        ends = [float(here) for here in (at, min(at + dash, whole.length))]
        inner = [whole.project(LineString([point, point]).centroid) for point in line]
        places = sorted({*ends, *(place for place in inner if ends[0] < place < ends[1])})
        points = [whole.interpolate(place) for place in places]
        found.append(stroke(*[(point.x, point.y) for point in (points[::-1] if turned else points)]))
        at += dash + gap
    return found


@pytest.mark.parametrize("turned", [False, True])
def test_a_straight_line_and_a_curve_are_whole_again(turned: bool) -> None:
    curve = tuple((100 * math.cos(step / 60), 100 * math.sin(step / 60)) for step in range(100))
    for line in (((0.0, 0.0), (98.0, 0.0)), curve):
        (whole,) = undashed(dashes(line, 4, 2, turned=turned))
        assert length_mm(whole.line) == pytest.approx(length_mm(line), abs=2.1)
        assert whole.dash == pytest.approx((4, 2), abs=0.01)


def test_an_outline_is_closed_with_its_corners() -> None:
    """A rectangle of 62 by 41 mm: its corners fall into dashes and gaps."""
    ring = ((0.0, 0.0), (62.0, 0.0), (62.0, 41.0), (0.0, 41.0), (0.0, 0.0))
    (whole,) = undashed(dashes(ring, 5, 3))
    assert whole.is_closed
    assert ring_area_mm2(whole.line) == pytest.approx(62 * 41, rel=0.005)


@pytest.mark.parametrize(
    "lines",
    [
        [stroke((x, 0.0), (x, 5.0)) for x in range(0, 30, 3)],
        [stroke((0.0, y), (20.0, y)) for y in range(0, 30, 4)],
        [stroke((0.0, 0.0), (4.0, 0.0)), stroke((6.0, 0.0), (10.0, 0.0)), stroke((12.0, 0.0), (16.0, 0.0))],
        [stroke((x, 0.0), (x + 4.0, 0.0)) for x in (0, 6, 14, 20, 31, 36)],
        [stroke((0.0, 0.0), (80.0, 0.0)), stroke((82.0, 0.0), (160.0, 0.0)), stroke((162.0, 0.0), (240.0, 0.0))] * 2,
    ],
    ids=["ticks", "hatching", "three", "uneven", "long"],
)
def test_other_lines_stay_as_they_are(lines: list[Stroke]) -> None:
    assert undashed(lines) == lines
