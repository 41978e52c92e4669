"""Drawings told apart: whatever way a pattern is drawn, it becomes the same pattern; what is wrong is named."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_patterns import block_a, block_b, ring_of, turned_ring

from inventory.findings import Refused
from quotes.pattern.assemble import assemble
from quotes.pattern.block import draw_block
from quotes.pattern.cutline import EdgeAllowances, cut_outline
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions
from quotes.pattern.geometry import mirrored
from quotes.pattern.model import EdgeName, Pattern
from quotes.pattern.orientation import mirrored_panel
from quotes.pattern.truing import seams


def drawn(pattern: Pattern) -> Drawing:
    """A drawing program's view of a pattern: outlines and waist lines, nothing named."""
    return Drawing(
        name=pattern.name,
        panels=tuple(
            DrawnPanel(number=panel.number, where=f"panel {panel.number}", stitching=ring_of(panel), waist_mm=0.0)
            for panel in pattern.panels
        ),
    )


def lengths(pattern: Pattern) -> list[float]:
    return [round(panel.edge_mm(name), 3) for panel in pattern.panels for name in EdgeName]


def codes(drawing: Drawing, **options: object) -> list[str]:
    with pytest.raises(Refused) as refusal:
        assemble(drawing, ReadOptions(**options))  # type: ignore[arg-type]
    return [finding.code for finding in refusal.value.findings]


def changed(drawing: Drawing, index: int, **fields: object) -> Drawing:
    panels = list(drawing.panels)
    panels[index] = replace(panels[index], **fields)  # type: ignore[arg-type]
    return replace(drawing, panels=tuple(panels))


@settings(max_examples=25)
@given(st.permutations(range(6)), st.booleans(), st.integers(0, 60), st.booleans())
def test_order_direction_start_and_mirror_change_nothing(order, backwards: bool, start: int, in_mirror: bool):
    pattern = draw_block(block_a()).pattern
    panels = []
    for panel in drawn(pattern).panels:
        ring = panel.stitching or ()
        ring = ring[start % len(ring) :] + ring[: start % len(ring)]
        ring = tuple(reversed(ring)) if backwards else ring
        panels.append(replace(panel, stitching=mirrored(ring) if in_mirror else ring))
    shuffled = Drawing(name=pattern.name, panels=tuple(panels[index] for index in order))
    assert lengths(assemble(shuffled, ReadOptions()).pattern) == lengths(pattern)


@pytest.mark.parametrize("quarter", [90.0, -90.0])
def test_pieces_that_lie_on_their_side_are_turned_by_their_grain(quarter: float):
    pattern = draw_block(block_b()).pattern
    panels = tuple(
        replace(
            panel,
            stitching=turned_ring(panel.stitching or (), quarter),
            grain=((0.0, 0.0), (50.0, 0.0)),
            waist_mm=None,
            waist=turned_ring(((-50.0, 0.0), (150.0, 0.0)), quarter),
        )
        for panel in drawn(pattern).panels
    )
    found = assemble(Drawing(name="", panels=panels), ReadOptions()).pattern
    assert [round(seam.length_mm, 2) for seam in seams(found.panels)] == [
        round(seam.length_mm, 2) for seam in seams(pattern.panels)
    ]


def test_a_cut_line_with_its_allowance_gives_the_stitching_line():
    pattern = draw_block(block_a()).pattern
    even = EdgeAllowances(front_mm=12.7, back_mm=12.7, top_mm=12.7, bottom_mm=12.7)
    panels = tuple(
        DrawnPanel(number=panel.number, where=f"panel {panel.number}", cut=cut_outline(panel, even), waist_mm=0.0)
        for panel in pattern.panels
    )
    cut_only = Drawing(name="", panels=panels)
    assert codes(cut_only) == ["pattern.cut-line-without-allowance"] * 6
    found = assemble(cut_only, ReadOptions(seam_allowance_mm=12.7)).pattern
    assert lengths(found) == pytest.approx(lengths(pattern), abs=0.1)


def test_both_halves_alike_give_one():
    pattern = draw_block(block_a()).pattern
    panels = drawn(pattern).panels
    others = tuple(
        replace(panel, stitching=ring_of(mirrored_panel(own)))
        for panel, own in zip(panels, pattern.panels, strict=True)
    )
    found = assemble(Drawing(name="", panels=(*others, *panels)), ReadOptions())
    assert found.pattern.right_panels is None
    assert lengths(found.pattern) == lengths(pattern)


def test_uneven_halves_count_each_for_itself_and_say_where():
    left = draw_block(block_a()).pattern
    wider = replace(block_a(), levels=tuple(replace(level, girth_mm=level.girth_mm + 40) for level in block_a().levels))
    right = draw_block(wider).pattern
    others = tuple(
        DrawnPanel(number=p.number, where=f"right {p.number}", stitching=ring_of(mirrored_panel(p)), waist_mm=0.0)
        for p in right.panels
    )
    found = assemble(Drawing(name="", panels=(*drawn(left).panels, *others)), ReadOptions())
    assert found.pattern.right_panels is not None
    assert "pattern.halves-differ" in [finding.code for finding in found.findings]
    assert found.pattern.closed_waist_mm == pytest.approx((left.closed_waist_mm + right.closed_waist_mm) / 2, abs=0.1)


def test_geo_18_a_bow_tie_is_refused():
    """Simple-feature rules: (0,0) (1,1) (1,0) (0,1) crosses itself."""
    drawing = drawn(draw_block(block_a()).pattern)
    bow_tie = ((0.0, 0.0), (100.0, 200.0), (100.0, 0.0), (0.0, 200.0))
    assert codes(changed(drawing, 1, stitching=bow_tie)) == ["pattern.outline-crosses-itself"]


def test_every_fault_is_named_in_one_pass():
    drawing = drawn(draw_block(block_a()).pattern)
    broken = changed(changed(drawing, 0, stitching=((0.0, 0.0), (50.0, 0.0))), 2, number=None)
    assert codes(broken) == ["pattern.panel-without-number", "pattern.panel-missing", "pattern.too-few-corners"]


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"stitching": ((0.0, 0.0), (float("nan"), 0.0), (50.0, 200.0))}, "pattern.not-finite"),
        ({"stitching": ((0.0, 0.0), (9000.0, 0.0), (9000.0, 200.0), (0.0, 200.0))}, "pattern.size"),
        ({"number": 9}, "pattern.panel-missing"),
        ({"number": 1}, "pattern.panel-missing"),
        ({"waist_mm": 900.0}, "pattern.waist-outside"),
    ],
)
def test_a_broken_panel_is_refused(fields: dict, code: str):
    assert code in codes(changed(drawn(draw_block(block_a()).pattern), 1, **fields))


def test_inches_taken_for_millimetres_are_named():
    small = tuple(
        replace(panel, stitching=tuple((x / 25.4, y / 25.4) for x, y in panel.stitching or ()))
        for panel in drawn(draw_block(block_a()).pattern).panels
    )
    assert "pattern.looks-like-other-units" in codes(Drawing(name="", panels=small))


def test_a_rectangle_has_no_long_and_short_sides_to_tell_apart_when_it_is_square():
    square = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    panels = tuple(DrawnPanel(number=n, where=f"panel {n}", stitching=square, waist_mm=50.0) for n in (1, 2))
    assert codes(Drawing(name="", panels=panels)) == ["pattern.corners-ambiguous"] * 2


def test_picked_corners_settle_what_is_ambiguous():
    square = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    panels = tuple(DrawnPanel(number=n, where=f"panel {n}", stitching=square, waist_mm=50.0) for n in (1, 2))
    picked = ((1.0, 1.0), (99.0, 1.0), (99.0, 99.0), (1.0, 99.0))
    found = assemble(Drawing(name="", panels=panels), ReadOptions(corners={1: picked, 2: picked}))
    assert found.pattern.panels[0].edge_mm(EdgeName.FRONT) == 100


def test_a_missing_waist_is_warned_of_and_the_narrowest_level_taken():
    drawing = drawn(draw_block(block_a()).pattern)
    found = assemble(changed(drawing, 2, waist_mm=None), ReadOptions())
    assert "pattern.waist-missing" in [finding.code for finding in found.findings]
    assert found.pattern.panels[2].waist_mm == pytest.approx(0.0, abs=5)


def test_a_pair_of_notches_marks_the_waist():
    drawing = drawn(draw_block(block_a()).pattern)
    panel = draw_block(block_a()).pattern.panels[2]
    ends = tuple((x, y) for x, y in (*panel.front, *panel.back) if y == 0)
    found = assemble(changed(drawing, 2, waist_mm=None, notches=ends), ReadOptions())
    assert found.pattern.panels[2].waist_mm == pytest.approx(0.0, abs=1e-6)
    assert "pattern.waist-missing" not in [finding.code for finding in found.findings]


@pytest.mark.parametrize(("longer", "severity"), [(1.5, None), (1.6, "warn"), (3.0, "warn"), (3.1, "stop")])
def test_truing_tolerances_at_their_bounds(longer: float, severity: str | None):
    """Common practice: 1.5 mm is allowed, more than 3 mm is an error."""
    upright = ((0.0, 0.0), (0.0, 240.0))

    def panel(number: int, back_mm: float) -> DrawnPanel:
        back = ((60.0, 0.0), (60.0, back_mm))
        edges = {
            EdgeName.FRONT: upright,
            EdgeName.BACK: back,
            EdgeName.TOP: (upright[-1], back[-1]),
            EdgeName.BOTTOM: (upright[0], back[0]),
        }
        return DrawnPanel(number=number, where=f"panel {number}", edges=edges, waist_mm=120.0)

    drawing = Drawing(name="", panels=(panel(1, 240.0 + longer), panel(2, 240.0)))
    options = ReadOptions(centre_front="left")
    if severity == "stop":
        assert codes(drawing, centre_front="left") == ["pattern.seam-does-not-true"]
        assemble(replace(drawing, ease=frozenset({1})), options)
        return
    found = [f.severity for f in assemble(drawing, options).findings if f.code == "pattern.seam-does-not-true"]
    assert found == ([severity] if severity else [])


def test_ease_on_a_seam_that_is_not_there_is_refused():
    drawing = drawn(draw_block(block_a()).pattern)
    assert codes(drawing, ease=frozenset({9})) == ["pattern.ease-without-seam"]
