"""A price list's rows: each fault in one sentence with its place; sizes in the file's unit or in mm."""

import pytest

from inventory.ground.findings import Refused
from inventory.ground.units import LengthUnit
from quotes.commission.price_list import read_price_list

ROW = {"material": "coutil", "kind": "cloth", "unit": "m", "unit_cost": "23.80"}


@pytest.mark.parametrize(
    ("changed", "code", "where", "message"),
    [
        (
            {"unit": "pair"},
            "commission.unit",
            "unit",
            "A cloth is counted by m, not by pair.",
        ),
        ({"unit_cost": "many"}, "money.not-a-number", "unit_cost", "'many' is not a plain decimal number."),
        ({"unit_cost": "-1"}, "commission.unit-cost", "unit_cost", "A cost of -1 is below zero."),
        (
            {"unit_cost": "0.0000001"},
            "money.too-many-decimals",
            "unit_cost",
            "1E-7 has more than 6 decimals.",
        ),
        ({"shrinkage_share": "x"}, "money.not-a-number", "shrinkage_share", "'x' is not a plain decimal number."),
        ({"shrinkage_share": "1"}, "commission.shrinkage", "shrinkage_share", "A shrinkage of 1 is outside 0 to 1."),
        ({"width_mm": 0}, "commission.size", "width_mm", "A size of 0 mm is not more than zero."),
        ({"lengths": [8, 0]}, "commission.size", "lengths[1]", "A size of 0 mm is not more than zero."),
    ],
)
def test_each_fault_of_a_row_is_one_sentence_with_its_place(changed: dict, code: str, where: str, message: str):
    with pytest.raises(Refused) as refusal:
        read_price_list([{**ROW, **changed}], LengthUnit.INCH)
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [
        (code, f"price_list[0].{where}", message)
    ]


def test_sizes_are_in_the_files_unit_or_in_mm_under_their_own_name():
    """54 in are 1371.6 mm."""
    in_inches, in_mm = (
        read_price_list([{**ROW, **sizes}], LengthUnit.INCH)[0]
        for sizes in ({"width": "54", "lengths": [10, 8]}, {"width_mm": 1371.6, "lengths_mm": [254, 203.2]})
    )
    assert in_inches == in_mm
    assert (in_mm.width_mm, in_mm.lengths_mm) == (1371.6, (203.2, 254.0))


def test_a_material_that_stands_twice_is_named_once():
    with pytest.raises(Refused) as refusal:
        read_price_list([ROW, {**ROW, "unit_cost": "-1"}], LengthUnit.MM)
    assert [(found.where, found.message) for found in refusal.value.findings] == [
        ("price_list[1].material", "'coutil' stands in the list twice.")
    ]
