"""A plan's file: each fault in one sentence with its place; the rules are the product's own."""

from typing import Any

import pytest
from support_replenish import document

from inventory.ground.findings import Refused
from inventory.replenish import read_plan_file


def altered(name: str, place: int, **fields: Any) -> dict[str, Any]:
    """The small plan with one row of a list changed."""
    rows = [dict(row) for row in document()[name]]
    rows[place] |= fields
    return document(**{name: rows})


@pytest.mark.parametrize(
    ("file", "code", "where", "message"),
    [
        (
            altered("materials", 0, substitutes=["STEEL"]),
            "plan.own-substitute",
            "materials[0].substitutes[0]",
            "'STEEL' stands in for itself.",
        ),
        (
            altered("materials", 0, substitutes=["GOLD"]),
            "plan.unknown-code",
            "materials[0].substitutes[0]",
            "There is no material 'GOLD' in the file.",
        ),
        (altered("offers", 0, pack="0"), "plan.pack", "offers[0].pack", "A pack of 0 holds nothing."),
        (
            altered("offers", 0, breaks=[{"from_packs": 3, "price": "9"}, {"from_packs": 3, "price": "8"}]),
            "plan.break-twice",
            "offers[0].breaks",
            "Two breaks begin at 3 packs.",
        ),
        (
            altered("needs", 0, quantity="seven"),
            "money.not-a-number",
            "needs[0].quantity",
            "'seven' is not a plain decimal number.",
        ),
        (
            altered("needs", 0, quantity="-7"),
            "plan.out-of-range",
            "needs[0].quantity",
            "-7 is outside 0 to 1000000000.",
        ),
        (
            altered("needs", 0, quantity="0.1234567"),
            "plan.too-fine",
            "needs[0].quantity",
            "0.1234567 has more than 6 decimals.",
        ),
        (
            altered("needs", 0, date="2027-02-30"),
            "plan.date",
            "needs[0].date",
            "'2027-02-30' is no date of the calendar.",
        ),
        (
            altered("needs", 0, date="1969-12-31"),
            "plan.date",
            "needs[0].date",
            "1969-12-31 is outside the years 1970 to 2999.",
        ),
        (document(currency="XQZ"), "plan.currency", "currency", "'XQZ' is no ISO 4217 currency code."),
        (
            altered("suppliers", 1, postage="4.505"),
            "money.too-many-decimals",
            "suppliers[1].postage",
            "4.505 has more decimals than EUR has (2).",
        ),
    ],
)
def test_each_fault_of_a_plan_is_one_sentence_with_its_place(file: dict[str, Any], code: str, where: str, message: str):
    with pytest.raises(Refused) as refusal:
        read_plan_file(file)
    found = refusal.value.findings
    assert [(one.code, one.where, one.message) for one in found] == [(code, where, message)]


def test_whole_numbers_may_be_written_with_a_point():
    """JSON Schema 2020-12, 4.2.3: 1.0 is an integer. Fuzzing found that it was reckoned with as a float."""
    file = altered("offers", 0, minimum_packs=2.0)
    assert isinstance(read_plan_file(file).problem.offers[0].minimum_packs, int)
