"""Edges, corners, notches and faint lines in light that is known everywhere; truth is the polygon that was drawn, by shapely."""

import math
from dataclasses import dataclass, field

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString, Polygon, box
from shapely.affinity import rotate, translate
from support_paper import SeenPaper
from support_photographs import cut_notch, small_scene

from quotes.photograph.edge import sample_edge, tidied
from quotes.photograph.lower_edges import inner_lines
from quotes.photograph.notches import find_notches, pockets
from quotes.photograph.outline import Rebuilt, rebuilt

SHEET = rotate(box(0, 0, 70, 130), 4.0)


def outlined(seen: SeenPaper, first: Polygon | None = None) -> Rebuilt:
    edge = sample_edge(seen, tidied(first or seen.area), seen.blur_mm)
    return rebuilt(edge, [])


def off_mm(shape: Rebuilt, true: Polygon) -> float:
    """How far the outline is from the true one anywhere, mm."""
    return LinearRing(shape.ring).hausdorff_distance(LinearRing(true.exterior.coords))


@pytest.mark.parametrize("blur_mm", [0.2, 0.6])
def test_a_sheet_is_outlined_to_its_corners_from_an_outline_two_millimetres_off(blur_mm: float) -> None:
    shape = outlined(SeenPaper(area=SHEET, blur_mm=blur_mm), translate(SHEET, 1.2, -1.5))
    assert off_mm(shape, SHEET) < 0.1
    assert len(shape.corners) == 4
    assert shape.inner_corners == 0
    assert shape.believed_share > 0.98


def test_a_round_sheet_has_no_corners() -> None:
    disc = shapely.Point(0, 0).buffer(60.0, quad_segs=90)
    shape = outlined(SeenPaper(area=disc))
    assert off_mm(shape, disc) < 0.15
    assert len(shape.corners) == 0


def test_dark_paper_on_light_ground_is_outlined_as_well() -> None:
    assert off_mm(outlined(SeenPaper(area=SHEET, paper=0.1, ground=0.6)), SHEET) < 0.1


def test_lines_of_a_mat_that_end_at_the_paper_leave_no_spurs() -> None:
    """As light as the paper, 0.6 mm wide, a centimetre apart."""
    rules = [(box(-20, y, 100, y + 0.6), 0.7) for y in np.arange(-5, 140, 10.0)]
    shape = outlined(SeenPaper(area=SHEET, ground_marks=rules))
    assert off_mm(shape, SHEET) < 0.25


def test_an_edge_upon_ground_of_its_own_light_is_not_believed() -> None:
    """Beside the right half the ground is as light as the paper."""
    like = [(box(35, -30, 120, 160), 0.7)]
    shape = outlined(SeenPaper(area=SHEET, ground_marks=like))
    assert shape.believed_share < 0.75
    assert shape.longest_gap_mm > 60


def test_where_nothing_is_seen_nothing_is_believed() -> None:
    shape = outlined(SeenPaper(area=SHEET, ground=0.7))
    assert shape.believed_share < 0.2


def test_inner_corners_are_counted() -> None:
    """A cross of two sheets has four, and two are enough to refuse it."""
    cross = box(0, 40, 120, 80).union(box(40, 0, 80, 120))
    shape = outlined(SeenPaper(area=cross))
    assert shape.inner_corners >= 2
    # At those that turn outward alone no notch is looked for: a first outline that followed a notch turns inward there.
    assert len(shape.corners) == 8


@pytest.mark.parametrize("aside", [1.5, 3.0])
def test_a_sheet_upon_its_like_steps_aside_where_it_ends(aside: float) -> None:
    """Pushed along its lower edge, and a little upward: no corner is sharp, and both ends go on the same way."""
    both = SHEET.union(translate(SHEET, 30.0, 30.0 * math.tan(math.radians(4.0)) + aside))
    shape = outlined(SeenPaper(area=both))
    assert shape.step_mm == pytest.approx(aside, abs=0.3)


@pytest.mark.parametrize(
    "area",
    [SHEET, shapely.Point(0, 0).buffer(60.0), Polygon(small_scene().pieces[0].outline)],
    ids=["sheet", "disc", "panel"],
)
def test_one_sheet_steps_nowhere(area: Polygon) -> None:
    assert outlined(SeenPaper(area=area)).step_mm < 0.2


@pytest.mark.parametrize(("mouth", "depth"), [(4.0, 5.0), (3.0, 3.5), (6.0, 6.0)])
def test_a_notch_is_found_by_its_flanks(mouth: float, depth: float) -> None:
    """Its middle along the edge and its mouth, as they were cut."""
    corners = np.array(SHEET.exterior.coords[:-1])
    cut = cut_notch(corners, (corners[1] + corners[2]) / 2 + (0, 3), mouth=mouth, depth=depth)
    area = SHEET.difference(Polygon(cut))
    seen = SeenPaper(area=area)
    edge = sample_edge(seen, tidied(area), seen.blur_mm)
    (found,) = find_notches(seen, np.array(SHEET.exterior.coords[:-1]), edge, corners)
    assert math.dist(found.middle, cut[2]) < 0.1
    assert found.mouth == pytest.approx(mouth, abs=0.3)
    assert found.depth == pytest.approx(depth, abs=1.2)
    (pocket,) = pockets(area, tidied(area))
    assert math.dist(pocket.middle, cut[2]) < 1.0
    assert pocket.depth == pytest.approx(depth, abs=0.2)


@dataclass(frozen=True, kw_only=True)
class CountedPaper(SeenPaper):
    """Counts the places at which its light was looked at."""

    asked: list[int] = field(default_factory=list)

    def light_at(self, points: NDArray[np.float64]) -> NDArray[np.float32]:
        self.asked.append(points.size // 2)
        return super().light_at(points)


def test_light_inside_a_piece_is_looked_at_only_where_a_notch_may_be() -> None:
    """Seventy lines round the whole piece, a fiftieth of a square millimetre to a place, took a quarter of all the time."""
    corners = np.array(SHEET.exterior.coords[:-1])
    area = SHEET.difference(Polygon(cut_notch(corners, (corners[1] + corners[2]) / 2)))
    seen = CountedPaper(area=area)
    edge = sample_edge(seen, tidied(area), seen.blur_mm)
    seen.asked.clear()
    assert len(find_notches(seen, corners, edge, corners)) == 1
    assert sum(seen.asked) < 12 * SHEET.length / 0.15


def test_ink_at_the_edge_is_no_notch() -> None:
    """A stroke of 2 mm, 12 mm into the paper and out of it on the other side: a gap that goes on is none that was cut."""
    stroke = LineString([(60, 65), (90, 65)]).buffer(1.0, cap_style="flat")
    seen = SeenPaper(area=SHEET, marks=[(stroke, 0.5)])
    edge = sample_edge(seen, SHEET, seen.blur_mm)
    ring = np.array(SHEET.exterior.coords[:-1])
    assert all(found.depth > 8 for found in find_notches(seen, ring, edge, ring))


ACROSS = LineString([(30, -5), (42, 135)])
"""From the lower edge of the sheet to its upper one."""


def lines_of(seen: SeenPaper, notches: tuple[tuple[float, float], ...] = ()) -> list[float]:
    """Lengths of the faint lines inside."""
    found = inner_lines(seen.light_at, np.array(seen.area.exterior.coords[:-1]), [np.array(one) for one in notches])
    return [line.length for line in found]


def test_the_shadow_of_a_sheet_upon_another_is_a_line_from_edge_to_edge() -> None:
    shadow = ACROSS.buffer(1.2, single_sided=True, cap_style="flat")
    (length,) = lines_of(SeenPaper(area=SHEET, stains=[(shadow, 0.9)]))
    assert length == pytest.approx(130, abs=25)


def test_papers_of_different_light_meet_in_a_line() -> None:
    other = Polygon([(30, -5), (42, 135), (120, 135), (120, -5)])
    (length,) = lines_of(SeenPaper(area=SHEET, marks=[(other, 0.92)]))
    assert length == pytest.approx(130, abs=25)


def test_plain_paper_and_ink_show_no_such_line() -> None:
    assert lines_of(SeenPaper(area=SHEET)) == []
    assert lines_of(SeenPaper(area=SHEET, marks=[(ACROSS.buffer(0.4), 0.2)])) == []


def test_a_grain_line_that_ends_inside_is_none() -> None:
    grain = LineString([(34, 40), (36, 95)]).buffer(0.4)
    assert lines_of(SeenPaper(area=SHEET, marks=[(grain, 0.85)])) == []


def test_two_sheets_turn_inward_where_the_edge_of_the_upper_one_goes_on() -> None:
    """The upper sheet lies 20 mm lower, its corner upon the other: where its edge begins the outline turns inward by a right angle.

    At a notch such a turn does not count.
    """
    both = box(0, 0, 70, 130).union(box(45, -20, 115, 110))
    shadow = LineString([(45, 0), (45, 110)]).buffer(1.2, single_sided=True, cap_style="flat")
    seen = SeenPaper(area=both, stains=[(shadow, 0.9)])
    ring = np.array(both.exterior.coords[:-1])
    (line,) = inner_lines(seen.light_at, ring, [])
    assert sorted(line.reaches) == [False, True]
    assert max(line.turns) > math.radians(60)
    (line,) = inner_lines(seen.light_at, ring, [np.array([45.0, 0.0])])
    assert max(line.turns) < math.radians(12)
    assert sorted(line.at_notch) == [False, True]
