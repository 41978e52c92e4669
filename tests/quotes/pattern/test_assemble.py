"""Drawings told apart: whatever way a pattern is drawn, it becomes the same pattern; what is wrong is named."""

import itertools
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from support_panels import (
    BOW_TIE,
    CINCHER,
    INCHES,
    POINTED,
    RECTANGLE,
    SLANTED_CINCHER,
    SQUARE,
    alike,
    all_redrawn,
    changed,
    curved_pattern,
    drawn,
    in_mirror,
    named,
    on_its_left_side,
    on_its_right_side,
    redrawn,
    upside_down,
)
from support_patterns import trapezoid_pattern

from inventory.findings import Finding, Refused, Severity
from quotes.pattern.assemble import assemble
from quotes.pattern.cutline import EdgeAllowances, cut_outline
from quotes.pattern.drawing import Drawing, DrawnPanel, Reading, ReadOptions
from quotes.pattern.geometry import Point, Polyline, point_along, x_at
from quotes.pattern.model import EdgeName, Notch, Panel, Pattern
from quotes.pattern.outline import clean_ring

CURVES = curved_pattern()
NAN, INFINITY = float("nan"), float("inf")


def read(drawing: Drawing, **options: object) -> Reading:
    return assemble(drawing, ReadOptions(**options))  # type: ignore[arg-type]


def findings(drawing: Drawing, **options: object) -> tuple[Finding, ...]:
    """What refuses a drawing, or what is said beside its pattern."""
    try:
        return read(drawing, **options).findings
    except Refused as refusal:
        return refusal.findings


def codes(drawing: Drawing, **options: object) -> list[str]:
    """The codes of a refusal's stops."""
    with pytest.raises(Refused) as refusal:
        read(drawing, **options)
    return [finding.code for finding in refusal.value.findings if finding.severity is Severity.STOP]


def figures(pattern: Pattern) -> list[float]:
    """Edges, areas and waists, to the micrometre."""
    return [
        round(figure, 3)
        for panel in pattern.panels
        for figure in (
            *(panel.edge_mm(name) for name in EdgeName),
            panel.net_area_mm2,
            panel.waist_width_mm,
            panel.waist_mm - panel.front[0][1],
        )
    ]


def edge_lengths(pattern: Pattern) -> list[float]:
    return [panel.edge_mm(name) for panel in pattern.panels for name in EdgeName]


def with_longer_back(panel: Panel, by_mm: float) -> Panel:
    """The panel with the top of its back edge drawn higher."""
    x, y = panel.back[-1]
    return replace(panel, back=(*panel.back[:-1], (x, y + by_mm)), top=(*panel.top[:-1], (x, y + by_mm)))


def cut_only(pattern: Pattern, allowance: float) -> Drawing:
    even = EdgeAllowances(front_mm=allowance, back_mm=allowance, top_mm=allowance, bottom_mm=allowance)
    panels = zip(drawn(pattern).panels, pattern.panels, strict=True)
    return replace(
        drawn(pattern),
        panels=tuple(replace(one, stitching=None, cut=cut_outline(panel, even)) for one, panel in panels),
    )


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
@given(st.floats(0.5, 2.5))
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


# What is refused


def test_geo_18_a_bow_tie_is_refused_with_the_place():
    """Simple-feature rules: (0,0) (1,1) (1,0) (0,1) crosses itself, here at (50, 100)."""
    drawing = changed(drawn(CURVES), 1, stitching=BOW_TIE)
    assert codes(drawing) == ["pattern.outline-crosses-itself"]
    assert "(50.0, 100.0) mm" in findings(drawing)[0].message


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"stitching": ((0.0, 0.0), (NAN, 0.0), (50.0, 200.0))}, "pattern.not-finite"),
        ({"stitching": ((0.0, 0.0), (INFINITY, 0.0), (50.0, -INFINITY))}, "pattern.not-finite"),
        ({"cut": ((0.0, 0.0), (NAN, 0.0), (50.0, 200.0))}, "pattern.not-finite"),
        ({"stitching": ((0.0, 0.0), (50.0, 0.0))}, "pattern.too-few-corners"),
        ({"stitching": ((0.0, 0.0), (0.0, 0.0), (50.0, 0.0), (50.0, 0.0))}, "pattern.too-few-corners"),
        ({"stitching": None}, "pattern.too-few-corners"),
        ({"stitching": ((0.0, 0.0), (9000.0, 0.0), (9000.0, 200.0), (0.0, 200.0))}, "pattern.size"),
        ({"stitching": ((0.0, 0.0), (3.9, 0.0), (3.9, 200.0), (0.0, 200.0))}, "pattern.size"),
        ({"number": None}, "pattern.panel-without-number"),
        ({"number": 9}, "pattern.panel-missing"),
        ({"number": 25}, "pattern.panel-count"),
        ({"number": 1}, "pattern.panel-twice"),
        ({"number": 0}, "pattern.panel-number"),
        ({"waist": None, "waist_mm": 900.0}, "pattern.waist-outside"),
        ({"waist": ((-50.0, -200.0), (150.0, -200.0))}, "pattern.waist-outside"),
        ({"edges": dict.fromkeys(EdgeName, ((0.0, 0.0),))}, "pattern.too-few-corners"),
        ({"edges": dict.fromkeys(EdgeName, ((0.0, 0.0), (60.0, 240.0)))}, "pattern.edges-do-not-meet"),
        ({"edges": dict.fromkeys(EdgeName, ((0.0, 0.0), (NAN, 240.0)))}, "pattern.edges-do-not-meet"),
    ],
)
def test_a_broken_panel_is_refused(fields: dict, code: str):
    assert code in codes(changed(drawn(CURVES), 1, **fields))


@pytest.mark.parametrize(
    ("width", "height", "is_refused"), [(4.0, 240.0, False), (80.0, 3000.0, False), (80.0, 3001.0, True)]
)
def test_sizes_from_4_mm_to_3_m_are_believed(width: float, height: float, is_refused: bool):
    outline = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    found = [finding.code for finding in findings(alike(outline, waist_mm=height / 2), units="mm")]
    assert ("pattern.size" in found) is is_refused


def test_every_fault_is_named_in_one_pass():
    drawing = drawn(CURVES)
    bad_seam = with_longer_back(CURVES.panels[4], 5.0)
    broken = changed(changed(drawing, 0, stitching=((0.0, 0.0), (50.0, 0.0))), 2, number=None)
    broken = changed(changed(broken, 1, stitching=SQUARE), 4, stitching=bad_seam.outline)
    assert codes(broken, seam_allowance_mm=-1.0) == [
        "pattern.panel-without-number",
        "pattern.panel-missing",
        "pattern.seam-allowance",
        "pattern.too-few-corners",
        "pattern.corners-ambiguous",
        "pattern.seam-does-not-true",
    ]


def test_what_the_reader_found_stands_with_the_rest():
    doubt = Finding(code="svg.doubt", severity=Severity.NOTE, where="file", message="A layer was left out.")
    assert read(replace(drawn(CURVES), findings=(doubt,))).findings == (doubt,)
    fatal = replace(doubt, severity=Severity.STOP)
    assert codes(replace(changed(drawn(CURVES), 1, stitching=BOW_TIE), findings=(fatal,))) == [
        "svg.doubt",
        "pattern.outline-crosses-itself",
    ]


def test_an_empty_drawing_is_refused():
    assert codes(Drawing(name="", panels=())) == ["pattern.no-panels"]


def test_ease_on_a_seam_that_is_not_there_is_refused():
    assert codes(drawn(CURVES), ease=frozenset({9})) == ["pattern.ease-without-seam"]


@pytest.mark.parametrize(
    ("factor", "hint"), [(1 / 25.4, "--units in"), (1 / 10, "--units in or --units cm"), (10, "--units mm")]
)
def test_sizes_that_look_like_another_unit_are_named_as_such(factor: float, hint: str):
    drawing = all_redrawn(drawn(CURVES), lambda point: (point[0] * factor, point[1] * factor))
    (found,) = [finding for finding in findings(drawing) if finding.severity is Severity.STOP]
    assert (found.code, hint in found.hint) == ("pattern.looks-like-other-units", True)


def test_a_panel_11_tall_is_taken_for_inches_and_meant_sizes_are_let_through():
    drawing = alike(INCHES, waist_mm=5.0)
    assert codes(drawing) == ["pattern.looks-like-other-units"]
    assert "2.5 mm wide and 11 mm tall" in findings(drawing)[0].message
    doll = tuple((4 * x, 6 * y) for x, y in INCHES)
    assert codes(alike(doll, waist_mm=30.0)) == ["pattern.looks-like-other-units"]
    found = read(alike(doll, waist_mm=30.0), units="mm")
    assert [f.severity for f in found.findings if f.code == "pattern.looks-like-other-units"] == [Severity.WARN]


@settings(max_examples=60)
@given(st.lists(st.lists(st.tuples(st.floats(), st.floats()), max_size=8), min_size=1, max_size=4), st.data())
def test_no_drawing_ends_in_anything_but_a_pattern_or_a_refusal(outlines, data):
    """Fuzz: any numbers at all, infinite ones and none among them."""
    panels = tuple(
        DrawnPanel(
            number=data.draw(st.sampled_from([None, 0, 1, 2, 3])),
            where=f"outline {index}",
            stitching=tuple(outline) if data.draw(st.booleans()) else None,
            cut=tuple(outline),
            notches=tuple(outline[:2]) if all(abs(v) < 1e6 for point in outline for v in point) else (),
        )
        for index, outline in enumerate(outlines)
    )
    found = findings(Drawing(name="", panels=panels), seam_allowance_mm=data.draw(st.sampled_from([None, 5.0])))
    assert all(finding.message.endswith(".") for finding in found)


@settings(max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 9)), min_size=4, max_size=8, unique=True), st.booleans())
def test_no_lattice_shape_ends_in_anything_but_a_pattern_or_a_refusal(points, as_cut: bool):
    """Fuzz: shapes with right, flat and reflex corners, 30 mm to the square."""
    outline = tuple((30.0 * x, 30.0 * y) for x, y in points)
    drawing = alike(outline)
    if as_cut:
        drawing = replace(drawing, panels=tuple(replace(p, stitching=None, cut=outline) for p in drawing.panels))
    try:
        found = read(drawing, seam_allowance_mm=10.0, ease=frozenset({1})).pattern
    except Refused:
        return
    for panel in found.panels:
        assert _edges_meet(panel)
        assert Polygon(panel.outline).is_valid


def _edges_meet(panel: Panel) -> bool:
    ends = (
        (panel.front[0], panel.bottom[0]),
        (panel.front[-1], panel.top[0]),
        (panel.back[0], panel.bottom[-1]),
        (panel.back[-1], panel.top[-1]),
    )
    return all(itertools.starmap(lambda a, b: a == b, ends))


def test_named_edges_may_repeat_a_point():
    drawing = named(CURVES)
    edges = {name: tuple(point for point in edge for _ in range(2)) for name, edge in drawing.panels[0].edges.items()}
    assert read(changed(drawing, 0, edges=edges)).pattern == CURVES
