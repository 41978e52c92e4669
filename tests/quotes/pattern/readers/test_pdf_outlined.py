"""Lines painted as narrow areas are their middle lines again; areas round known lines are made by shapely's buffer."""

import math

import pytest
from shapely import LineString, Polygon, hausdorff_distance

from quotes.pattern.geometry import Polyline, ring_area_mm2
from quotes.pattern.readers.pdf_outlined import middle_of_band, middle_of_thin

CURVE = tuple((80 * math.cos(step / 20), 80 * math.sin(step / 20)) for step in range(40))
LINES: dict[str, Polyline] = {
    "straight": ((0.0, 0.0), (30.0, 12.0)),
    "corner": ((0.0, 0.0), (30.0, 0.0), (35.0, 20.0)),
    "curve": CURVE,
}


def round_it(line: Polyline, breadth: float) -> Polyline:
    area = LineString(line).buffer(breadth / 2, cap_style="flat", join_style="mitre")
    return tuple(area.exterior.coords[:-1])


@pytest.mark.parametrize("name", LINES)
@pytest.mark.parametrize("breadth", [0.1, 0.5])
def test_the_middle_of_a_broad_line_is_the_line(name: str, breadth: float) -> None:
    found = middle_of_thin(round_it(LINES[name], breadth))
    assert found is not None
    assert found[1] == pytest.approx(breadth, rel=0.05)
    assert hausdorff_distance(LineString(found[0]), LineString(LINES[name])) < 0.3 * breadth


def test_the_middle_of_a_band_is_its_ring() -> None:
    panel = Polygon([(0, 0), (70, 5), (60, 150), (72, 280), (0, 275)])
    rings = [tuple(panel.buffer(half, join_style="mitre").exterior.coords[:-1]) for half in (0.2, -0.2)]
    found = middle_of_band(rings)
    assert found is not None
    assert found[1] == pytest.approx(0.4, rel=0.01)
    assert ring_area_mm2(found[0]) == pytest.approx(panel.area, rel=1e-4)


@pytest.mark.parametrize(
    "ring",
    [
        ((0.0, 0.0), (30.0, 0.0), (30.0, 2.0), (0.0, 2.0)),
        ((0.0, 0.0), (0.7, 0.0), (0.7, 0.7), (0.0, 0.7)),
        ((0.0, 0.0), (70.0, 0.0), (60.0, 140.0)),
        CURVE,
    ],
    ids=["a broad band", "a speck", "a triangle", "half a disc"],
)
def test_other_areas_are_no_lines(ring: Polyline) -> None:
    assert middle_of_thin(ring) is None


def test_a_cut_line_round_a_stitching_line_is_no_band() -> None:
    panel = Polygon([(0, 0), (70, 5), (60, 150), (72, 280), (0, 275)])
    cut = panel.buffer(10, join_style="mitre")
    assert middle_of_band([tuple(area.exterior.coords[:-1]) for area in (panel, cut)]) is None
