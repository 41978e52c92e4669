"""Which kinds an option cannot do without, and what a price list lacks; the rules are the product's own."""

from dataclasses import replace
from decimal import Decimal

import pytest
from support_patterns import trapezoid_pattern

from inventory.ground.materials import Material, MaterialKind
from quotes.construction.construction import BindingSource, Choices, Construction, FrontKind
from quotes.construction.shipped import shipped
from quotes.takeoff.chosen_materials import needed_kinds, plain_shelf, shelf_of
from quotes.takeoff.edges import edge_lines, waist_tape_mm
from quotes.takeoff.losses import default_losses

TWO = shipped("two-layer")
PLAIN = Choices(toile=False)
FLAT_ONLY = replace(TWO.bones, seam_kind="flat")
SPIRAL_ONLY = replace(TWO.bones, back_kind="spiral", busk_kind="spiral")


@pytest.mark.parametrize(
    ("construction", "choices", "more", "less"),
    [
        (replace(TWO, bones=FLAT_ONLY), PLAIN, set(), {MaterialKind.SPIRAL}),
        (replace(TWO, bones=SPIRAL_ONLY), PLAIN, set(), {MaterialKind.FLAT}),
        (
            replace(TWO, channels=replace(TWO.channels, bones_per_seam=0)),
            PLAIN,
            set(),
            {MaterialKind.SPIRAL},
        ),
        (
            replace(TWO, channels=replace(TWO.channels, bones_per_seam=0, mid_panel=(1,))),
            PLAIN,
            set(),
            set(),
        ),
        (replace(TWO, has_waist_tape=False), PLAIN, set(), {MaterialKind.WAIST_TAPE}),
        (replace(TWO, front=FrontKind.ZIP), PLAIN, {MaterialKind.ZIP}, {MaterialKind.BUSK}),
        (replace(TWO, front=FrontKind.CLOSED), PLAIN, set(), {MaterialKind.BUSK}),
        (replace(TWO, binding=BindingSource.BOUGHT), PLAIN, {MaterialKind.BINDING}, set()),
        (shipped("single-layer"), PLAIN, {MaterialKind.CASING}, set()),
        (TWO, Choices(toile=True, flossing=True), {MaterialKind.TOILE_CLOTH, MaterialKind.FLOSS}, set()),
    ],
)
def test_what_is_needed_follows_the_construction(
    construction: Construction, choices: Choices, more: set[MaterialKind], less: set[MaterialKind]
):
    usual = set(needed_kinds(TWO, PLAIN))
    assert set(needed_kinds(construction, choices)) == (usual | more) - less
    assert less <= usual


def test_a_construction_without_waist_tape_takes_none():
    pattern = trapezoid_pattern((60, 60), (60, 60))
    # Two halves of two panels of 60 mm, and four ends of 40 mm.
    assert waist_tape_mm(pattern, TWO) == 240 + 160
    assert waist_tape_mm(pattern, replace(TWO, has_waist_tape=False)) == 0


def price_list() -> list[Material]:
    return [
        Material(code=kind.value, kind=kind, unit=kind.unit, unit_cost=Decimal(1))
        for kind in MaterialKind
        if kind is not MaterialKind.ZIP
    ]


@pytest.mark.parametrize("code", ["silk-cord", "cloth"])
def test_a_picked_material_must_be_on_the_list_and_of_its_kind(code: str):
    choices = Choices(materials={"cord": code})
    shelf, findings = shelf_of(TWO, choices, {"outer": "cloth", "inner": "cloth"}, price_list(), where="options[0]")
    assert shelf is None
    assert [(found.code, found.where, found.message) for found in findings] == [
        (
            "commission.unknown-material",
            "options[0].choices.cord",
            f"The price list has no cord of the code {code!r}.",
        )
    ]


def test_without_tape_and_casing_only_bought_binding_is_on_the_edges():
    bought = replace(TWO, binding=BindingSource.BOUGHT)
    lines = edge_lines(
        binding=1000.0,
        tape=0.0,
        casing=0.0,
        runs=(),
        construction=bought,
        shelf=plain_shelf(bought),
        losses=default_losses(),
    )
    assert [(line.code, line.quantity) for line in lines] == [("binding", Decimal(1))]
