"""What is said at the pattern table changes what would be kept. Figures by closed form, of rectangles and of curves that true."""

import json
from dataclasses import replace

import pytest
from support_panels import curved_pattern, drawn, named

from quotes.pattern.cutline import EdgeAllowances
from quotes.pattern.drawing import Drawing, DrawnPanel
from quotes.pattern.geometry import Polyline
from quotes.pattern.table.look import look_at
from quotes.pattern.table.lying import LYING, Lying
from quotes.pattern.table.said import SAID, DrawnLine, PieceSaid, Said
from quotes.pattern.taking.taken import Role

CURVES = curved_pattern()
BOX: Polyline = ((0.0, 0.0), (100.0, 0.0), (100.0, 300.0), (0.0, 300.0))
LEVEL: Polyline = ((0.0, 150.0), (100.0, 150.0))


def lying(drawing: Drawing) -> Lying:
    return Lying(name="test", drawing=drawing)


def boxes(*heights: float) -> Lying:
    """Panels 100 wide, each as high as is said, their waists 150 above the bottom."""
    rings = [(*BOX[:2], (100.0, height), (0.0, height)) for height in heights]
    panels = [
        DrawnPanel(number=number, where=f"panel {number}", stitching=ring, waist=LEVEL)
        for number, ring in enumerate(rings, start=1)
    ]
    return lying(Drawing(name="boxes", panels=tuple(panels)))


def test_nothing_said_keeps_what_the_file_says():
    look = look_at(lying(named(CURVES)), Said())
    assert look.stops == ()
    assert look.pattern is not None
    assert look.pattern.closed_waist_mm == pytest.approx(CURVES.closed_waist_mm)
    assert [outline.panel for outline in look.taken.outlines] == [1, 2, 3, 4, 5, 6]


def test_numbers_said_go_before_those_of_the_file():
    said = Said(pieces=(PieceSaid(index=1, number=0), PieceSaid(index=2, number=1), PieceSaid(index=3, number=2)))
    look = look_at(boxes(300.0, 300.0, 300.0), said)
    assert look.pattern is not None
    assert look.pattern.panels_per_half == 2
    assert [(outline.role, outline.panel) for outline in look.taken.outlines] == [
        (Role.LEFT_OUT, None),
        (Role.PANEL, 1),
        (Role.PANEL, 2),
    ]


def test_a_scale_makes_all_larger_and_units_are_settled():
    look = look_at(boxes(300.0, 300.0), Said(mm_per_unit=2.54))
    assert look.pattern is not None
    assert look.pattern.closed_waist_mm == pytest.approx(4 * 254.0)
    small = lying(replace(drawn(CURVES), panels=look_at(lying(drawn(CURVES)), Said(mm_per_unit=0.1)).drawing.panels))  # type: ignore[union-attr]
    assert [found.code for found in look_at(small, Said()).stops] == ["pattern.looks-like-other-units"]
    assert look_at(small, Said(mm_per_unit=10.0)).stops == ()


def test_a_waist_is_put_where_it_is_said():
    said = Said(pieces=(PieceSaid(index=1, waist_mm=140.0), PieceSaid(index=2, waist_mm=150.0)))
    look = look_at(boxes(300.0, 300.0), said)
    assert look.pattern is not None
    assert [panel.waist_mm for panel in look.pattern.panels] == [140.0, 150.0]
    assert [(found.code, found.where) for found in look.findings if "waist-does" in found.code] == [
        ("pattern.waist-does-not-meet", "seam 1")
    ]


def test_a_waist_outside_its_panel_is_mended_by_saying_it():
    panels = boxes(300.0, 300.0).drawing.panels  # type: ignore[union-attr]
    high = replace(panels[0], waist=((0.0, 400.0), (100.0, 400.0)))
    broken = lying(Drawing(name="boxes", panels=(high, panels[1])))
    assert [found.code for found in look_at(broken, Said()).stops] == ["pattern.waist-outside"]
    look = look_at(broken, Said(pieces=(PieceSaid(index=1, waist_mm=150.0),)))
    assert look.stops == ()
    assert [found.code for found in look_at(broken, Said(pieces=(PieceSaid(index=1, waist_mm=301.0),))).stops] == [
        "pattern.waist-outside"
    ]


def test_seams_that_do_not_true_are_seen_and_stop():
    """More than 3 mm cannot be sewn flat (common practice, no source)."""
    look = look_at(boxes(300.0, 304.0), Said())
    assert look.pattern is not None
    assert [(found.code, found.where) for found in look.stops] == [("pattern.seam-does-not-true", "seam 1")]
    assert look_at(boxes(300.0, 304.0), Said(ease=(1,))).stops == ()


def test_a_cut_line_is_moved_in_by_what_is_said():
    cut = Said(line=DrawnLine.CUT)
    assert {found.code for found in look_at(boxes(300.0, 300.0), cut).stops} == {"pattern.cut-line-without-allowance"}
    even = look_at(boxes(300.0, 300.0), replace(cut, allowance_mm=10.0))
    assert even.pattern is not None
    assert even.pattern.closed_waist_mm == pytest.approx(4 * 80.0)
    allowances = EdgeAllowances(front_mm=10.0, back_mm=20.0, top_mm=0.0, bottom_mm=5.0)
    by_edge = look_at(boxes(300.0, 300.0), replace(cut, edge_allowances=allowances, centre_front="left"))
    assert by_edge.pattern is not None
    assert by_edge.pattern.closed_waist_mm == pytest.approx(4 * 70.0)
    assert by_edge.pattern.panels[0].net_area_mm2 == pytest.approx(70.0 * 295.0)


def test_what_is_kept_reads_back_the_same():
    whole = lying(replace(named(CURVES), ease=frozenset({2, 1})))
    assert LYING.read(json.loads(json.dumps(LYING.written(whole)))) == whole
    corners = ((0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (0.0, 2.0))
    allowances = EdgeAllowances(front_mm=10.0, back_mm=20.0, top_mm=0.0, bottom_mm=5.0)
    said = Said(
        mm_per_unit=2.54,
        line=DrawnLine.CUT,
        edge_allowances=allowances,
        ease=(1,),
        pieces=(PieceSaid(index=1, number=0, corners=corners),),
    )
    assert SAID.read(json.loads(json.dumps(SAID.written(said)))) == said


def test_what_was_said_in_millimetres_grows_with_the_drawing():
    corners = ((0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (0.0, 2.0))
    piece = PieceSaid(index=1, waist_mm=10.0, corners=corners)
    grown = Said(pieces=(piece,)).at_scale(25.4, times=2.0)
    assert grown.mm_per_unit == 25.4
    assert grown.pieces[0].waist_mm == 20.0
    assert grown.pieces[0].corners == ((0.0, 0.0), (2.0, 0.0), (2.0, 4.0), (0.0, 4.0))
