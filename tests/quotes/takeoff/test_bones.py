"""Bones on rectangles, so that every channel is as long as the panel is tall; the rules are the product's own."""

from dataclasses import replace

import pytest
from support_patterns import trapezoid_pattern

from inventory.ground.materials import MaterialKind
from quotes.construction.construction import Channels, Construction
from quotes.construction.shipped import shipped
from quotes.pattern.panels import Pattern
from quotes.takeoff.bone_candidates import usual_lengths_mm
from quotes.takeoff.bone_plan import BonePlan, plan_bones
from quotes.takeoff.bone_work import BoneWork
from quotes.takeoff.bones import bone_lines
from quotes.takeoff.channels import bone_channels
from quotes.takeoff.chosen_materials import Shelf, plain_shelf
from quotes.takeoff.losses import default_losses

TWO = shipped("two-layer")


def rectangles(height: float) -> Pattern:
    return trapezoid_pattern((60, 60), (60, 60), height=height)


def boned(*, channels: Channels = TWO.channels, **bones: object) -> Construction:
    return replace(TWO, bones=replace(TWO.bones, shorter_by_mm=25.0, **bones), channels=channels)  # type: ignore[arg-type]


def with_flats(*lengths: float) -> Shelf:
    shelf = plain_shelf(TWO)
    flat = replace(shelf.material(MaterialKind.FLAT), lengths_mm=lengths)
    return replace(shelf, others={**shelf.others, MaterialKind.FLAT: flat})


def planned(pattern: Pattern, construction: Construction, shelf: Shelf) -> BonePlan:
    channels, findings = bone_channels(pattern, construction, {})
    plan = plan_bones(channels, shelf, chosen={}, bench=BoneWork(), losses=default_losses())
    return replace(plan, findings=(*findings, *plan.findings))


def told(height: float, construction: Construction, shelf: Shelf) -> list[tuple[str, str, str]]:
    return [
        (found.code, found.where, found.message) for found in planned(rectangles(height), construction, shelf).findings
    ]


def test_a_belt_that_is_lower_than_any_flat_that_is_sold_has_one_cut_down():
    """A maker files and tips the cut end of a longer one: common practice, no source."""
    shelf = with_flats(400, 300)
    plan = planned(rectangles(240), boned(at_busk=0), shelf)
    assert [(found.code, found.severity) for found in plan.findings] == [("takeoff.bone-cut-down", "note")]
    (back,) = [run for run in plan.bones if run.kind == "flat"]
    assert (back.length_mm, back.cut_from_mm, back.tips) == (215, 300, 2)
    lines = {line.code: line.quantity for line in bone_lines(plan, shelf, default_losses())}
    assert lines["flat.300"] == 4
    assert lines["tip"] == 2 * 2 + 2 * 4 + 2  # two spirals, four flats, a tenth of twelve spoilt


def test_a_channel_shorter_than_what_a_bone_leaves_free_holds_none():
    found = told(20, boned(at_busk=0, back_kind="spiral"), plain_shelf(TWO))
    assert found == [
        ("takeoff.bone-too-short", "seam 1", "A channel of 20 mm holds no bone."),
        ("takeoff.bone-too-short", "centre back", "A channel of 20 mm holds no bone."),
    ]


def test_flats_are_taken_in_the_lengths_that_the_material_is_sold_in():
    shelf = with_flats(190, 210, 220)
    plan = planned(rectangles(240), boned(), shelf)
    assert {run.where: run.length_mm for run in plan.bones if run.kind == "flat"} == {
        "centre back": 210,
        "beside busk": 210,
    }
    assert plan.findings == ()
    assert usual_lengths_mm(shelf.material(MaterialKind.FLAT)) == (190, 210, 220)


def test_without_spirals_neither_coil_nor_tips_are_bought():
    flat = boned(seam_kind="flat")
    plan = planned(rectangles(240), flat, plain_shelf(TWO))
    assert [line.kind for line in bone_lines(plan, plain_shelf(TWO), default_losses())] == [MaterialKind.FLAT]


def test_no_bones_at_the_busk_leave_no_place_for_them():
    runs = planned(rectangles(240), boned(at_busk=0), plain_shelf(TWO)).bones
    assert [(run.where, run.count) for run in runs] == [("seam 1", 2), ("centre back", 4)]


def test_halves_of_unlike_height_have_their_bones_apart():
    uneven = replace(rectangles(240), right_panels=rectangles(260).panels)
    runs = planned(uneven, boned(at_busk=0, back_kind="spiral"), plain_shelf(TWO)).bones
    assert [(run.where, run.length_mm, run.count) for run in runs] == [
        ("seam 1 left", 215, 1),
        ("seam 1 right", 235, 1),
        ("centre back left", 215, 2),
        ("centre back right", 235, 2),
    ]


def test_a_bone_down_the_middle_of_a_panel_is_as_long_as_its_edges_are_on_average():
    """Panel 1 is 240 mm tall at its front and √(240² + 70²) = 250 mm along its back; panel 3 is not there."""
    pattern = trapezoid_pattern((130, 60), (60, 60), height=240)
    runs = planned(pattern, boned(channels=replace(TWO.channels, mid_panel=(1, 3))), plain_shelf(TWO)).bones
    middle = [run for run in runs if run.where.startswith("mid-panel")]
    assert [(run.where, run.count) for run in middle] == [("mid-panel 1", 2)]
    assert middle[0].channel_mm == pytest.approx(245)


def test_a_bone_is_shorter_than_its_channel_by_what_the_construction_says():
    runs = planned(rectangles(240), boned(at_busk=0, back_kind="spiral"), plain_shelf(TWO)).bones
    assert {run.length_mm for run in runs} == {215.0}
