"""Panels of one shell cut of several cloths: the seams are those of the shell, whatever its panels are cut of.

Sources: trade counts of seams and passes (common practice: n − 1 seams a half and shell, P7 and the table of
constructions in any sewing class); the rest is a law: where a panel's cloth comes from changes no stitch.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_patterns import block_a, labour_of

from quotes.construction.construction import Choices, Construction, Layer
from quotes.construction.shipped import shipped, shipped_codes
from quotes.pattern.block import draw_block
from quotes.pattern.panels import Pattern
from quotes.seal.sealing import sealed_takeoff
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.stitching import seam_lines
from quotes.takeoff.take_off import take_off
from quotes.takeoff.takeoff import Takeoff

PATTERN = draw_block(block_a()).pattern
PANELS = range(1, 7)


def off(construction: Construction, pattern: Pattern = PATTERN) -> Takeoff:
    return take_off(pattern, construction, Choices(), plain_shelf(construction))


def in_cloths(construction: Construction, role: str, cloths: dict[str, tuple[int, ...]]) -> Construction:
    """The construction with one layer's panels shared out among cloths, all sewn in that layer's shell."""
    title = next(layer.title for layer in construction.layers if layer.role == role)
    parts = [Layer(role=name, title=f"{title} {name}", panels=panels) for name, panels in cloths.items()]
    layers = [part for layer in construction.layers for part in (parts if layer.role == role else [layer])]
    shells = [
        replace(shell, roles=tuple(r for own in shell.roles for r in (cloths if own == role else [own])))
        for shell in construction.shells
    ]
    return replace(construction, layers=tuple(layers), shells=tuple(shells))


@st.composite
def shared_out(draw: st.DrawFn) -> tuple[str, Construction]:
    """A shipped construction, and the same with each layer's six panels shared out among up to three cloths."""
    code = draw(st.sampled_from(shipped_codes()))
    thickness = draw(st.sampled_from([None, 0.5]))
    construction = replace(shipped(code), ply_thickness_mm=thickness)
    for role in construction.roles:
        cloth_of = draw(st.lists(st.integers(1, 3), min_size=6, max_size=6))
        cloths = {
            f"{role}-{'abc'[cloth - 1]}": tuple(panel for panel in PANELS if cloth_of[panel - 1] == cloth)
            for cloth in sorted(set(cloth_of))
        }
        construction = in_cloths(construction, role, cloths)
    return code, construction


def test_mesh_in_two_panels_leaves_every_seam_of_a_single_layer():
    """Six panels a half have five seams a half, ten in the garment (n − 1), each sewn twice: as without the mesh."""
    mesh = in_cloths(shipped("single-layer"), "outer", {"outer": (1, 3, 5, 6), "mesh": (2, 4)})
    takeoff, plain = off(mesh), off(shipped("single-layer"))
    assert (takeoff.work.seams, takeoff.work.seam_passes) == (10, 20)
    assert takeoff.thread_mm == plain.thread_mm
    assert takeoff.work.pass_mm == plain.work.pass_mm
    minutes = {row.code: row.minutes for row in labour_of(takeoff).operations}
    once = {row.code: row.minutes for row in labour_of(plain).operations}
    for code in ("PIN", "SEW1", "SEW2", "CLIP", "PRESS", "TAPE", "CASE", "CHAN", "GPAN"):
        assert minutes[code] == once[code]
    # The mesh is a second cloth to prepare and to lay.
    assert minutes["PREP"] > once["PREP"]
    assert minutes["CUT"] > once["CUT"]


@settings(max_examples=60, deadline=None)
@given(shared_out())
def test_a_shell_of_many_cloths_is_sewn_as_one_of_one_cloth(drawn: tuple[str, Construction]):
    code, construction = drawn
    many, one = off(construction), off(replace(shipped(code), ply_thickness_mm=construction.ply_thickness_mm))
    assert many.thread_mm == one.thread_mm
    assert replace(many.work, drivers={}) == replace(one.work, drivers={})
    # More cloths to prepare; every other driver of labour is the same.
    assert {**many.work.drivers, "cloth": 0} == {**one.work.drivers, "cloth": 0}
    assert many.work.drivers["cloth"] == len(construction.layers) >= one.work.drivers["cloth"]
    assert labour_of(many).total_min >= labour_of(one).total_min
    assert seam_lines(PATTERN, construction) == seam_lines(PATTERN, shipped(code))
    assert {line.code: line.quantity for line in many.lines if not line.roles and line.code != "bias"} == {
        line.code: line.quantity for line in one.lines if not line.roles and line.code != "bias"
    }


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from(PANELS), min_size=1), st.sets(st.sampled_from(PANELS)))
def test_a_panel_that_a_shell_lacks_has_no_seam_there(first: set[int], second: set[int]):
    """Counted by hand: a seam for every panel whose next one is in the shell too, both halves."""
    cloths = {"outer": tuple(sorted(first)), "mesh": tuple(sorted(second))}
    construction = in_cloths(shipped("single-layer"), "outer", {role: cut for role, cut in cloths.items() if cut})
    there = first | second
    assert off(construction).work.seams == 2 * sum(panel in there and panel + 1 in there for panel in range(1, 6))
    assert {line.seam for line in seam_lines(PATTERN, construction)} == {n for n in there if n + 1 in there}


def test_a_seam_has_the_plies_of_its_own_two_panels():
    """Interlining in panels 1 and 6 of a fused shell: 2 + 1 plies where only one side has it, two in the middle."""
    construction = shipped("fused")
    inner = construction.layers[1]
    stiffened = replace(construction, layers=(construction.layers[0], replace(inner, panels=(1, 6))))
    plies = {line.seam: line.plies for line in seam_lines(PATTERN, stiffened)}
    assert plies == {1: 3, 2: 2, 3: 2, 4: 2, 5: 3}
    assert off(stiffened).work.drivers["first_pass"] == 10
    assert off(stiffened).work.drivers["flatlined_pair"] == 4


@pytest.mark.parametrize("code", ["single-layer", "two-layer"])
def test_two_shells_that_no_seam_joins_are_told(code: str):
    """A mesh in a shell of its own is joined to nothing: somebody must see that before the price does."""
    construction = in_cloths(shipped(code), "outer", {"outer": (1, 3, 5, 6), "mesh": (2, 4)})
    first = construction.shells[0]
    apart = replace(
        construction,
        shells=(
            replace(first, roles=("outer",)),
            replace(first, title="mesh", roles=("mesh",)),
            *construction.shells[1:],
        ),
    )
    told = [found for found in off(apart).findings if found.code == "takeoff.shell-not-joined"]
    assert [found.where for found in told] == ["seam 1", "seam 2", "seam 3", "seam 4"]
    assert not [found for found in off(construction).findings if found.code == "takeoff.shell-not-joined"]


def test_a_garment_of_one_layer_side_by_side_is_of_one_layer():
    """What the client reads under “layers”: thicknesses of cloth, not how many cloths they are cut of."""
    mesh = in_cloths(shipped("single-layer"), "outer", {"outer": (1, 3, 5, 6), "mesh": (2, 4)})
    takeoff = off(mesh)
    assert sealed_takeoff(takeoff, labour_of(takeoff)).construction.cloth_layers == 1
