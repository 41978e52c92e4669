"""Extras and yearly costs are named: words and an amount, both or neither. Common practice, no source."""

import pytest

from inventory.ground.money import currency_of
from quotes.desk.quote_forms import ExtraForm
from quotes.workroom.amount_forms import NamedAmountForm
from quotes.workroom.forms import YearlyCostForm


@pytest.mark.parametrize(("form", "kind"), [(ExtraForm, "An extra"), (YearlyCostForm, "A cost")])
@pytest.mark.parametrize(
    ("said", "is_good"),
    [
        ({"what": "Post", "amount": "5"}, True),
        ({"what": "Gift", "amount": "0"}, True),
        ({}, True),
        ({"what": "Post"}, False),
        ({"amount": "5"}, False),
    ],
)
def test_words_and_an_amount_come_together(form: type[NamedAmountForm], kind: str, said: dict[str, str], is_good: bool):
    found = form(said, currency=currency_of("EUR"))
    assert found.is_valid() is is_good
    assert found.non_field_errors() == ([] if is_good else [f"{kind} needs both words and an amount."])
