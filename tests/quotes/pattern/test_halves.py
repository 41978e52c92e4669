"""Both halves in one file: one is taken, or each counts for itself where they differ."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_panels import curved_pattern, drawn, drawn_panel, in_mirror, named, on_its_left_side, redrawn, upside_down
from support_patterns import block_a

from inventory.ground.findings import Refused
from quotes.pattern.assemble import assemble
from quotes.pattern.block import draw_block
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions
from quotes.pattern.panels import EdgeName, Panel, Pattern
from quotes.pattern.pattern_json import pattern_document, pattern_from

EVEN = curved_pattern()


def wider_at_the_back(panel: Panel, by_mm: float) -> Panel:
    """The panel let out along its back edge."""

    def out(line, share=1.0):
        return tuple((x + by_mm * share * (x > 35), y) for x, y in line)

    return replace(panel, back=out(panel.back), top=out(panel.top), bottom=out(panel.bottom))


def right_half(panels) -> tuple[DrawnPanel, ...]:
    return tuple(redrawn(drawn_panel(panel, f"right {panel.number}"), in_mirror) for panel in panels)


def both(left: Pattern, right_panels) -> Drawing:
    return replace(drawn(left), panels=(*drawn(left).panels, *right_half(right_panels)))


def lengths(panels) -> list[float]:
    return [round(panel.edge_mm(name), 6) for panel in panels for name in EdgeName]


@settings(max_examples=20)
@given(st.permutations(range(12)))
def test_halves_alike_give_one_in_whatever_order_they_come(order):
    panels = both(EVEN, EVEN.panels).panels
    found = assemble(Drawing(name="", panels=tuple(panels[index] for index in order)), ReadOptions())
    assert found.pattern.right_panels is None
    assert lengths(found.pattern.panels) == lengths(EVEN.panels)
    assert found.findings == ()


@pytest.mark.parametrize("move", [upside_down, on_its_left_side])
def test_halves_drawn_upright_lying_or_turned_are_told_apart(move):
    drawing = both(EVEN, EVEN.panels)
    moved = replace(drawing, panels=tuple(redrawn(panel, move) for panel in drawing.panels))
    found = assemble(moved, ReadOptions()).pattern
    assert found.right_panels is None
    assert [round(p.edge_mm(EdgeName.FRONT), 3) for p in found.panels] == [
        round(p.edge_mm(EdgeName.FRONT), 3) for p in EVEN.panels
    ]


@pytest.mark.parametrize(("by_mm", "uneven"), [(0.9, False), (1.1, True), (6.0, True)])
def test_more_than_a_millimetre_anywhere_is_uneven_and_says_where(by_mm: float, uneven: bool):
    right = [wider_at_the_back(panel, by_mm) if panel.number == 3 else panel for panel in EVEN.panels]
    found = assemble(both(EVEN, right), ReadOptions())
    assert (found.pattern.right_panels is not None) is uneven
    words = [finding for finding in found.findings if finding.code == "pattern.halves-differ"]
    assert [finding.where for finding in words] == ["panel 3"] * uneven
    if uneven:
        assert f"panel 3 by {by_mm:.1f} mm at its back edge" in words[0].message
        assert found.pattern.right_panels is not None
        assert lengths(found.pattern.right_panels) == lengths(right)
        assert lengths(found.pattern.panels) == lengths(EVEN.panels)
        assert found.pattern.closed_waist_mm == pytest.approx(EVEN.closed_waist_mm + by_mm, abs=0.01)


def test_named_edges_say_which_half_is_the_left_one():
    right = [wider_at_the_back(panel, 5.0) for panel in EVEN.panels]
    mirrored = [redrawn(panel, in_mirror) for panel in named(replace(EVEN, panels=tuple(right))).panels]
    found = assemble(replace(named(EVEN), panels=(*mirrored, *named(EVEN).panels)), ReadOptions()).pattern
    assert lengths(found.panels) == lengths(EVEN.panels)
    assert found.right_panels is not None
    assert lengths(found.right_panels) == lengths(right)


def test_symmetric_panels_stay_on_the_side_that_the_file_gives_them():
    """Panels whose front and back are alike: no seam can tell, the file's order must."""
    left = tuple(replace(panel, number=n) for n, panel in enumerate([curved_pattern(2).panels[0]] * 3, start=1))
    square = [
        replace(
            p,
            back=tuple((70 - x, y) for x, y in p.front),
            top=(p.front[-1], (70 - p.front[-1][0], 150.0)),
            bottom=(p.front[0], (70 - p.front[0][0], p.front[0][1])),
        )
        for p in left
    ]
    even = Pattern(name="", panels=tuple(square))
    right = [wider_at_the_back(panel, 4.0) for panel in square]
    found = assemble(both(even, right), ReadOptions()).pattern
    assert found.right_panels is not None
    assert [
        round(panel.waist_width_mm - other.waist_width_mm, 6)
        for panel, other in zip(found.right_panels, found.panels, strict=True)
    ] == [4, 4, 4]


def test_the_same_panels_twice_are_no_two_halves():
    panels = drawn(EVEN).panels
    again = tuple(replace(panel, where=f"copy {panel.number}") for panel in panels)
    with pytest.raises(Refused) as refusal:
        assemble(Drawing(name="", panels=(*panels, *again)), ReadOptions())
    assert {finding.code for finding in refusal.value.findings} >= {"pattern.panel-twice"}
    assert "not as a mirror image: panel 1, copy 1" in refusal.value.findings[0].message


def test_one_number_twice_is_refused_with_both_places():
    panels = drawn(EVEN).panels
    with pytest.raises(Refused) as refusal:
        assemble(Drawing(name="", panels=(*panels, replace(panels[2], where="stray"))), ReadOptions())
    found = [finding for finding in refusal.value.findings if finding.code == "pattern.panel-twice"]
    assert "Panel 3 is there 2 times: panel 3, stray" in found[0].message


def test_uneven_halves_read_back_from_what_is_printed():
    left = draw_block(block_a()).pattern
    pattern = replace(left, right_panels=tuple(wider_at_the_back(panel, 3.0) for panel in left.panels))
    assert pattern_from(json.loads(json.dumps(pattern_document(pattern)))) == pattern
