"""Outlines drawn in pieces whose ends other lines touch too, and pieces drawn past each other: as drafting leaves them.

Areas and lengths that are expected come from the fixture's points by the geometry library.
"""

import itertools
import math

import ezdxf
import pytest
from shapely import LineString, Polygon
from support_drawings import closed_waist, dxf_bytes, panels_of, seam_lengths, svg, svg_d, svg_text

from inventory.ground.findings import Refused
from quotes.pattern.branching import branching_off
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.line_ends import closed_without_overshoot, without_overshoot
from quotes.pattern.readers.child import read_here
from quotes.pattern.truing import seams

REACH = 0.5


def edges_of_panels(apart: float = 150.0) -> list[dict]:
    """Each panel's edges as the fixture says them, front and back parted at the waist, with its waist line."""
    found = []
    for said in panels_of("underbust"):
        x0 = apart * said["number"]
        moved = {name: [(x + x0, y) for x, y in said[name]] for name in ("front", "back", "top", "bottom")}
        parts = [moved["top"], moved["bottom"]]
        ends = []
        for name in ("front", "back"):
            at = next(place for place, (_, y) in enumerate(moved[name]) if y == 0)
            parts += [moved[name][: at + 1], moved[name][at:]]
            ends.append(moved[name][at])
        ring = [*moved["bottom"][:-1], *moved["back"][:-1], *moved["top"][:0:-1], *moved["front"][:0:-1]]
        found.append(
            {
                "number": said["number"],
                "edges": [*moved.values()],
                "parts": parts,
                "waist": ends,
                "ring": ring,
                "middle": (x0 + 25, 50),
            }
        )
    return found


def shuffled(lines: list) -> list:
    """The lines as programs write them: in an order of their own, every other one from its end to its beginning."""
    order = sorted(range(len(lines)), key=lambda place: (7 * place + 3) % len(lines))
    return [lines[at][::-1] if place % 2 else lines[at] for place, at in enumerate(order)]


def overshot(line: list, by: float) -> list:
    """The line drawn on straight past both its ends."""

    def past(end, before):
        far = math.dist(end, before)
        return end[0] + (end[0] - before[0]) * by / far, end[1] + (end[1] - before[1]) * by / far

    return [past(line[0], line[1]), *line[1:-1], past(line[-1], line[-2])]


def as_dxf(lines: list) -> bytes:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for line in lines:
        space.add_lwpolyline(line)
    for panel in edges_of_panels():
        space.add_text(str(panel["number"]), height=8).set_placement(panel["middle"])
    return dxf_bytes(document)


def as_svg(lines: list) -> bytes:
    words = [svg_text(str(panel["number"]), panel["middle"], 8) for panel in edges_of_panels()]
    return svg([*(f'<path d="{svg_d(line, close=False)}"/>' for line in lines), *words])


KINDS = {".dxf": as_dxf, ".svg": as_svg}


def is_as_drawn(data: bytes, kind: str) -> None:
    reading = read_here(data, kind, "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    pattern = reading.pattern
    areas = [Polygon(panel["ring"]).area for panel in edges_of_panels()]
    assert [panel.net_area_mm2 for panel in pattern.panels] == pytest.approx(areas, rel=0.002)
    assert pattern.closed_waist_mm == pytest.approx(closed_waist(), abs=0.5)
    for seam, (back, front) in zip(seams(pattern.panels), seam_lengths(), strict=True):
        assert (seam.length_mm, seam.other_length_mm) == pytest.approx((back, front), abs=0.5)


@pytest.mark.parametrize("kind", KINDS)
def test_a_waist_line_between_the_parts_of_the_edges_is_none_of_the_outline(kind: str):
    lines = [line for panel in edges_of_panels() for line in shuffled([panel["waist"], *panel["parts"]])]
    is_as_drawn(KINDS[kind](lines), kind)


@pytest.mark.parametrize("kind", KINDS)
def test_ticks_at_the_parts_of_the_edges_are_none_of_the_outline(kind: str):
    lines = []
    for panel in edges_of_panels():
        ticks = [[(x, y), (x + inwards * 6, y)] for (x, y), inwards in zip(panel["waist"], (1, -1), strict=True)]
        lines += shuffled([*ticks, *panel["parts"]])
    is_as_drawn(KINDS[kind](lines), kind)


@pytest.mark.parametrize("kind", KINDS)
def test_lines_drawn_past_each_other_end_where_they_cross(kind: str):
    lines = [overshot(line, 0.2) for panel in edges_of_panels() for line in shuffled(panel["edges"])]
    waists = [panel["waist"] for panel in edges_of_panels()]
    is_as_drawn(KINDS[kind]([*lines, *waists]), kind)


def test_ends_too_far_apart_are_still_refused():
    lines = [overshot(line, -4.0) for panel in edges_of_panels() for line in panel["parts"]]
    with pytest.raises(Refused):
        read_here(as_dxf(lines), ".dxf", "drawing", ReadOptions(), True)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("lacking", range(4))
def test_the_last_panel_without_one_of_its_edges_is_never_left_out_in_silence(kind: str, lacking: int):
    panels = edges_of_panels()
    lines = [line for panel in panels for line in [*panel["edges"], panel["waist"]]]
    lines.remove(panels[-1]["edges"][lacking])
    with pytest.raises(Refused) as refusal:
        read_here(KINDS[kind](lines), kind, "drawing", ReadOptions(), True)
    assert "pattern.outline-open" in {finding.code for finding in refusal.value.findings}


@pytest.mark.parametrize("kind", KINDS)
def test_a_number_beside_the_panels_hinders_nothing(kind: str):
    lines = [line for panel in edges_of_panels() for line in panel["parts"]]
    waists = [panel["waist"] for panel in edges_of_panels()]
    beside = {".svg": svg_text("7", (1300, 50), 8), ".dxf": ""}[kind]
    data = KINDS[kind]([*lines, *waists, [(1250.0, -100.0), (1250.0, 200.0)]])
    is_as_drawn(data.replace(b"</svg>", beside.encode() + b"</svg>"), kind)


CORNERS = ((0.0, 0.0), (60.0, 0.0), (62.0, 200.0), (-2.0, 200.0))
SIDES = [*itertools.pairwise(CORNERS), (CORNERS[3], CORNERS[0])]


@pytest.mark.parametrize(
    ("lines", "aside"),
    [
        (SIDES, set()),
        # From corner to corner: an outline may well turn there.
        ([*SIDES, (CORNERS[0], CORNERS[2])], set()),
        # A tick that goes on past a corner makes no side of the outline branch off.
        ([*SIDES, ((60.0, 0.0), (66.0, 0.0)), ((0.0, 0.0), (-6.0, 0.0))], set()),
        # Two panels that touch at a corner, each with two edges there.
        ([*SIDES, *[tuple((x + 60, y) for x, y in side) for side in SIDES]], set()),
        ([((0.0, 0.0), (0.0, 90.0)), ((0.0, 90.0), (4.0, 200.0)), ((0.0, 90.0), (60.0, 90.0)), *SIDES[1:3]], set()),
        ([((-9.0, 0.0), (0.0, 90.0)), ((0.0, 90.0), (-9.0, 200.0)), ((0.0, 90.0), (6.0, 90.0)),
          ((-9.0, 0.0), (60.0, 0.0)), ((-9.0, 200.0), (60.0, 200.0))], {2}),
    ],
)  # fmt: skip
def test_what_branches_off(lines: list, aside: set[int]):
    assert branching_off(lines, REACH) == aside


def test_two_lines_past_each_other_meet_at_their_crossing():
    one, other = without_overshoot([(0.0, 0.0), (10.2, 0.0)], [(10.0, -0.3), (10.0, 5.0)], REACH)
    assert (one[-1], other[0]) == ((10.0, 0.0), (10.0, 0.0))
    assert LineString([*one, *other[1:]]).length == pytest.approx(15.0)


@pytest.mark.parametrize(
    "onward",
    [[(10.2, 0.0), (10.2, 5.0)], [(9.8, 0.1), (9.8, 5.0)], [(10.1, 0.0), (20.0, 0.0)], [(10.0, 0.1), (0.0, -0.1)]],
)
def test_lines_that_do_not_cross_near_their_ends_stay_as_they_are(onward: list):
    line = [(0.0, 0.0), (10.0, 0.0)]
    assert without_overshoot(line, onward, REACH) == (line, onward)


@pytest.mark.parametrize(
    "ring",
    [
        [(30.0, 200.0), (30.3, 200.0), (30.3, 200.3), (30.0, 200.3), (30.0, 200.01)],
        [(500.0, 0.0), (504.0, 0.0), (500.0, -120.0), (496.0, 0.0), (500.0, 0.5)],
    ],
    ids=["a mark smaller than the reach", "a gore begun in its blunt end"],
)
def test_a_line_whose_ends_meet_keeps_its_corners(ring: list):
    cut = closed_without_overshoot(ring, 3.0)
    assert Polygon(cut).area == pytest.approx(Polygon(ring).area, rel=0.01)
