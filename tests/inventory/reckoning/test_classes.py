"""Classes by yearly value against a textbook.

Source: Heizer and Render, Operations Management, ch. 12, Example 1 and its learning exercise (Silicon Chips).
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.classes import Ranked, by_yearly_value

# Stock number: yearly volume, unit cost.
CHIPS = {
    "#10286": (1000, "90.00"),
    "#11526": (500, "154.00"),
    "#12760": (1550, "17.00"),
    "#10867": (350, "42.86"),
    "#10500": (1000, "12.50"),
    "#12572": (600, "14.17"),
    "#14075": (2000, "0.60"),
    "#01036": (100, "8.50"),
    "#01307": (1200, "0.42"),
    "#10572": (250, "0.60"),
}
IN_ORDER = list(CHIPS)
VALUES = [90_000, 77_000, 26_350, 15_001, 12_500, 8_502, 1_200, 850, 504, 150]


def ranked(chips: dict[str, tuple[int, str]]) -> tuple[Ranked, ...]:
    # Handed in by number, so that the order is the function's own.
    return by_yearly_value({key: volume * Decimal(cost) for key, (volume, cost) in sorted(chips.items())})


def value_of(rows: tuple[Ranked, ...], letter: str) -> Decimal:
    return sum((row.value for row in rows if row.letter == letter), Decimal(0))


def test_ten_chips_in_three_classes():
    """Two A with 72 % (exactly 71.97), three B with 23 % (23.21), five C with 5 % (4.83) of 232,057."""
    rows = ranked(CHIPS)
    assert [row.key for row in rows] == IN_ORDER
    assert [row.value for row in rows] == VALUES
    assert "".join(row.letter for row in rows) == "AABBBCCCCC"
    total = sum(row.value for row in rows)
    assert total == 232_057
    assert [value_of(rows, letter) for letter in "ABC"] == [167_000, 53_851, 11_206]
    assert [round(100 * value_of(rows, letter) / total, 2) for letter in "ABC"] == [
        Decimal("71.97"),
        Decimal("23.21"),
        Decimal("4.83"),
    ]
    assert round(100 * rows[1].cumulative_share, 2) == Decimal("71.97")
    assert [row.share for row in rows] == [value / Decimal(232_057) for value in VALUES]
    assert rows[-1].cumulative_share == 1


def test_a_dearer_chip_makes_class_a_weigh_more():
    """#10286 at 120.00: total 262,057, A 75 % (exactly 75.17)."""
    rows = ranked({**CHIPS, "#10286": (1000, "120.00")})
    assert "".join(row.letter for row in rows) == "AABBBCCCCC"
    assert sum(row.value for row in rows) == 262_057
    assert value_of(rows, "A") == 197_000
    assert round(100 * rows[1].cumulative_share, 2) == Decimal("75.17")


def test_what_begins_at_a_border_belongs_to_the_lower_class():
    rows = by_yearly_value({"first": 70, "second": 25, "third": 5})
    assert [row.letter for row in rows] == ["A", "B", "C"]
    rows = by_yearly_value({"first": 69, "second": 25, "third": 6})
    assert [row.letter for row in rows] == ["A", "A", "B"]


def test_equal_values_are_ranked_by_key():
    assert [row.key for row in by_yearly_value({"tape": 3, "busk": 3, "cord": 3})] == ["busk", "cord", "tape"]


def test_where_nothing_has_value_all_is_c():
    rows = by_yearly_value({"tape": 0, "cord": 0})
    assert [(row.share, row.cumulative_share, row.letter) for row in rows] == [(0, 0, "C")] * 2
    assert by_yearly_value({}) == ()


def test_a_value_below_zero_is_refused():
    with pytest.raises(ValueError, match="value of cord is -1, below zero"):
        by_yearly_value({"cord": -1})


@given(st.dictionaries(st.text(max_size=4), st.integers(0, 10**9), min_size=1).filter(lambda of: any(of.values())))
def test_shares_add_up_and_letters_never_rise(values: dict[str, int]):
    rows = by_yearly_value(values)
    assert {row.key: row.value for row in rows} == values
    assert abs(sum(row.share for row in rows) - 1) < Decimal("1e-20")
    assert rows[-1].cumulative_share == 1
    assert [row.letter for row in rows] == sorted(row.letter for row in rows)
    assert rows[0].letter == "A"
