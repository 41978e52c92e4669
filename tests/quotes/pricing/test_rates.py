"""Rates as a file says them: each fault in one sentence with its place; the rules are the product's own."""

from decimal import Decimal

import pytest

from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from quotes.pricing.rates import overhead_per_hour, read_rates

EURO = currency_of("EUR")
PLAIN = {
    "labour_per_hour": "20.00",
    "overhead_per_hour": "8.00",
    "contingency_share": "0.05",
    "margin_share": "0.15",
    "fee_share": "0.025",
    "fee_fixed": "0.25",
    "tax_share": "0.21",
    "tax_included": True,
    "deposit_shares": ["0.5", "0.5"],
}


def told(document: object) -> list[tuple[str, str, str]]:
    with pytest.raises(Refused) as refusal:
        read_rates(document, EURO)
    return [(found.code, found.where, found.message) for found in refusal.value.findings]


@pytest.mark.parametrize(
    ("changed", "code", "where", "message"),
    [
        ({"rounding": "up"}, "rates.rounding", "rates.rounding", "'up' is no rounding rule."),
        (
            {"deposit_shares": ["0.5", "half"]},
            "money.not-a-number",
            "rates.deposit_shares[1]",
            "'half' is not a plain decimal number.",
        ),
        (
            {"deposit_shares": ["0.5", "0.4"]},
            "rates.deposit",
            "rates.deposit_shares",
            "The deposit shares add up to 0.9, not to 1.",
        ),
        (
            {"discount_share": "1"},
            "rates.nothing-left",
            "rates.discount_share",
            "The discount takes the whole price.",
        ),
        (
            # 0.98 + 0.025 × 1.21 = 1.01025.
            {"margin_share": "0.98"},
            "rates.nothing-left",
            "rates.margin_share",
            "Margin and fee take 1.010 of the net price; nothing is left for the cost.",
        ),
        (
            {"price_step": "0"},
            "rates.price-step",
            "rates.price_step",
            "A price step of 0 rounds to nothing.",
        ),
        ({"rush_share": "5.1"}, "rates.share", "rates.rush_share", "A share of 5.1 is outside 0 to 5."),
    ],
)
def test_each_fault_of_the_rates_is_one_sentence_with_its_place(changed: dict, code: str, where: str, message: str):
    assert told({**PLAIN, **changed}) == [(code, where, message)]


def test_what_is_no_list_of_rates_is_refused():
    assert told(["20.00"]) == [("rates.not-an-object", "rates", "rates must be an object.")]


def test_a_rush_may_outweigh_a_whole_discount():
    assert read_rates({**PLAIN, "discount_share": "1", "rush_share": "0.5"}, EURO).rush_share == Decimal("0.5")


def test_a_year_without_productive_hours_carries_no_overhead():
    with pytest.raises(ValueError, match=r"^The year has no productive hours\.$"):
        overhead_per_hour(Decimal(7728), weeks=0, hours_per_week=35, productive_share=Decimal("0.6"), currency=EURO)
