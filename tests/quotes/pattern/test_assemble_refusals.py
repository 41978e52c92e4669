"""Drawings that are refused: what is wrong is named with its place, and no numbers end in anything else."""

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from support_assemble import CURVES, INFINITY, NAN, codes, findings, read, with_longer_back
from support_panels import BOW_TIE, INCHES, SQUARE, alike, all_redrawn, changed, drawn

from inventory.ground.findings import Finding, Refused, Severity
from quotes.pattern.drawing import Drawing, DrawnPanel
from quotes.pattern.panels import EdgeName, Panel


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
