"""Which bones go into the channels: by hand, and against every choice tried one by one; the rules are the product's own."""

import itertools
import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support_patterns import trapezoid_pattern

from inventory.ground.bone_forms import BoneForm, PricedForm
from inventory.ground.materials import MaterialKind
from quotes.construction.construction import BoneChoice
from quotes.construction.shipped import shipped
from quotes.takeoff.bone_candidates import forms_of
from quotes.takeoff.bone_plan import BonePlan, plan_bones
from quotes.takeoff.bone_work import BoneWork, driver_of
from quotes.takeoff.bones import bone_lines
from quotes.takeoff.channels import bone_channels
from quotes.takeoff.chosen_materials import Shelf, plain_shelf
from quotes.takeoff.drivers import Driver
from quotes.takeoff.losses import default_losses

TWO = shipped("two-layer")
PLAIN = replace(TWO, bones=replace(TWO.bones, at_busk=0, back_kind="spiral"))
"""Two spirals on seam 1, four at centre back."""
BENCH = BoneWork(
    minute_cost=Decimal("0.4"),
    unit_min={
        Driver.CUT_BONE: 3.5,
        Driver.TIPPED_BONE: 2.5,
        Driver.PRECUT_BONE: 0.5,
        Driver.CUT_FLAT: 5.0,
        Driver.ROUNDED_BONE: 1.5,
    },
    operation={Driver.CUT_BONE: "SPIR", Driver.TIPPED_BONE: "SPIR", Driver.PRECUT_BONE: "FLATB"},
    setup_min={"SPIR": 5.0, "FLATB": 3.0},
)
TIP = Decimal("0.05")


def coil(cost: str, length_mm: float | None = None) -> PricedForm:
    return PricedForm(form=BoneForm.COIL, length_mm=length_mm, unit_cost=Decimal(cost))


def tipped(length_mm: float, cost: str, free: int | None = None) -> PricedForm:
    return PricedForm(form=BoneForm.TIPPED, length_mm=length_mm, unit_cost=Decimal(cost), free=free)


def raw(length_mm: float, cost: str, free: int | None = None) -> PricedForm:
    return PricedForm(form=BoneForm.CUT, length_mm=length_mm, unit_cost=Decimal(cost), free=free)


def spirals(*forms: PricedForm, has_tips: bool = True) -> Shelf:
    shelf = plain_shelf(PLAIN)
    others = dict(shelf.others)
    others[MaterialKind.SPIRAL] = replace(others[MaterialKind.SPIRAL], code="spiral-7", forms=forms)
    others[MaterialKind.TIP] = replace(others[MaterialKind.TIP], unit_cost=TIP)
    if not has_tips:
        del others[MaterialKind.TIP]
    return replace(shelf, others=others)


def planned(shelf: Shelf, height: float = 240, **chosen: BoneChoice) -> BonePlan:
    """Every channel as tall as `height`, so that a bone is ideally 25 mm shorter."""
    pattern = trapezoid_pattern((60, 60), (60, 60), height=height)
    names = {name.replace("_", "-"): choice for name, choice in chosen.items()}
    channels, findings = bone_channels(pattern, PLAIN, names)
    plan = plan_bones(channels, shelf, chosen=names, bench=BENCH, losses=default_losses())
    return replace(plan, findings=(*findings, *plan.findings))


def bones(plan: BonePlan) -> list[tuple[str, str, float, float, int]]:
    return [(run.where, run.form, run.length_mm, run.cut_from_mm, run.count) for run in plan.bones]


def cost(plan: BonePlan, shelf: Shelf) -> Decimal:
    """Coil with 5 % for cutting, whole pieces, tips with 10 % spoilt, minutes and what operations take once."""
    forms = {(form.form, form.length_mm): form.unit_cost for form in shelf.material(MaterialKind.SPIRAL).forms}
    total = Decimal(0)
    for run in plan.bones:
        if run.drawer_form is BoneForm.COIL:
            per_metre = next(
                form.unit_cost for form in shelf.material(MaterialKind.SPIRAL).forms if form.form == "coil"
            )
            total += per_metre * Decimal(repr(run.length_mm)) / 1000 * Decimal("1.05") * run.count
        minutes = Decimal(repr(BENCH.unit_min[driver_of(run)]))
        total += (run.tips * TIP * Decimal("1.1") + minutes * BENCH.minute_cost) * run.count
    for piece in plan.pieces:
        total += forms[BoneForm(piece.form), piece.length_mm] * piece.count
    for operation in {BENCH.operation[driver_of(run)] for run in plan.bones}:
        total += BENCH.minute_cost * Decimal(repr(BENCH.setup_min[operation]))
    return total


def test_a_drawer_of_ready_bones_needs_neither_coil_nor_tips():
    shelf = spirals(tipped(200, "0.60"), tipped(213, "0.62"), has_tips=False)
    plan = planned(shelf)
    assert bones(plan) == [("seam 1", "tipped", 213, 0, 2), ("centre back", "tipped", 213, 0, 4)]
    assert plan.findings == ()
    (line,) = bone_lines(plan, shelf, default_losses())
    assert (line.code, line.quantity, line.form, line.size_mm) == ("spiral.tipped.213", 6, "tipped", 213)


@pytest.mark.parametrize(("ready", "taken"), [("1.85", "tipped"), ("1.90", "coil")])
def test_the_cheaper_of_coil_and_ready_bones_is_taken_minutes_and_tips_counted(ready: str, taken: str):
    """Six off the coil at 2.00 a metre: 0.4515 + 0.11 for tips + 3.5 min at 0.40 = 1.9615 each, and 5 min once: 13.769.
    Six ready ones: their price + 0.5 min each, and 3 min once: 13.50 at 1.85, 13.80 at 1.90."""
    plan = planned(spirals(coil("2.00"), tipped(215, ready)))
    assert {run.form for run in plan.bones} == {taken}
    assert all(" comes to " in run.why for run in plan.bones)
    assert all(("for minutes and tips" in run.why) == bool(run.tips) for run in plan.bones)


def test_each_coil_has_its_own_line_and_a_bone_comes_off_the_cheapest_that_reaches():
    """Common practice, no source: nobody cuts 215 mm off a rest of 100 mm."""
    shelf = spirals(coil("9", 100), coil("1", 214), coil("2", 5000), coil("3", 220))
    plan = planned(shelf)
    (line,) = [line for line in bone_lines(plan, shelf, default_losses()) if line.form == "coil"]
    assert (line.code, line.size_mm) == ("spiral", 5000)
    tall = replace(plan.bones[0], ideal_mm=210, length_mm=210)
    lines = bone_lines(replace(plan, bones=(tall, plan.bones[1])), shelf, default_losses())
    assert [(line.code, line.size_mm) for line in lines if line.form == "coil"] == [
        ("spiral", 214),
        ("spiral.5000", 5000),
    ]


def test_a_length_that_is_named_costs_what_it_says_and_not_what_the_form_does():
    usual = PricedForm(form=BoneForm.TIPPED, length_mm=None, unit_cost=Decimal("3"))
    shelf = spirals(usual, tipped(228.6, "0.10"))
    found = forms_of(shelf.material(MaterialKind.SPIRAL))
    assert [form.unit_cost for form in found if form.length_mm == 228.6] == [Decimal("0.10")]
    assert {form.unit_cost for form in found if form.length_mm == 254.0} == {Decimal("3")}


def test_a_bone_is_cut_from_a_longer_one_where_nothing_fits():
    shelf = spirals(tipped(260, "0.70"))
    plan = planned(shelf)
    assert bones(plan) == [("seam 1", "tipped", 215, 260, 2), ("centre back", "tipped", 215, 260, 4)]
    lines = {line.code: line.quantity for line in bone_lines(plan, shelf, default_losses())}
    assert lines == {"tip": 12 + 2, "spiral.tipped.260": 6}


def test_one_long_bone_gives_two_short_ones_and_its_rest_goes_back():
    """Of 600 mm two of 215 leave 170 mm, which is kept from 150 mm on."""
    shelf = spirals(raw(600, "1.50"))
    plan = planned(shelf)
    (line,) = [line for line in bone_lines(plan, shelf, default_losses()) if line.code == "spiral.cut.600"]
    assert line.reason.waste == "rests go back into the drawer: 3 of 170 mm"
    assert [(piece.length_mm, piece.count, piece.rests_mm) for piece in plan.pieces] == [(600, 3, (170.0,) * 3)]


def test_a_raw_bone_of_the_right_length_is_only_tipped():
    plan = planned(spirals(raw(215, "0.40")))
    assert {driver_of(run) for run in plan.bones} == {Driver.TIPPED_BONE}
    assert [run.tips for run in plan.bones] == [2, 2]


def test_an_offcut_serves_once():
    plan = planned(spirals(coil("2.00"), raw(216, "0.05", free=1), raw(214, "0.05", free=1)))
    assert {(run.form, run.length_mm): run.count for run in plan.bones if run.form == "cut"} == {
        ("cut", 214): 1,
        ("cut", 215): 1,
    }
    assert sum(run.count for run in plan.bones if run.form == "coil") == 4


@pytest.mark.parametrize(
    ("lengths", "taken", "warned"),
    [((209, 204), 209, False), ((208, 204), 208, True), ((203, 150), 203, True)],
)
def test_a_bone_may_be_six_millimetres_shorter_without_a_word(lengths: tuple[float, ...], taken: float, warned: bool):
    plan = planned(spirals(*(tipped(length, "0.60") for length in lengths), has_tips=False))
    assert {run.length_mm for run in plan.bones} == {taken}
    assert ("takeoff.bone-short" in {found.code for found in plan.findings}) is warned


def test_what_is_chosen_is_taken_whatever_it_costs():
    shelf = spirals(coil("2.00"), tipped(215, "9.00"))
    plan = planned(shelf, centre_back=BoneChoice(form=BoneForm.TIPPED))
    assert bones(plan) == [("seam 1", "coil", 215, 0, 2), ("centre back", "tipped", 215, 0, 4)]


def test_two_stacked_flats_stand_in_one_channel():
    flat = planned(spirals(coil("2.00")), centre_back=BoneChoice(kind=MaterialKind.FLAT, stacked=2))
    assert [(run.where, run.kind, run.count) for run in flat.bones] == [
        ("seam 1", "spiral", 2),
        ("centre back", "flat", 8),
    ]


@pytest.mark.parametrize(
    ("forms", "height", "chosen", "code", "words"),
    [
        (
            (tipped(250, "1"),),
            400,
            {},
            "takeoff.bone-too-long",
            "The longest spiral steel to be had, 250 mm, is 125 mm shorter than the bone of 375 mm.",
        ),
        ((coil("2", 300),), 400, {}, "takeoff.coil-too-short", "The longest coil of spiral steel, 300 mm, is shorter"),
        ((raw(214, "1", free=2),), 240, {}, "takeoff.bones-run-short", "What is there runs short"),
        (
            (coil("2"),),
            240,
            {"seam": BoneChoice(form=BoneForm.TIPPED)},
            "takeoff.no-such-form",
            "spiral-7 is not to be had cut and tipped.",
        ),
        ((coil("2"),), 240, {"busk": BoneChoice(stacked=2)}, "takeoff.no-such-channel", "There is no channel 'busk'"),
    ],
)
def test_what_cannot_be_had_is_said_in_a_sentence(
    forms: tuple[PricedForm, ...], height: float, chosen: dict[str, BoneChoice], code: str, words: str
):
    found = [found for found in planned(spirals(*forms), height, **chosen).findings if found.code == code]
    assert found
    assert words in found[0].message


LENGTHS = st.integers(180, 330)
PRICES = st.integers(10, 300).map(lambda cents: f"{cents / 100:.2f}")


@given(
    whole=st.lists(
        st.tuples(LENGTHS, PRICES, st.sampled_from([None, 1, 2, 3])),
        min_size=1,
        max_size=4,
        unique_by=lambda row: row[0],
    ),
    by_metre=PRICES,
)
def test_the_plan_costs_no_more_than_any_choice_tried_one_by_one(
    whole: list[tuple[int, str, int | None]], by_metre: str
):
    """Six bones of 215 mm: none of these lengths gives two. Each bone as it is, cut down, or off the coil."""
    shelf = spirals(coil(by_metre), *(tipped(length, price, free) for length, price, free in whole))
    plan = planned(shelf)
    assert plan.is_optimal
    usable = [row for row in whole if row[0] >= 215 - 12]
    least = math.inf
    for counts in itertools.product(*(range(min(6, 6 if row[2] is None else row[2]) + 1) for row in usable)):
        off_coil = 6 - sum(counts)
        if off_coil < 0:
            continue
        as_it_is = sum(count for count, row in zip(counts, usable, strict=True) if row[0] <= 215)
        cut_down = sum(counts) - as_it_is
        total = sum(float(row[1]) * count for count, row in zip(counts, usable, strict=True))
        total += float(by_metre) * 0.215 * 1.05 * off_coil + (off_coil + cut_down) * (2 * 0.05 * 1.1 + 3.5 * 0.4)
        total += as_it_is * 0.5 * 0.4 + (2.0 if off_coil + cut_down else 0.0) + (1.2 if as_it_is else 0.0)
        least = min(least, total)
    assert float(cost(plan, shelf)) == pytest.approx(least, abs=1e-6)


def test_synthetic_bones_are_cut_with_shears_and_take_no_tips():
    """Ends of synthetic whalebone are rounded: common practice, no source."""
    shelf = plain_shelf(PLAIN)
    plan = planned(shelf, seam=BoneChoice(kind=MaterialKind.SYNTHETIC), centre_back=BoneChoice(kind=MaterialKind.CANE))
    assert [(run.kind, run.tips, driver_of(run)) for run in plan.bones] == [
        ("synthetic", 0, Driver.ROUNDED_BONE),
        ("cane", 0, Driver.ROUNDED_BONE),
    ]
    assert [line.code for line in bone_lines(plan, shelf, default_losses())] == ["synthetic", "cane"]


@given(
    whole=st.lists(st.tuples(LENGTHS, PRICES), min_size=1, max_size=4, unique_by=lambda row: row[0]),
    more=st.tuples(LENGTHS, PRICES, st.sampled_from([None, 1, 2])),
    by_metre=PRICES,
)
def test_one_more_length_or_offcut_never_makes_it_dearer(
    whole: list[tuple[int, str]], more: tuple[int, str, int | None], by_metre: str
):
    few = spirals(coil(by_metre), *(tipped(length, price) for length, price in whole))
    length, price, free = more
    many = spirals(*few.material(MaterialKind.SPIRAL).forms, raw(length, price, free))
    assert cost(planned(many), many) <= cost(planned(few), few)
