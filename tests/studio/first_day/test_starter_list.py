"""The starter list holds what every shipped construction asks for, is read strictly and remembers two digits.

Expected amounts are worked by hand; what a construction asks for is said by the takeoff itself.
"""

import json
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from inventory.ground.materials import MaterialKind
from inventory.ground.money import currency_of
from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped, shipped_codes
from quotes.takeoff.chosen_materials import OFTEN_UNLISTED, needed_kinds
from studio.first_day import starter_list as room
from studio.first_day.starter_list import price_from_memory, read_starter_list, starter_list

DOCUMENT = json.loads(Path(room.__file__).with_name("starter_materials.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("code", shipped_codes())
def test_every_construction_finds_what_it_needs(code: str):
    there = {row.kind for row in starter_list().materials}
    assert MaterialKind.CLOTH in there
    assert set(needed_kinds(shipped(code), Choices(toile=True, flossing=True))) - OFTEN_UNLISTED <= there


def test_no_kind_that_a_price_list_must_have_is_left_out_and_outer_cloths_come_in_colours():
    rows = starter_list().materials
    asked_for_by_choice_alone = {MaterialKind.SYNTHETIC, MaterialKind.CANE}
    assert {row.kind for row in rows} >= set(MaterialKind) - OFTEN_UNLISTED - asked_for_by_choice_alone
    assert len({row.colour for row in rows if row.kind is MaterialKind.CLOTH}) >= 4


def test_every_currency_is_one_and_the_lists_own_is_one_of_itself():
    starter = starter_list()
    assert [code for code in starter.one_is if currency_of(code).code != code] == []
    assert starter.one_is[starter.currency] == 1


@pytest.mark.parametrize(
    ("price", "one_is", "expected"),
    [
        ("24", "1", "24"),
        ("24", "160", "3800"),  # 3840
        ("0.008", "160", "1.3"),  # 1.28
        ("26", "0.35", "9.1"),
        ("0.12", "0.35", "0.042"),
        ("0.008", "0.00001", "0.000001"),  # the least that a price can be
        ("0.125", "1", "0.13"),
    ],
)
def test_a_price_from_memory_has_two_digits(price: str, one_is: str, expected: str):
    assert str(price_from_memory(Decimal(price), Decimal(one_is))) == expected


@pytest.mark.parametrize(
    "changed",
    [
        {"note": "x"},
        {"materials": [{**DOCUMENT["materials"][0], "brand": "x"}]},
        {"materials": [{**DOCUMENT["materials"][0], "kind": "steel"}]},
        {"materials": [{**DOCUMENT["materials"][0], "price": "0"}]},
        {"materials": [DOCUMENT["materials"][0]] * 2},
        {"one_is": {"EUR": "1", "JPY": "-160"}},
        {"source": None},
    ],
)
def test_what_is_not_of_its_form_is_a_fault_of_ours(changed: dict[str, object]):
    assert read_starter_list(DOCUMENT) == starter_list()
    with pytest.raises((ValueError, msgspec.ValidationError)):
        read_starter_list({**DOCUMENT, **changed})
