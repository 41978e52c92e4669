"""Drawings told apart: whatever way a pattern is drawn, it becomes the same pattern."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_assemble import CURVES, codes, figures, findings, read, with_longer_back
from support_panels import (
    RECTANGLE,
    alike,
    all_redrawn,
    changed,
    drawn,
    in_mirror,
    named,
    on_its_left_side,
    on_its_right_side,
    redrawn,
    upside_down,
)
from support_patterns import trapezoid_pattern

from quotes.pattern.assemble import assemble
from quotes.pattern.cutline import EdgeAllowances
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.panels import EdgeName, Notch, Pattern

# The same pattern whatever way it is drawn


@settings(max_examples=30)
@given(st.permutations(range(6)), st.lists(st.booleans(), min_size=6, max_size=6), st.integers(0, 200), st.booleans())
def test_order_direction_start_and_mirror_change_nothing(order, backwards, start: int, in_the_mirror: bool):
    panels = []
    for panel, is_backwards in zip(drawn(CURVES).panels, backwards, strict=True):
        ring = panel.stitching or ()
        at = start % len(ring)
        ring = (*ring[at:], *ring[:at])
        panels.append(replace(panel, stitching=ring[::-1] if is_backwards else ring))
    shuffled = Drawing(name=CURVES.name, panels=tuple(panels[index] for index in order))
    found = read(all_redrawn(shuffled, in_mirror) if in_the_mirror else shuffled)
    assert found.pattern == CURVES
    assert [finding.code for finding in found.findings] == ["pattern.drawn-mirrored"] * in_the_mirror


@settings(max_examples=20)
@given(st.floats(0.5, 1.9))
def test_scaling_the_drawing_scales_the_pattern(factor: float):
    scaled = all_redrawn(drawn(CURVES), lambda point: (point[0] * factor, point[1] * factor))
    scaled = replace(scaled, panels=tuple(replace(p, waist=((-9e3, 0.0), (9e3, 0.0))) for p in scaled.panels))
    pattern = read(scaled, units="mm").pattern
    for panel, larger in zip(CURVES.panels, pattern.panels, strict=True):
        assert larger.net_area_mm2 == pytest.approx(panel.net_area_mm2 * factor**2)
        for name in EdgeName:
            assert larger.edge_mm(name) == pytest.approx(panel.edge_mm(name) * factor)


@pytest.mark.parametrize("move", [on_its_left_side, on_its_right_side])
@pytest.mark.parametrize("with_grain", [True, False])
def test_pieces_that_lie_on_their_side_are_turned_upright(move, with_grain: bool):
    upright = drawn(CURVES)
    if with_grain:
        upright = replace(upright, panels=tuple(replace(p, grain=((0.0, 0.0), (0.0, 50.0))) for p in upright.panels))
    found = read(all_redrawn(upright, move))
    assert figures(found.pattern) == figures(CURVES)
    assert {panel.grain_deg for panel in found.pattern.panels} == {90.0}


def test_pieces_of_one_drawing_may_each_lie_their_own_way():
    """As pieces lie when they were nested to save cloth."""
    moves = (lambda point: point, on_its_left_side, upside_down, on_its_right_side, lambda point: point, upside_down)
    panels = tuple(redrawn(panel, move) for panel, move in zip(drawn(CURVES).panels, moves, strict=True))
    found = read(replace(drawn(CURVES), panels=panels))
    assert figures(found.pattern) == figures(CURVES)
    assert [(f.code, f.where) for f in found.findings] == [
        ("pattern.drawn-upside-down", "panel 3"),
        ("pattern.drawn-upside-down", "panel 6"),
    ]


def test_grain_across_an_upright_piece_is_kept_and_turns_nothing():
    drawing = changed(drawn(CURVES), 2, grain=((0.0, 0.0), (50.0, 0.0)))
    found = read(drawing).pattern
    assert found.panels[2].grain_deg == 0.0
    assert figures(found) == figures(CURVES)


@pytest.mark.parametrize(("end", "degrees"), [((5.0, 50.0), 84.289407), ((-5.0, 50.0), 95.710593), ((0.0, -50.0), 90)])
def test_a_grain_line_off_upright_is_kept_as_drawn(end: Point, degrees: float):
    """atan(50 ÷ 5) = 84.289°; a grain line has no arrow."""
    found = read(changed(drawn(CURVES), 0, grain=((0.0, 0.0), end)))
    assert found.pattern.panels[0].grain_deg == pytest.approx(degrees, abs=1e-6)


def test_named_edges_may_repeat_a_point():
    drawing = named(CURVES)
    edges = {name: tuple(point for point in edge for _ in range(2)) for name, edge in drawing.panels[0].edges.items()}
    assert read(changed(drawing, 0, edges=edges)).pattern == CURVES


# Which side is centre front


def test_centre_front_as_the_maker_says_goes_before_the_seams():
    drawing = drawn(trapezoid_pattern((65, 75), (65, 75)))
    assert [f.code for f in read(drawing, centre_front="left").findings] == []
    (left, right) = (read(drawing, centre_front=side).pattern for side in ("left", "right"))
    assert left.panels[0].edge_mm(EdgeName.FRONT) == 240
    assert right.panels[0].edge_mm(EdgeName.BACK) == 240


def test_panels_that_fit_either_way_are_taken_as_drawn_and_said_so():
    found = read(alike(RECTANGLE, waist_mm=100.0))
    assert [finding.code for finding in found.findings] == ["pattern.centre-front-assumed"]
    assert found.pattern.panels[0].front == ((0.0, 0.0), (0.0, 240.0))


def test_notches_alone_tell_which_side_is_centre_front():
    """Rectangles, all edges alike; the notches of seam 1 lie at 60 and 170 on edges that face each other."""
    first = DrawnPanel(number=1, where="1", stitching=RECTANGLE, waist_mm=100.0, notches=((0.0, 60.0), (0.0, 170.0)))
    second = replace(first, number=2, where="2", notches=((60.0, 60.0), (60.0, 170.0)))
    found = read(Drawing(name="", panels=(first, second)))
    assert [finding.code for finding in found.findings] == ["pattern.drawn-mirrored"]
    assert found.pattern.panels[0].notches == (
        Notch(edge=EdgeName.BACK, along_mm=60.0),
        Notch(edge=EdgeName.BACK, along_mm=170.0),
    )


def test_seams_that_contradict_each_other_ask_for_the_side():
    panels = drawn(CURVES).panels
    torn = replace(drawn(CURVES), panels=(*panels[:3], *(redrawn(panel, in_mirror) for panel in panels[3:])))
    (found,) = findings(torn)
    assert found.code == "pattern.centre-front-unclear"
    assert "--centre-front left|right" in found.hint
    assert "pattern.seam-does-not-true" in codes(torn, centre_front="left")


def test_one_bad_seam_does_not_turn_the_drawing_round():
    bad = with_longer_back(CURVES.panels[3], 4.0)
    drawing = drawn(replace(CURVES, panels=(*CURVES.panels[:3], bad, *CURVES.panels[4:])))
    assert codes(drawing) == ["pattern.seam-does-not-true"]
    assert findings(drawing)[0].where == "seam 4"
    assert read(drawing, ease=frozenset({4})).pattern.ease == {4}


@pytest.mark.parametrize("move", [lambda point: point, in_mirror, upside_down, lambda point: (point[0], -point[1])])
def test_named_edges_keep_their_names_whatever_way_they_are_drawn(move):
    moved = all_redrawn(named(CURVES), move)
    moved = replace(moved, panels=tuple(replace(p, waist_mm=move((0.0, p.waist_mm))[1]) for p in moved.panels))
    found = read(moved)
    assert figures(found.pattern) == figures(CURVES)
    assert found.findings == ()


def test_named_edges_are_not_renamed_by_a_seam_that_fits_the_other_way():
    first, second = (panel for panel in trapezoid_pattern((50, 80), (80, 50)).panels)
    drawing = named(
        Pattern(
            name="",
            panels=(first, replace(second, front=((0.0, 0.0), (0.0, 246.0)), top=((0.0, 246.0), *second.top[1:]))),
        )
    )
    assert codes(drawing) == ["pattern.seam-does-not-true"]
    assert read(drawing, ease=frozenset({1})).pattern.panels[1].edge_mm(EdgeName.FRONT) == 246


def test_a_side_that_contradicts_the_names_is_warned_of():
    assert [f.code for f in read(named(CURVES), centre_front="right").findings] == ["pattern.centre-front-named"]


@pytest.mark.parametrize(("centre_front", "left", "right"), [("left", 20.0, 90.0), ("right", -80.0, -10.0)])
def test_a_cut_line_is_moved_in_edge_by_edge(centre_front: str, left: float, right: float):
    """Closed form: a rectangle of 100 × 300 less 20 in front and 10 at the back, 5 above and 15 below.

    Drawn with centre front to the right, the front edge stands at 80 and is mirrored to −80.
    """
    allowances = EdgeAllowances(front_mm=20.0, back_mm=10.0, top_mm=5.0, bottom_mm=15.0)
    ring: Polyline = ((0.0, 0.0), (100.0, 0.0), (100.0, 300.0), (0.0, 300.0))
    panels = tuple(
        DrawnPanel(number=number, where=f"panel {number}", cut=ring, waist=((0.0, 150.0), (100.0, 150.0)))
        for number in (1, 2)
    )
    options = ReadOptions(edge_allowances=allowances, centre_front=centre_front)
    pattern = assemble(Drawing(name="Boxes", panels=panels), options).pattern
    assert pattern.panels[0].bounds == (pytest.approx((left, 15.0)), pytest.approx((right, 295.0)))
    assert pattern.seam_allowance_mm is None
