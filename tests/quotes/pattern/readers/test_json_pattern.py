"""Patterns in JSON: printed and read back the same, and every fault with its path."""

import contextlib
import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_patterns import block_a, block_b, trapezoid_pattern

from inventory.ground.findings import Refused
from inventory.ground.reading import json_data
from quotes.pattern.block import draw_block
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.panels import EdgeName, Notch
from quotes.pattern.pattern_json import pattern_document, pattern_from
from quotes.pattern.readers import json_pattern
from quotes.pattern.readers.json_pattern import read

DOCUMENT = pattern_document(draw_block(block_a()).pattern)


def codes(document: object, **options: object) -> list[tuple[str, str]]:
    data = document if isinstance(document, bytes) else json.dumps(document).encode()
    with pytest.raises(Refused) as refusal:
        read(data, ReadOptions(**options))  # type: ignore[arg-type]
    return [(finding.code, finding.where) for finding in refusal.value.findings]


def changed_panel(**fields: object) -> dict:
    document = json.loads(json.dumps(DOCUMENT))
    document["panels"][1] |= fields
    return document


@pytest.mark.parametrize("block", [block_a(), block_b()])
def test_a_printed_pattern_reads_back_to_the_same(block):
    pattern = draw_block(block).pattern
    assert pattern_from(json.loads(json.dumps(pattern_document(pattern)))) == pattern


@settings(max_examples=30)
@given(
    # Four panels or more come to the waist of an adult: 450 to 1300 mm.
    st.lists(st.tuples(st.floats(57, 80), st.floats(57, 80)), min_size=2, max_size=8),
    st.floats(150, 400),
    st.floats(80, 100),
)
def test_any_pattern_reads_back(widths, height: float, grain: float):
    plain = trapezoid_pattern(*widths, height=height)
    panels = tuple(
        replace(
            panel, grain_deg=grain, notches=(Notch(edge=EdgeName.FRONT, along_mm=height / 3),), name="a", quantity=4
        )
        for panel in plain.panels
    )
    pattern = replace(plain, panels=panels, ease=frozenset(range(1, len(panels))), seam_allowance_mm=15.0)
    back = pattern_from(json.loads(json.dumps(pattern_document(pattern))))
    assert replace(back, panels=()) == replace(pattern, panels=())
    for panel, own in zip(back.panels, panels, strict=True):
        assert panel.outline == own.outline
        assert panel.grain_deg == pytest.approx(own.grain_deg)
        assert panel.notches[0].along_mm == pytest.approx(own.notches[0].along_mm)


def test_uneven_halves_read_back():
    left = draw_block(block_a()).pattern
    wider = replace(block_a(), levels=tuple(replace(level, girth_mm=level.girth_mm + 40) for level in block_a().levels))
    pattern = replace(left, right_panels=draw_block(wider).pattern.panels)
    back = pattern_from(json.loads(json.dumps(pattern_document(pattern))))
    assert back.closed_waist_mm == pytest.approx(pattern.closed_waist_mm)


def test_an_estimating_block_is_drawn():
    block = {
        "name": "A",
        "units": "in",
        "block": {
            "panels_per_half": 6,
            "lacing_gap": 2,
            "levels": [{"height": "5 1/8", "girth": "30 3/4"}, {"height": 0, "girth": "28 1/2", "take_in": 3}, {"height": -6, "girth": 37}],
            "top": [5, 4, 5],
            "bottom": [-6, -5, -6],
        },
    }  # fmt: skip
    found = read(json.dumps(block).encode(), ReadOptions())
    assert isinstance(found, Reading)
    assert found.pattern.closed_waist_mm == pytest.approx((28.5 - 3 - 2) * 25.4)


@pytest.mark.parametrize(
    ("document", "code", "where"),
    [
        (b"{", "file.not-json", "file, line 1"),
        (b'{"units": "mm", "units": "cm"}', "file.key-twice", "file"),
        (b'{"units": "mm", "panels": [NaN]}', "file.not-a-number", "panels[0]"),
        (b'{"units": "mm", "panels": [{"number": 1e999}]}', "file.not-a-number", "panels[0].number"),
        (b"[" * 100_000, "file.not-json", "file"),
        (rb'{"units": "mm", "name": "A\u0000", "panels": []}', "file.not-text", "name"),
        (rb'{"units": "mm", "name": "A", "panels": ["\ud83d"]}', "file.not-text", "panels[0]"),
        ([], "file.not-a-pattern", "file"),
        ({"units": "mm"}, "file.not-a-pattern", "file"),
        ({"units": "ell", "panels": []}, "file.unknown-units", "units"),
        ({"panels": []}, "file.no-units", "units"),
        ({"units": "mm", "panels": [], "colour": 1}, "file.unknown-key", "colour"),
        (changed_panel(width=3), "file.unknown-key", "panels[1].width"),
        (changed_panel(front=[[0, 0], ["x", 1]]), "file.not-a-length", "panels[1].front[1][0]"),
        (changed_panel(front=[[0, 0], [0, 1e9]]), "file.not-a-length", "panels[1].front[1][1]"),
        (changed_panel(outline=[[0, 0], [1, 0], [1, 1]]), "file.not-a-panel", "panels[1]"),
        (changed_panel(number="two"), "pattern.panel-without-number", "panels[1]"),
        (
            {"units": "mm", "panels": [{"number": 1, "outline": [[0, 0], [1, 0], [1, 1]], "corners": [0, 1, 2, 3]}]},
            "file.corners",
            "panels[0].corners",
        ),
    ],
)
def test_faults_have_their_path(document, code: str, where: str):
    assert (code, where) in codes(document)


@settings(max_examples=80)
@given(st.recursive(st.none() | st.booleans() | st.floats() | st.text(max_size=5), lambda c: st.lists(c, max_size=3) | st.dictionaries(st.sampled_from(["units", "panels", "block", "number", "front"]), c, max_size=4), max_leaves=8))  # fmt: skip
def test_any_json_is_refused_or_read_but_never_breaks(document):
    with contextlib.suppress(Refused):
        read(json.dumps(document).encode(), ReadOptions())


def test_an_escaped_pair_is_one_character():
    """RFC 8259, section 7: a character beyond the first plane is escaped as a pair."""
    assert json_data(rb'["\ud83d\ude00", "\\u0000"]') == ["\U0001f600", "\\u0000"]


RING = [[0, 0], [60, 0], [60, 200], [0, 200]]
BLOCK = {
    "panels_per_half": 6,
    "lacing_gap": 50,
    "levels": [{"height": 130, "girth": 780}, {"height": 0, "girth": 720}, {"height": -150, "girth": 940}],
    "top": [130, 110, 130],
    "bottom": [-150, -120, -140],
}


def outlined(**fields: object) -> dict:
    """A pattern of one panel."""
    return {"units": "mm", "panels": [{"number": 1, "outline": RING, **fields}]}


def blocked(**fields: object) -> dict:
    return {"units": "mm", "block": {**BLOCK, **fields}}


@pytest.mark.parametrize(
    ("document", "code", "where", "message"),
    [
        ({"units": "mm", "name": 3, "panels": []}, "file.not-text", "name", "The name must be text."),
        ({"units": "mm", "panels": {}}, "file.not-a-list", "panels", "panels must be a list of at most 60 panels."),
        ({"units": "mm", "panels": [{}] * 61}, "file.not-a-list", "panels", "panels must be a list of at most 60 panels."),
        ({"units": "mm", "panels": [[1, 2]]}, "file.not-a-panel", "panels[0]", "A panel must be an object."),
        ({"units": "mm", "panels": [{"number": 1}]}, "file.not-a-panel", "panels[0]", "A panel has either an outline or its four edges."),
        ({"units": "mm", "panels": [{"number": 1, "front": RING, "top": RING}]}, "file.missing-key", "panels[0]", "The edges back, bottom are missing."),
        ({**outlined(), "ease": "seam 2"}, "file.not-a-list", "ease", "ease must be a list of seam numbers."),
        ({**outlined(), "ease": [True]}, "file.not-a-list", "ease", "ease must be a list of seam numbers."),
        ({**outlined(), "gap": [50]}, "file.not-a-length", "gap", "'[50]' is not a length."),
        (outlined(grain="up"), "file.not-a-number", "panels[0].grain", "The grain is an angle in degrees."),
        (outlined(quantity=2.5), "file.not-a-number", "panels[0].quantity", "The quantity is a whole number."),
        (outlined(outline=RING[:2]), "file.not-a-list", "panels[0].outline", "panels[0].outline must be a list of at least 3 points."),
        (outlined(outline=[*RING, [1, 2, 3]]), "file.not-a-list", "panels[0].outline[4]", "panels[0].outline[4] must be a list of 2 numbers."),
        (outlined(corners=[0, 1, 2]), "file.corners", "panels[0].corners", "panels[0].corners must be four positions in the outline, 0 to 3."),
        (outlined(corners=[0, 1, 2, 4]), "file.corners", "panels[0].corners", "panels[0].corners must be four positions in the outline, 0 to 3."),
        ({"units": "mm", "block": []}, "block.not-an-object", "block", "The block must be an object."),
        (blocked(colour="bottle"), "file.unknown-key", "block.colour", "The key 'colour' is not known here."),
        (blocked(panels_per_half="six"), "block.panel-count", "block.panels_per_half", "The number of panels is a whole number."),
        (blocked(levels={}), "block.levels", "block.levels", "The levels must be a list of at most 60."),
        (blocked(levels=[130]), "block.level", "block.levels[0]", "A level must be an object with height and girth."),
        (blocked(levels=[{"height": 0}]), "file.missing-key", "block.levels[0].girth", "The key 'girth' is missing."),
        (blocked(top=[130, 110]), "file.not-a-list", "block.top", "block.top must be a list of 3 numbers."),
    ],
)  # fmt: skip
def test_each_fault_is_one_sentence_with_its_place(document, code: str, where: str, message: str):
    """The product's own rule: what a file may say stands in the reader's description."""
    with pytest.raises(Refused) as refusal:
        read(json.dumps(document).encode(), ReadOptions())
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [(code, where, message)]


def test_a_block_without_a_key_names_it():
    document = {"units": "mm", "block": {key: value for key, value in BLOCK.items() if key != "lacing_gap"}}
    assert codes(document) == [("file.missing-key", "block.lacing_gap")]


def test_points_are_counted_in_one_line_and_in_all_outlines_together(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(json_pattern, "MOST_POINTS", 7)
    assert codes(outlined(outline=[*RING, *RING])) == [("file.too-many-points", "panels[0].outline")]
    two = {"units": "mm", "panels": [{"number": number, "outline": RING} for number in (1, 2)]}
    assert codes(two) == [("file.too-many-points", "panels")]
    assert len(read(json.dumps(outlined()).encode(), ReadOptions()).panels) == 1


def test_corners_may_be_named_by_their_positions_or_left_out():
    named = read(json.dumps(outlined(corners=[3, 0, 1, 2])).encode(), ReadOptions())
    assert named.panels[0].corners == (3, 0, 1, 2)
    assert read(json.dumps(outlined()).encode(), ReadOptions()).panels[0].corners is None
