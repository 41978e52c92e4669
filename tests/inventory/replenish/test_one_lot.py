"""What of odd lots serves no need: against every assignment of needs to lots, tried out."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from inventory.replenish.one_lot import stranded

amounts = st.lists(st.integers(1, 12), max_size=4)


def all_can_be_met(lots: list[int], whole: list[int]) -> bool:
    for places in product(range(len(lots)), repeat=len(whole)):
        rests = list(lots)
        for place, need in zip(places, whole, strict=True):
            rests[place] -= need
        if all(rest >= 0 for rest in rests):
            return True
    return not whole


@given(lots=amounts, whole=amounts, loose=st.integers(0, 20))
def test_nothing_is_stranded_that_the_needs_take(lots: list[int], whole: list[int], loose: int):
    found = stranded(lots, whole, loose)
    assert 0 <= found <= max(0, sum(lots) - loose)
    if not all_can_be_met(lots, whole):
        # What is counted on never hides that a need finds no lot.
        assert sum(lots) - found < sum(whole) + loose


@given(lots=st.lists(st.integers(1, 12), min_size=1, max_size=4), loose=st.integers(0, 20))
def test_a_single_need_is_met_from_the_smallest_lot_that_holds_it(lots: list[int], loose: int):
    assert stranded(lots, [max(lots)], loose) == 0
    assert stranded(lots, [max(lots) + 1], loose) == max(0, sum(lots) - loose)
