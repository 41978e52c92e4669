"""Stock in whole base units: what is finer, or sold by another measure, is refused in a sentence."""

import re
from decimal import Decimal

import pytest

from inventory.ground.materials import StockUnit
from inventory.ground.measures import exact_bases, quantity_of


@pytest.mark.parametrize(
    ("amount", "unit", "sentence"),
    [
        ("0.0005", StockUnit.METRE, "0.0005 m is finer than a millimetre."),
        ("1.5", StockUnit.PAIR, "1.5 pair is finer than one."),
    ],
)
def test_what_is_finer_than_a_base_unit_is_refused(amount: str, unit: StockUnit, sentence: str):
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        quantity_of(Decimal(amount), unit)


def test_a_pack_is_sold_in_a_unit_of_its_own_kind():
    # Recommendation 20: MTR is the metre, DZN the dozen.
    assert exact_bases(2000, "DZN", StockUnit.EACH) == 24
    with pytest.raises(ValueError, match=r"^'MTR' is not a unit that something counted by each is sold in\.$"):
        exact_bases(1000, "MTR", StockUnit.EACH)
