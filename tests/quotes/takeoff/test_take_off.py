"""What a takeoff is refused or warned for, and a maker's own quantity in it; the rules are the product's own."""

from dataclasses import replace
from decimal import Decimal

import pytest
from support_patterns import block_a, taken_off

from inventory.ground.findings import Refused
from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.pattern.block import draw_block
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import overruled, take_off

TWO = shipped("two-layer")
PATTERN = draw_block(block_a()).pattern


@pytest.mark.parametrize(
    ("fit", "code", "where", "message"),
    [
        ({"gap_mm": 301.0}, "takeoff.gap", "gap", "A lacing gap of 301 mm is outside 0 to 300 mm."),
        ({"gap_mm": -1.0}, "takeoff.gap", "gap", "A lacing gap of -1 mm is outside 0 to 300 mm."),
        ({"reduction_mm": 401.0}, "takeoff.reduction", "reduction", "A reduction of 401 mm is outside 0 to 400 mm."),
    ],
)
def test_a_fit_that_nobody_wears_is_refused(fit: dict[str, float], code: str, where: str, message: str):
    with pytest.raises(Refused) as refusal:
        take_off(PATTERN, TWO, Choices(), plain_shelf(TWO), **fit)  # type: ignore[arg-type]
    assert (code, where, message) in [(found.code, found.where, found.message) for found in refusal.value.findings]


def test_a_quantity_in_the_file_that_the_construction_does_not_cut_is_warned_of():
    """Two layers of both halves are 4 pieces a panel; a file may count them for one layer, 2."""
    said = [2, 4, 3, None, 1, 4]
    panels = tuple(replace(panel, quantity=count) for panel, count in zip(PATTERN.panels, said, strict=True))
    takeoff = take_off(replace(PATTERN, panels=panels), TWO, Choices(), plain_shelf(TWO))
    told = [(found.where, found.message) for found in takeoff.findings if found.code == "takeoff.quantity-differs"]
    assert told == [
        ("panel 3", "The file wants 3 pieces cut; this construction needs 4."),
        ("panel 5", "The file wants 1 pieces cut; this construction needs 4."),
    ]


@pytest.mark.parametrize(
    ("line", "quantity", "reason", "code", "message"),
    [
        ("velvet", "1", "by eye", "overrule.no-such-line", "This takeoff has no line 'velvet'."),
        ("tip", "-1", "by eye", "overrule.quantity", "A quantity of -1 cannot be used."),
        ("tip", "Infinity", "by eye", "overrule.quantity", "A quantity of Infinity cannot be used."),
        ("tip", "1", "  ", "overrule.no-reason", "An overruled figure needs a reason."),
    ],
)
def test_a_quantity_of_ones_own_needs_a_line_an_amount_and_a_reason(
    line: str, quantity: str, reason: str, code: str, message: str
):
    with pytest.raises(Refused) as refusal:
        overruled(taken_off(block_a()), line, Decimal(quantity), reason)
    found = refusal.value.findings
    assert [(one.code, one.where, one.message) for one in found] == [(code, line, message)]


def test_the_computed_quantity_stays_beside_ones_own():
    before = next(row for row in taken_off(block_a()).lines if row.code == "tip")
    after = next(
        row for row in overruled(taken_off(block_a()), "tip", Decimal(99), " box of old ").lines if row.code == "tip"
    )
    assert (after.quantity, after.buy_quantity, after.overruled) == (99, 99, before.quantity)
    assert after.overrule_reason == "box of old"
