"""What a drawing marks: corners, cut lines, waists and notches, and what stands in for them where they are not marked."""

from dataclasses import replace

import pytest
import shapely
from shapely import Polygon
from support_assemble import CURVES, INFINITY, NAN, codes, cut_only, edge_lengths, findings, read
from support_panels import (
    CINCHER,
    POINTED,
    RECTANGLE,
    SLANTED_CINCHER,
    SQUARE,
    alike,
    all_redrawn,
    changed,
    drawn,
    in_mirror,
)

from quotes.pattern.drawing import Drawing
from quotes.pattern.geometry import Polyline, point_along, x_at
from quotes.pattern.outline import clean_ring
from quotes.pattern.panels import EdgeName, Notch

# Corners


def test_picked_corners_settle_what_is_ambiguous_and_snap_to_the_outline():
    drawing = alike(SQUARE, waist_mm=50.0)
    assert codes(drawing) == ["pattern.corners-ambiguous"] * 2
    picked = ((99.0, 1.0), (99.0, 97.0), (2.0, 99.0), (1.0, 1.0))
    found = read(
        replace(drawing, panels=tuple(replace(p, waist_mm=None) for p in drawing.panels)),
        corners={1: picked, 2: picked},
    )
    assert found.pattern.panels[0].edge_mm(EdgeName.FRONT) == 100
    assert "pattern.waist-missing" in [finding.code for finding in found.findings]


def test_corners_in_the_file_name_the_edges():
    found = read(alike(POINTED, corners=(0, 2, 3, 4), waist_mm=100.0)).pattern
    assert found.panels[0].bottom == POINTED[:3]


@pytest.mark.parametrize(
    ("corners", "code"),
    [
        ((0, 1, 1, 3), "pattern.corners-fall-together"),
        ((0, 2, 1, 3), "pattern.corners-out-of-order"),
        ((0, 1, 2, 99), "pattern.corners-out-of-order"),
        ((0, 1, 2, -1), "pattern.corners-out-of-order"),
    ],
)
def test_corners_that_cannot_be_are_refused(corners: tuple, code: str):
    assert codes(alike(RECTANGLE, corners=corners, waist_mm=100.0)) == [code] * 2


def test_exactly_four_marked_turn_points_are_the_corners():
    marks = ((0.0, 0.0), (70.0, 0.0), (66.0, 250.0), (4.0, 250.0))
    assert codes(alike(POINTED, waist_mm=100.0)) == ["pattern.corners-ambiguous"] * 2
    assert read(alike(POINTED, waist_mm=100.0, turn_points=marks)).pattern.panels[0].bottom == POINTED[:3]


def test_every_vertex_marked_as_turn_point_gives_the_four_sharpest():
    drawing = drawn(CURVES)
    marked = replace(drawing, panels=tuple(replace(p, turn_points=p.stitching or ()) for p in drawing.panels))
    assert read(marked).pattern == CURVES


@pytest.mark.parametrize(
    ("fields", "word"),
    [
        ({"waist": ((30.0, 0.0), (30.0, 240.0))}, "waist line runs along"),
        ({"stitching": tuple((y, x) for x, y in RECTANGLE), "waist_mm": 30.0}, "stands upright"),
        ({"stitching": tuple((y, x) for x, y in RECTANGLE), "grain": ((0.0, 0.0), (0.0, 9.0))}, "stands upright"),
    ],
)
def test_a_piece_whose_marks_contradict_its_shape_is_not_guessed(fields: dict, word: str):
    found = findings(
        alike(RECTANGLE, **fields)
        if "stitching" not in fields
        else changed(changed(alike(RECTANGLE), 0, **fields), 1, **fields)
    )
    assert [finding.code for finding in found] == ["pattern.corners-ambiguous"] * 2
    assert word in found[0].message
    assert "turn points" in found[0].hint


@pytest.mark.parametrize("outline", [CINCHER, SLANTED_CINCHER])
def test_short_panels_stand_with_their_longer_pair_upright(outline: Polyline):
    first = read(alike(outline, waist_mm=60.0), ease=frozenset({1})).pattern.panels[0]
    assert first.bottom == outline[:2]


# A cut line alone


@pytest.mark.parametrize("allowance", [5.0, 12.7, 20.0])
def test_a_cut_line_with_its_allowance_gives_the_stitching_line(allowance: float):
    drawing = cut_only(CURVES, allowance)
    assert codes(drawing) == ["pattern.cut-line-without-allowance"] * 6
    assert "--seam-allowance MM" in findings(drawing)[0].hint
    by_option = read(drawing, seam_allowance_mm=allowance).pattern
    assert edge_lengths(by_option) == pytest.approx(edge_lengths(CURVES), abs=0.1)
    in_file = read(replace(drawing, seam_allowance_mm=allowance)).pattern
    assert in_file == by_option
    assert in_file.seam_allowance_mm == allowance


@pytest.mark.parametrize("join", ["mitre", "round"])
def test_cut_lines_of_other_programs_give_the_stitching_line(join: str):
    """Source of the cut line: shapely's buffer by 12.7."""
    panels = tuple(
        replace(
            one,
            stitching=None,
            cut=tuple(
                (x, y)
                for x, y in shapely.get_coordinates(
                    Polygon(panel.outline).buffer(12.7, join_style=join, quad_segs=40)  # type: ignore[arg-type]
                ).tolist()[:-1]
            ),
        )
        for one, panel in zip(drawn(CURVES).panels, CURVES.panels, strict=True)
    )
    found = read(Drawing(name="", panels=panels), seam_allowance_mm=12.7).pattern
    assert edge_lengths(found) == pytest.approx(edge_lengths(CURVES), abs=0.1)
    for panel, expected in zip(found.panels, CURVES.panels, strict=True):
        assert panel.net_area_mm2 == pytest.approx(expected.net_area_mm2, rel=0.001)


@pytest.mark.parametrize("allowance", [-1.0, NAN, INFINITY, 101.0])
def test_an_allowance_that_cannot_be_is_refused(allowance: float):
    assert codes(cut_only(CURVES, 10.0), seam_allowance_mm=allowance) == ["pattern.seam-allowance"]
    assert codes(drawn(CURVES), seam_allowance_mm=allowance) == ["pattern.seam-allowance"]


def test_an_allowance_that_leaves_nothing_is_refused_with_its_width():
    drawing = alike(RECTANGLE)
    drawing = replace(drawing, panels=tuple(replace(p, stitching=None, cut=p.stitching) for p in drawing.panels))
    assert codes(drawing, seam_allowance_mm=30.0) == ["pattern.nothing-inside-allowance"] * 2
    assert "30 mm" in findings(drawing, seam_allowance_mm=30.0)[0].message


def test_a_cut_line_beside_the_stitching_line_is_kept_and_must_lie_outside():
    outside = tuple((1.2 * x, 1.1 * y) for x, y in RECTANGLE)
    assert read(alike(RECTANGLE, cut=outside, waist_mm=100.0)).pattern.panels[0].cut_line == clean_ring(outside)
    inside = tuple((0.8 * x, 0.9 * y) for x, y in RECTANGLE)
    assert "pattern.cut-line-inside" in [f.code for f in findings(alike(RECTANGLE, cut=inside, waist_mm=100.0))]


# Waist and notches


def test_a_missing_waist_is_warned_of_and_the_narrowest_level_taken():
    found = read(changed(drawn(CURVES), 2, waist=None))
    assert [(f.code, f.where, f.severity) for f in found.findings if f.code == "pattern.waist-missing"] == [
        ("pattern.waist-missing", "panel 3", "warn")
    ]
    panel = found.pattern.panels[2]
    levels = [y for _, y in panel.front if -100 < y < 80]
    assert panel.waist_width_mm == pytest.approx(min(panel.width_at(y) or 0.0 for y in levels), abs=0.02)


def test_guessed_waists_do_not_decide_which_way_round():
    drawing = replace(drawn(CURVES), panels=tuple(replace(p, waist=None) for p in drawn(CURVES).panels))
    assert edge_lengths(read(all_redrawn(drawing, in_mirror)).pattern) == pytest.approx(edge_lengths(CURVES))


def test_the_pair_of_notches_nearest_the_narrowest_level_marks_the_waist():
    panel = CURVES.panels[2]
    notches = tuple((x_at(edge, y) or 0.0, y) for edge in (panel.front, panel.back) for y in (-70.0, 5.0, 60.0))
    found = read(changed(drawn(CURVES), 2, waist=None, notches=notches)).pattern.panels[2]
    assert found.waist_mm == pytest.approx(5.0, abs=1e-6)
    assert [point_along(found.edge(notch.edge), notch.along_mm)[1] for notch in found.notches] == pytest.approx(
        [-70.0, 5.0, 60.0] * 2
    )


def test_notches_that_do_not_face_each_other_mark_no_waist():
    drawing = alike(RECTANGLE, notches=((0.0, 80.0), (60.0, 90.0)))
    assert "pattern.waist-missing" in [finding.code for finding in findings(drawing)]


def test_a_slanting_waist_line_counts_where_it_crosses_the_edges():
    waist = ((-20.0, 90.0), (0.0, 99.0), (60.0, 101.0), (300.0, 400.0))
    assert read(alike(RECTANGLE, waist=waist)).pattern.panels[0].waist_mm == pytest.approx(100.0)


def test_notches_far_from_the_panel_mark_something_else():
    found = read(alike(RECTANGLE, waist_mm=100.0, notches=((-13.0, 100.0), (30.0, 250.0), (200.0, 100.0)))).pattern
    assert found.panels[0].notches == (
        Notch(edge=EdgeName.FRONT, along_mm=100.0),
        Notch(edge=EdgeName.TOP, along_mm=30.0),
    )


def test_names_and_quantities_are_kept():
    panel = read(changed(drawn(CURVES), 0, name="centre", quantity=4)).pattern.panels[0]
    assert (panel.name, panel.quantity) == ("centre", 4)
