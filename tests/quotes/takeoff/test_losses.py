"""What a workroom uses beyond the drawing: its own figures in the takeoff, the defaults where it has none.

Outside: example A by hand (common practice, no source): 24 grommets, 20 tips, two flats of 10 in and four of 9.5 in are
needed; 15 m of thread for the toile and 10 m for hand sewing; multiplication.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from support_patterns import block_a

from inventory.ground.findings import Refused
from quotes.construction.construction import BindingSource, Choices
from quotes.construction.shipped import shipped
from quotes.pattern.block import draw_block
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.losses import SUBJECTS, Figure, Losses, default_losses, losses_document, read_losses
from quotes.takeoff.take_off import take_off
from quotes.takeoff.takeoff import MaterialLine, Takeoff

LEARNT = "learnt from 14 jobs, 28 November 2026"


def taken(losses: Losses | None = None, code: str = "two-layer", **choices: object) -> Takeoff:
    construction = shipped(code)
    said = Choices(**choices)  # type: ignore[arg-type]
    return take_off(draw_block(block_a()).pattern, construction, said, plain_shelf(construction), losses=losses)


def own(**values: float) -> Losses:
    figures = {name: Figure(value=value, source=LEARNT) for name, value in values.items()}
    return replace(default_losses(), **figures)


def line(takeoff: Takeoff, code: str) -> MaterialLine:
    return next(row for row in takeoff.lines if row.code.partition(".")[0] == code)


def test_without_own_figures_all_is_as_drawn():
    assert taken() == taken(default_losses())
    assert line(taken(), "grommet").quantity == 24 + 2 + 2
    assert line(taken(), "tip").quantity == 20 + 2
    assert line(taken(), "grommet").reason.source == "common practice"


@pytest.mark.parametrize(("share", "spoilt"), [(0.0, 2), (0.08, 2), (0.09, 3), (0.25, 6)])
def test_own_spoilage_of_grommets(share: float, spoilt: int):
    """24 × share, up to the next whole set, two at the least; two more for a test piece."""
    found = line(taken(own(grommet_spoilage_share=share)), "grommet")
    assert found.quantity == 24 + spoilt + 2
    assert found.reason.source == LEARNT


def test_own_spoilage_of_tips_and_loss_in_cutting():
    found = taken(own(tip_spoilage_share=0.23, spiral_cutting_share=0.125))
    assert line(found, "tip").quantity == 20 + 5
    assert line(found, "tip").reason.waste == "23 % spoilt in crimping: 5"
    drawn = sum(run.length_mm * run.count for run in found.bones if run.kind == "spiral")
    assert float(line(found, "spiral").quantity) == pytest.approx(drawn * 1.125 / 1000, abs=0.0005)
    assert line(found, "spiral").reason.source == LEARNT
    assert line(found, "grommet") == line(taken(), "grommet")


@pytest.mark.parametrize(
    ("figure", "code", "construction"),
    [
        ("cloth_use_factor", "cloth", "two-layer"),
        ("cloth_use_factor", "bias", "two-layer"),
        ("waist_tape_use_factor", "waist-tape", "two-layer"),
        ("casing_use_factor", "casing", "single-layer"),
        ("toile_use_factor", "toile", "two-layer"),
        ("fusible_use_factor", "fusible", "two-layer"),
    ],
)
def test_own_use_of_what_is_measured(figure: str, code: str, construction: str):
    plain, found = (line(taken(losses, construction), code) for losses in (None, own(**{figure: 1.1})))
    assert float(found.quantity) == pytest.approx(float(plain.quantity) * 1.1, abs=0.001)
    assert found.buy_quantity >= found.quantity or code == "bias"
    assert found.reason.waste == "× 1.1, as this workroom uses it"
    assert found.reason.source == f"{plain.reason.source}; {LEARNT}"


def test_bought_binding_and_cord():
    plain, found = (taken(losses, binding=BindingSource.BOUGHT) for losses in (None, own(binding_use_factor=1.2)))
    assert float(line(found, "binding").quantity) == pytest.approx(
        float(line(plain, "binding").quantity) * 1.2, abs=1e-3
    )
    assert line(taken(), "cord").quantity == Decimal("5.500")
    assert line(taken(own(cord_use_factor=1.05)), "cord").quantity == Decimal("6.000")


def test_own_waste_of_thread_counts_on_the_stitching_alone():
    plain, found = taken(), taken(own(thread_waste_share=0.4))
    assert found.thread_mm == plain.thread_mm
    assert float(line(found, "thread").quantity) == pytest.approx(plain.thread_mm * 1.4 / 1000 + 25, abs=0.0005)
    assert line(found, "thread").reason.waste == "40 % lost in ends and starts"
    assert line(found, "thread").reason.source == f"{line(plain, 'thread').reason.source}; {LEARNT}"


@pytest.mark.parametrize(
    ("share", "long", "short"), [(0.0, 2, 4), (0.01, 3, 4), (0.2, 3, 5), (0.34, 3, 6), (0.5, 3, 6), (1.0, 4, 8)]
)
def test_own_spoilage_of_flats_counts_from_the_longest_down(share: float, long: int, short: int):
    """6 × share, up to the next whole flat; of the two long ones first, then of all together."""
    found = {row.size_mm: row for row in taken(own(flat_spoilage_share=share)).lines if row.needed.family == "flat"}
    assert {length: row.quantity for length, row in found.items()} == {241.3: short, 254.0: long}
    assert list(found) == [241.3, 254.0]
    assert {row.reason.source for row in found.values()} == {LEARNT}
    if share == 0.2:
        assert found[254.0].reason.waste == "20 % spoilt in setting, the longest first: 1"


def test_a_short_length_of_fusible_still_holds_its_longest_strip():
    plain, found = taken(), taken(own(fusible_use_factor=0.5))
    assert line(found, "fusible").quantity < line(plain, "fusible").quantity
    assert line(found, "fusible").buy_quantity == line(plain, "fusible").buy_quantity


def test_the_lay_itself_stays_what_was_drawn():
    plain, found = taken(), taken(own(cloth_use_factor=1.5, toile_use_factor=1.5, fusible_use_factor=1.5))
    assert [cloth.lay_mm for cloth in found.cloths] == [cloth.lay_mm for cloth in plain.cloths]
    assert found.cloths[0].buy_mm > plain.cloths[0].buy_mm
    assert (found.cord_mm, found.tape_mm, found.work) == (plain.cord_mm, plain.tape_mm, plain.work)


def test_what_was_learnt_is_kept_and_read_back():
    known = own(tip_spoilage_share=0.2, cloth_use_factor=1.05)
    document = losses_document(known)
    assert document == {
        "cloth_use_factor": {"value": 1.05, "source": LEARNT},
        "tip_spoilage_share": {"value": 0.2, "source": LEARNT},
    }
    assert read_losses(document) == known
    assert read_losses({}) == default_losses()


@pytest.mark.parametrize(
    ("document", "code"),
    [
        ({"thread_ratio": {"value": 3.0, "source": LEARNT}}, "losses.unknown-key"),
        ({"tip_spoilage_share": {"value": 0.2}}, "losses.missing-key"),
        ({"tip_spoilage_share": {"value": -0.1, "source": LEARNT}}, "losses.too-small"),
        ({"cord_use_factor": {"value": 0.9, "source": LEARNT}}, "losses.too-small"),
        ({"cloth_use_factor": {"value": 0.0, "source": LEARNT}}, "losses.too-small"),
        ({"cloth_use_factor": {"value": 11, "source": LEARNT}}, "losses.too-large"),
        ({"cloth_use_factor": 1.1}, "losses.type"),
        ([], "losses.type"),
    ],
)
def test_what_cannot_be_is_refused(document: object, code: str):
    with pytest.raises(Refused) as caught:
        read_losses(document)
    assert [found.code for found in caught.value.findings] == [code]


@pytest.mark.parametrize("name", SUBJECTS)
def test_each_subject_turns_use_into_its_value_and_back(name: str):
    subject = SUBJECTS[name]
    assert default_losses().figure(name).value == subject.default
    assert subject.value_of(subject.times(1.25)) == pytest.approx(1.25)
    assert subject.value_of(0.01) == subject.least
