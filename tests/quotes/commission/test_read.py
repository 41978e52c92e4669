"""Reading commissions: every fault is refused with its place in the file, and nothing is guessed.

Which faults there are and how they are told is the interface's own promise; ISO 4217 for currencies and their digits.
"""

from decimal import Decimal
from typing import Any

import pytest
from support_commissions import changed, commission, plain

from inventory.ground.findings import Refused
from inventory.ground.materials import MaterialKind
from quotes.commission.commission_file import commission_from


def refusals(document: Any) -> set[tuple[str, str]]:
    """Code and place of every stop."""
    with pytest.raises(Refused) as caught:
        commission_from(document, studio_prices=tuple)
    return {(found.code, found.where) for found in caught.value.findings}


FAULTS = [
    ({"title": ...}, "commission.missing-key", "title"),
    ({"colour": "green"}, "commission.unknown-key", "colour"),
    ({"options.1.colour": "green"}, "commission.unknown-key", "options[1].colour"),
    ({"options": []}, "commission.too-few", "options"),
    ({"options.1.name": "Two layers, busk"}, "commission.option-twice", "options"),
    ({"options.1.name": " Two layers, busk "}, "commission.option-twice", "options"),
    ({"options.0.construction": "seven-layer"}, "commission.unknown-construction", "options[0].construction"),
    ({"options.0.cloths": {"outer": "velvet", "inner": "coutil-white"}}, None, "options[0].cloths.outer"),
    ({"options.0.cloths": {"outer": "coutil-white"}}, None, "options[0].cloths.inner"),
    ({"options.1.cloths.lining": "lawn"}, None, "options[1].cloths.lining"),
    ({"options.0.cloths.outer": "thread"}, None, "options[0].cloths.outer"),
    ({"options.0.construction": {"code": "own"}}, "construction.missing-key", "options[0].construction.title"),
    (
        {"options.0.overrules": [{"line": "tip", "quantity": "many", "reason": "by eye"}]},
        "money.not-a-number",
        "options[0].overrules[0].quantity",
    ),
    ({"options.0.choices": {"front": "hooks"}}, None, "options[0].choices.front"),
    ({"options.0.choices": {"wings": True}}, None, "options[0].choices.wings"),
    ({"options.0.choices": {"bones_per_seam": 3}}, None, "options[0].choices.bones_per_seam"),
    ({"options.0.choices": {"fittings": -1}}, None, "options[0].choices.fittings"),
    ({"options.0.choices": {"toile": "yes"}}, None, "options[0].choices.toile"),
    ({"currency": "XQZ"}, "commission.currency", "currency"),
    ({"currency": "euro"}, "commission.form", "currency"),
    ({"units": "furlong"}, "commission.choice", "units"),
    ({"due": "2027-02-30"}, "commission.due", "due"),
    ({"pattern": {}}, None, "pattern"),
    ({"pattern.file": "x.dxf"}, None, "pattern"),
    ({"pattern.block.levels.1.girth": "many"}, None, "pattern.block.levels[1].girth"),
    ({"pattern.block.levels.1.girth": 1e9}, None, "pattern.block.levels[1].girth"),
    ({"pattern.block.levels.1.girth": float("nan")}, None, "pattern.block.levels[1].girth"),
    ({"pattern.block.levels.1.girth": -720}, None, "pattern.block.levels[1].girth"),
    ({"pattern.block.panels_per_half": 0}, None, "pattern.block.panels_per_half"),
    ({"pattern.block.panels_per_half": 25}, None, "pattern.block.panels_per_half"),
    ({"pattern.block.wings": 2}, None, "pattern.block.wings"),
    ({"extras.0.amount": "12.005"}, "money.too-many-decimals", "extras[0].amount"),
    ({"extras.0.amount": "-12"}, "commission.extra", "extras[0].amount"),
    ({"extras.0.amount": "twelve"}, "money.not-a-number", "extras[0].amount"),
    ({"rates.labour_per_hour": "20.005"}, "money.too-many-decimals", "rates.labour_per_hour"),
    ({"rates.labour_per_hour": "-20"}, "rates.negative", "rates.labour_per_hour"),
    ({"rates.labour_per_hour": float("inf")}, "money.not-a-number", "rates.labour_per_hour"),
    ({"rates.margin_share": "NaN"}, "money.not-a-number", "rates.margin_share"),
    ({"rates.margin_share": "1.5"}, "rates.share", "rates.margin_share"),
    ({"rates.margin_share": "0.98", "rates.fee_share": "0.03"}, "rates.nothing-left", "rates.margin_share"),
    ({"rates.margin_share": "1", "rates.fee_share": "0"}, "rates.nothing-left", "rates.margin_share"),
    ({"rates.fee_share": ...}, "rates.missing-key", "rates.fee_share"),
    ({"rates.tip_share": "0.1"}, "rates.unknown-key", "rates.tip_share"),
    ({"rates.tax_included": "yes"}, "rates.tax-included", "rates.tax_included"),
    ({"rates.price_step": "0"}, "rates.price-step", "rates.price_step"),
    ({"rates.deposit_shares": ["0.5", "0.4"]}, "rates.deposit", "rates.deposit_shares"),
    ({"rates.deposit_shares": []}, "rates.deposit", "rates.deposit_shares"),
    ({"rates.deposit_shares": ["1.5", "-0.5"]}, "rates.deposit", "rates.deposit_shares[0]"),
    ({"price_list.0.kind": "velvet"}, "commission.choice", "price_list[0].kind"),
    ({"price_list.0.unit": "ell"}, "commission.choice", "price_list[0].unit"),
    ({"price_list.0.unit": "pair"}, None, "price_list[0].unit"),
    ({"price_list.0.unit_cost": "23.8000001"}, None, "price_list[0].unit_cost"),
    ({"price_list.0.unit_cost": "-1"}, None, "price_list[0].unit_cost"),
    ({"price_list.1.material": "coutil-white"}, "commission.material-twice", "price_list[1].material"),
    ({"price_list.0.usable_width": 0}, None, "price_list[0].usable_width"),
    ({"price_list.0.shrinkage_share": "1"}, None, "price_list[0].shrinkage_share"),
]


@pytest.mark.parametrize(
    ("changes", "code", "place"), FAULTS, ids=[f"{place}-{index}" for index, (_, _, place) in enumerate(FAULTS)]
)
def test_a_fault_is_named_with_its_place(changes: dict[str, object], code: str | None, place: str):
    found = refusals(changed(changes))
    assert place in {where for _, where in found}
    if code is not None:
        assert (code, place) in found


@pytest.mark.parametrize("document", [None, [], "quote", 3, {}])
def test_what_is_no_commission_is_refused(document: object):
    assert refusals(document)


def test_all_faults_are_named_at_once():
    document = changed({"currency": "XQZ", "options.0.construction": "seven-layer", "due": "2027-13-01"})
    places = {place for _, place in refusals(document)}
    assert {"currency", "options[0].construction", "due"} <= places


def test_a_pattern_file_needs_a_folder():
    assert ("commission.no-file", "pattern.file") in refusals(changed({"pattern": {"file": "underbust.dxf"}}))


@pytest.mark.parametrize(
    "kind",
    ["toile-cloth", "fusible", "spiral", "flat", "tip", "busk", "grommet", "cord", "waist-tape", "thread", "needle"],
)
def test_a_kind_that_an_option_needs_and_the_list_lacks_is_a_stop(kind: str):
    document = plain()
    document["price_list"] = [row for row in document["price_list"] if row["kind"] != kind]
    assert any(place.startswith("options[0]") for _, place in refusals(document))


def test_the_first_of_a_kind_is_taken_unless_the_choices_name_another():
    second = {"material": "busk-black", "kind": "busk", "unit": "pair", "unit_cost": "14.20"}
    document = plain()
    document["price_list"].append(second)
    taken = commission_from(document, studio_prices=tuple)
    assert taken.options[0].choices.materials == {}
    document["options"][0]["choices"] = {"busk": "busk-black"}
    named = commission_from(document, studio_prices=tuple)
    assert named.options[0].choices.materials == {"busk": "busk-black"}


def test_lengths_are_in_the_units_of_the_file_and_fractions_are_read():
    """1 in = 25.4 mm (international yard and pound agreement, 1959)."""
    in_inches = changed(
        {
            "units": "in",
            "pattern.block.lacing_gap": "2",
            "pattern.block.levels": [
                {"height": "5", "girth": "30 3/4", "take_in": "3/8"},
                {"height": 0, "girth": "28 1/2", "take_in": 3},
                {"height": "-6", "girth": "37"},
            ],
            "pattern.block.top": ["5", "4 1/2", "5"],
            "pattern.block.bottom": ["-6", "-5", "-5 1/2"],
        }
    )
    pattern = commission_from(in_inches, studio_prices=tuple).pattern
    assert pattern.closed_waist_mm == pytest.approx((28.5 - 3 - 2) * 25.4, abs=0.01)


def test_numbers_and_decimal_strings_say_the_same():
    as_text, as_number = commission(), commission({"rates.margin_share": 0.15, "extras.0.amount": 12})
    assert as_text.rates == as_number.rates
    assert as_text.extras == as_number.extras


@pytest.mark.parametrize("number", [1e-5, True, None, [1], {"a": 1}])
def test_what_is_no_plain_decimal_is_refused(number: object):
    assert "rates.contingency_share" in {place for _, place in refusals(changed({"rates.contingency_share": number}))}


def test_a_fault_of_the_second_option_is_not_put_down_to_the_first():
    document = changed({"options.0.construction": "seven-layer", "options.1.cloths.outer": "velvet"})
    assert "options[1].cloths.outer" in {place for _, place in refusals(document)}


@pytest.mark.parametrize("kind", list(MaterialKind))
def test_a_price_list_may_hold_every_kind(kind: MaterialKind):
    row = {"material": "new", "kind": kind.value, "unit": kind.unit.value, "unit_cost": "1.00"}
    read = commission({"price_list": [row, *plain()["price_list"]]}).price_list[0]
    assert (read.kind, read.unit) == (kind, kind.unit)


def with_forms(kind: str, *forms: dict[str, object], unit: str = "each") -> dict[str, object]:
    row = {"material": "bones", "kind": kind, "unit": unit, "unit_cost": "1", "forms": list(forms)}
    return {"price_list": [row, *plain()["price_list"]]}


def test_a_bone_is_read_in_all_its_forms_whatever_unit_its_row_has():
    forms = [
        {"form": "coil", "unit_cost": "2.10"},
        {"form": "cut", "length_mm": 460, "unit_cost": "0.75"},
        {"form": "tipped", "unit_cost": 1},
    ]
    for unit in ("m", "each"):
        read = commission(with_forms("spiral", *forms, unit=unit)).price_list[0]
        assert [(form.form.value, form.length_mm, form.unit_cost, form.free) for form in read.forms] == [
            ("coil", None, Decimal("2.10"), None),
            ("cut", 460.0, Decimal("0.75"), None),
            ("tipped", None, Decimal(1), None),
        ]


@pytest.mark.parametrize(
    ("kind", "form", "code", "place"),
    [
        ("spiral", {"form": "braided", "unit_cost": "1"}, "commission.choice", "price_list[0].forms[0].form"),
        ("spiral", {"form": "coil"}, "commission.missing-key", "price_list[0].forms[0].unit_cost"),
        ("spiral", {"form": "coil", "unit_cost": "-1"}, "commission.unit-cost", "price_list[0].forms[0].unit_cost"),
        (
            "flat",
            {"form": "cut", "length_mm": -5, "unit_cost": "1"},
            "commission.size",
            "price_list[0].forms[0].length_mm",
        ),
        ("tip", {"form": "coil", "unit_cost": "1"}, "commission.forms", "price_list[0].forms"),
    ],
)
def test_a_form_that_cannot_be_is_named_with_its_place(kind: str, form: dict[str, object], code: str, place: str):
    document = plain()
    document["price_list"] = with_forms(kind, form)["price_list"]
    assert (code, place) in refusals(document)


def test_a_form_stands_once_in_a_length():
    document = plain()
    twice = [{"form": "tipped", "length_mm": 250, "unit_cost": price} for price in ("1", "2")]
    document["price_list"] = with_forms("spiral", *twice)["price_list"]
    assert refusals(document) == {("commission.form-twice", "price_list[0].forms[1]")}
