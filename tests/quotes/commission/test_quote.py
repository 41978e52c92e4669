"""From a commission to prices: the identities hold for whatever rates, currencies and choices; more is never cheaper.

Sources: the identities are the interface's own promise; accounting for the build-up (prime cost + overhead = cost);
"one more never lowers" is common practice.
"""

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_commissions import changed, commission

from inventory.ground.codec import plain
from quotes.commission.commission_file import commission_from
from quotes.commission.quote import quote_commission
from quotes.documents.material_needs import material_needs
from quotes.seal.sealing import sealed_quotation

DIGITS = {"JPY": 0, "EUR": 2, "KWD": 3}
"""Minor digits by ISO 4217."""


def priced(changes: dict[str, object] | None = None) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(json.dumps(plain(sealed_quotation(quote_commission(commission(changes))))))
    return document


def d(value: str) -> Decimal:
    return Decimal(value)


def total(option: dict[str, Any], group: str) -> Decimal:
    return sum((d(line["amount"]) for line in option["lines"] if line["group"] == group), Decimal(0))


@st.composite
def rates(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """Currency and rates that a workroom may set."""
    currency = draw(st.sampled_from(sorted(DIGITS)))
    minor = Decimal(1).scaleb(-DIGITS[currency])

    def amount(most: int) -> str:
        return f"{draw(st.integers(0, most)) * minor:f}"

    def share(most: int) -> str:
        return f"{Decimal(draw(st.integers(0, most))) / 1000:f}"

    first = Decimal(draw(st.integers(0, 100))) / 100
    found: dict[str, Any] = {
        "labour_per_hour": amount(9000),
        "overhead_per_hour": amount(3000),
        "contingency_share": share(150),
        "margin_share": share(500),
        "fee_share": share(100),
        "fee_fixed": amount(100),
        "tax_share": share(270),
        "tax_included": draw(st.booleans()),
        "deposit_shares": [f"{first:f}", f"{1 - first:f}"],
        "discount_share": share(200),
        "rush_share": share(400),
        "rounding": draw(st.sampled_from(["half-up", "half-even"])),
    }
    if draw(st.booleans()):
        found["minimum_per_hour"] = amount(9000)
    if draw(st.booleans()):
        found["price_step"] = (
            f"{draw(st.sampled_from([1, 5, 10])) * max(minor, Decimal('0.05')):f}" if currency != "JPY" else "100"
        )
    return currency, found


@settings(max_examples=60, deadline=None)
@given(rates(), st.integers(0, 5000))
def test_the_parts_add_up_to_the_minor_unit(said: tuple[str, dict[str, Any]], extra: int):
    currency, found = said
    minor = Decimal(1).scaleb(-DIGITS[currency])
    extras = [{"what": "Courier", "amount": f"{extra * minor:f}"}]
    quotation = priced({"currency": currency, "rates": found, "extras": extras})
    assert quotation["currency"] == currency
    for option in quotation["options"]:
        parts = {group: total(option, group) for group in ("material", "labour", "overhead", "contingency", "extra")}
        assert parts["material"] == d(option["materials"])
        assert parts["labour"] == d(option["labour"])
        assert parts["overhead"] == d(option["overhead"])
        assert parts["contingency"] == d(option["contingency"])
        assert parts["extra"] == d(option["extras"])
        assert sum(parts.values()) == d(option["cost"])
        assert d(option["cost"]) + d(option["profit"]) + d(option["fee"]) == d(option["net"])
        assert d(option["net"]) + d(option["tax"]) == d(option["gross"])
        assert sum(map(d, option["deposit"])) == d(option["gross"])
        assert abs(d(found["fee_share"]) * d(option["gross"]) + d(found["fee_fixed"]) - d(option["fee"])) <= minor / 2
        base = d(option["cost"]) - d(option["contingency"])
        assert abs(base * d(found["contingency_share"]) - d(option["contingency"])) <= minor / 2
        hours = d(str(option["takeoff"]["labour"]["total_min"])) / 60
        kept = (
            d(option["net"]) - d(option["fee"]) - d(option["materials"]) - d(option["extras"]) - d(option["overhead"])
        )
        assert abs(kept / hours - d(option["per_hour"])) <= minor
        for line in option["lines"]:
            assert d(line["amount"]) % minor == 0
            if line["group"] not in ("labour",):
                assert (
                    abs(d(line["quantity"]) * d(line["rate"]) - d(line["amount"]))
                    <= minor / 2 + d(line["rate"]) / 10**6
                )


@settings(max_examples=40, deadline=None)
@given(rates())
def test_margin_or_wage_is_reached_whichever_asks_for_more(said: tuple[str, dict[str, Any]]):
    currency, found = said
    found = {**found, "discount_share": "0", "rush_share": "0"}
    minor = Decimal(1).scaleb(-DIGITS[currency])
    for option in priced({"currency": currency, "rates": found})["options"]:
        # Rounding moves price, tax and fee by half a minor unit each.
        slack = 3 * minor
        assert d(option["profit"]) >= d(found["margin_share"]) * d(option["net"]) - slack
        if "minimum_per_hour" in found:
            assert d(option["per_hour"]) >= d(found["minimum_per_hour"]) - slack
        if "price_step" in found:
            anchor = option["gross"] if found["tax_included"] else option["net"]
            assert d(anchor) % d(found["price_step"]) == 0
        elif option["binding_rule"] == "margin":
            assert abs(d(option["profit"]) - d(found["margin_share"]) * d(option["net"])) <= slack


def test_discount_and_rush_are_shares_of_the_price_before_either():
    """Net 1000 before: 10 % off and 25 % on make 1150 (rule of the interface)."""
    exact = {"rates.price_step": ..., "rates.tax_included": False, "rates.minimum_per_hour": ...}
    before = priced(exact)["options"][0]
    after = priced({**exact, "rates.discount_share": "0.10", "rates.rush_share": "0.25"})["options"][0]
    assert abs(d(after["discount"]) - d(before["net"]) / 10) <= d("0.01")
    assert abs(d(after["rush"]) - d(before["net"]) / 4) <= d("0.01")
    assert abs(d(after["net"]) - d(before["net"]) * d("1.15")) <= d("0.01")


def test_a_discount_below_the_wage_floor_is_warned_of_with_the_amount():
    quotation = priced({"rates.discount_share": "0.30"})
    warnings = [found for found in quotation["findings"] if found["code"] == "price.below-floor"]
    assert len(warnings) == 3
    option = quotation["options"][0]
    hours = d(str(option["takeoff"]["labour"]["total_min"])) / 60
    missing = (21 - d(option["per_hour"])) * hours
    assert any(abs(d(word) - missing) < 1 for word in warnings[0]["message"].split() if word.replace(".", "").isdigit())


@pytest.mark.parametrize(
    "more",
    [
        {"options.0.choices": {"flossing": True}},
        {"options.0.choices": {"modesty_panel": True}},
        {"options.0.choices": {"bones_per_seam": 2}},
        {"options.0.choices": {"fittings": 2}},
    ],
    ids=lambda more: str(more["options.0.choices"]),
)
def test_more_work_is_never_cheaper(more: dict[str, object]):
    plain, richer = priced()["options"][0], priced(more)["options"][0]
    assert d(richer["cost"]) > d(plain["cost"])
    assert d(richer["gross"]) >= d(plain["gross"])
    assert richer["takeoff"]["labour"]["total_min"] > plain["takeoff"]["labour"]["total_min"]


def test_one_more_layer_never_lowers_cloth_hours_or_price():
    three = [
        ("single-layer", {"outer": "coutil-white"}),
        ("two-layer", {"outer": "coutil-white", "inner": "coutil-white"}),
        ("three-layer", {"outer": "coutil-white", "inner": "coutil-white", "lining": "coutil-white"}),
    ]
    options = [{"name": code, "construction": code, "cloths": cloths, "choices": {}} for code, cloths in three]
    priced_options = priced({"options": options})["options"]
    roles = ("outer", "inner", "lining")
    cloth = [
        sum(row["lay_mm"] for row in option["takeoff"]["cloths"] if row["role"] in roles) for option in priced_options
    ]
    hours = [option["takeoff"]["labour"]["total_min"] for option in priced_options]
    prices = [d(option["gross"]) for option in priced_options]
    assert cloth == sorted(cloth)
    assert hours == sorted(hours)
    assert prices == sorted(prices)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 200), st.integers(0, 200))
def test_a_cloth_that_shrinks_more_never_costs_less(one: int, other: int):
    less, more = sorted((one, other))
    costs = [
        d(priced({"price_list.0.shrinkage_share": f"{Decimal(share) / 1000:f}"})["options"][0]["materials"])
        for share in (less, more)
    ]
    assert costs[0] <= costs[1]


def test_an_overruled_line_takes_the_makers_figure_and_keeps_the_computed_one():
    own = [{"line": "grommet", "quantity": "40", "reason": "double row"}]
    plain, overruled = priced()["options"][0], priced({"options.0.overrules": own})["options"][0]
    line = next(line for line in overruled["takeoff"]["lines"] if line["code"] == "grommet")
    computed = next(line for line in plain["takeoff"]["lines"] if line["code"] == "grommet")
    assert d(line["quantity"]) == 40
    assert d(line["overruled"]) == d(computed["quantity"])
    assert line["overrule_reason"] == "double row"
    cost = next(line for line in overruled["lines"] if line["code"] == "grommet")
    assert d(cost["amount"]) == 40 * d(cost["rate"])


def test_the_same_commission_gives_the_same_quotation():
    assert priced() == priced()


def test_a_commission_without_a_price_list_takes_the_studios():
    document = changed({"price_list": ...})
    own = commission().price_list
    assert commission_from(document, studio_prices=lambda: own).price_list == own


def test_a_bone_costs_what_the_form_costs_that_was_taken():
    """The promise of `forms`: each has its own `unit_cost`; a coil of 100 mm gives no bone of 200."""
    forms: dict[str, tuple[list[dict[str, object]], str, str]] = {
        "a coil": (
            [
                {"form": "coil", "length_mm": 100, "unit_cost": "9"},
                {"form": "coil", "length_mm": 5000, "unit_cost": "1"},
            ],
            "spiral",
            "1",
        ),
        "a length": (
            [{"form": "tipped", "unit_cost": "3"}, {"form": "tipped", "length_mm": 228.6, "unit_cost": "0.10"}],
            "spiral.tipped.228.6",
            "0.10",
        ),
    }
    for name, (rows, code, rate) in forms.items():
        option = priced({"price_list.5.forms": rows})["options"][0]
        assert {line["rate"] for line in option["lines"] if line["code"] == code} == {rate}, name


def test_a_coil_is_needed_as_one_material_whatever_hangs_together():
    """As the shelf keeps it: a coil is an item without a length."""
    forms = [
        {"form": "coil", "length_mm": 220, "unit_cost": "1"},
        {"form": "coil", "length_mm": 5000, "unit_cost": "2"},
    ]
    option = sealed_quotation(quote_commission(commission({"price_list.5.forms": forms}))).options[0]
    lines = [line for line in option.takeoff.lines if line.form == "coil"]
    assert [(line.code, line.size_mm) for line in lines] == [("spiral", 220), ("spiral.5000", 5000)]
    (needed,) = [need for need in material_needs(option) if need.form == "coil"]
    assert (needed.size_tenths_mm, needed.quantity) == (0, sum(line.quantity for line in lines))
