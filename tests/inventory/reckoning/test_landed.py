"""Charges spread over lines, against an exam question and the largest-remainder method.

Sources: a costing exam question (two articles, one shipment); Hamilton apportionment, worked by hand.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.landed_cost import spread


def test_one_shipment_of_two_articles():
    """20 at 20 and 20 at 5; costs of 2,300 in all make 1,840 (92.00 each) and 460 (23.00 each), 230 make 184 and 46."""
    values = [20 * 20_00, 20 * 5_00]
    landed = spread(2300_00, values)
    assert landed == (1840_00, 460_00)
    assert [part // 20 for part in landed] == [92_00, 23_00]
    assert spread(230_00, values) == (184_00, 46_00)


def test_carriage_adds_up_to_the_penny():
    """47.50 over 312.40, 88.15 and 19.95: exactly 35.291…, 9.958… and 2.253…, so 35.29 + 9.96 + 2.25."""
    assert spread(47_50, [312_40, 88_15, 19_95]) == (35_29, 9_96, 2_25)


def test_a_rebate_is_spread_alike():
    assert spread(-47_50, [312_40, 88_15, 19_95]) == (-35_29, -9_96, -2_25)


def test_lines_without_value_bear_alike():
    assert spread(100, [0, 0, 0]) == (34, 33, 33)


def test_a_line_without_value_bears_nothing_beside_one_with():
    assert spread(100, [0, 7]) == (0, 100)


@pytest.mark.parametrize("values", [[], [5, -1]])
def test_no_lines_or_a_value_below_zero_are_refused(values: list[int]):
    with pytest.raises(ValueError, match="zero or more"):
        spread(100, values)


@given(st.integers(-(10**9), 10**9), st.lists(st.integers(0, 10**9), min_size=1, max_size=9))
def test_parts_add_up_and_are_near_their_share(charges: int, values: list[int]):
    parts = spread(charges, values)
    assert sum(parts) == charges
    total = sum(values)
    for part, value in zip(parts, values, strict=True):
        assert abs(part * total - charges * value) < total or not total
