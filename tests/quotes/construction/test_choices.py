"""Constructions and choices as files say them: each fault in one sentence with its place; the rules are the product's own."""

import json
from pathlib import Path
from typing import Any

import pytest

from inventory.ground.findings import Refused
from quotes.construction.choices import read_choices
from quotes.construction.construction_json import read_construction
from quotes.construction.shipped import shipped

SHIPPED = Path(__file__).parents[3] / "quotes" / "construction" / "shipped"


def two_layer() -> dict[str, Any]:
    found: dict[str, Any] = json.loads((SHIPPED / "two-layer.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize(
    ("document", "code", "where", "message"),
    [
        ([], "choices.not-an-object", "choices", "choices must be an object, {} for none."),
        ({"cord": 3}, "choices.value", "choices.cord", "A material is picked by its code, as text."),
        ({"toile": 1}, "choices.value", "choices.toile", "'1' is no choice here."),
        ({"cloth": "coutil"}, "choices.unknown", "choices.cloth", "The choice 'cloth' is not known."),
    ],
)
def test_each_fault_of_a_choice_is_one_sentence_with_its_place(document: object, code: str, where: str, message: str):
    with pytest.raises(Refused) as refusal:
        read_choices(document, "choices")
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [(code, where, message)]


def test_materials_are_picked_by_their_kinds_and_binding_by_its_tape():
    assert read_choices({"cord": "silk", "binding-tape": "satin-20"}, "choices").materials == {
        "cord": "silk",
        "binding": "satin-20",
    }


def test_a_number_that_is_none_is_refused_with_its_place():
    document = two_layer()
    document["shells"][0]["passes"][0]["stitch_mm"] = float("nan")
    with pytest.raises(Refused) as refusal:
        read_construction(document, "options[0].construction")
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [
        (
            "construction.not-a-number",
            "options[0].construction.shells[0].passes[0].stitch_mm",
            "nan is no number that can be used.",
        )
    ]


def test_a_construction_that_lacks_a_key_is_refused_with_its_place():
    document = two_layer()
    del document["channels"]
    with pytest.raises(Refused) as refusal:
        read_construction(document, "options[0].construction")
    assert [(found.where, found.message) for found in refusal.value.findings] == [
        ("options[0].construction.channels", "The key 'channels' is missing.")
    ]


def test_what_is_not_shipped_is_not_found():
    assert read_construction(two_layer()) == shipped("two-layer")
    with pytest.raises(KeyError, match="seven-layer"):
        shipped("seven-layer")
