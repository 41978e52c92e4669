"""What each pays of a joint lay: the parts add up, nobody pays more than alone, who would take more pays no less.

Source: the quota rule of Hamilton's method (Balinski and Young, Fair Representation): each part is its quota rounded up or
down.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.lay.sharing import shared

ALONE = st.lists(st.integers(0, 20_000), min_size=1, max_size=8).filter(any)


def named(alone: list[int]) -> dict[str, int]:
    return {f"Q{place}": own for place, own in enumerate(alone)}


@given(ALONE, st.fractions(0, 1))
def test_shares_add_up_and_nobody_pays_more_than_alone(alone: list[int], part: Fraction):
    joint = int(sum(alone) * part)
    shares = shared(joint, named(alone))
    assert sum(share.pays for share in shares) == joint
    assert all(0 <= share.pays <= share.alone for share in shares)
    assert sum(share.saves for share in shares) == sum(alone) - joint


@given(ALONE, st.fractions(0, 1))
def test_each_is_its_quota_rounded_up_or_down_and_who_would_take_more_pays_no_less(alone: list[int], part: Fraction):
    joint = int(sum(alone) * part)
    shares = shared(joint, named(alone))
    for share in shares:
        assert abs(share.pays - Fraction(joint * share.alone, sum(alone))) < 1
        assert all(other.pays >= share.pays for other in shares if other.alone > share.alone)


@given(ALONE, st.fractions(0, 1), st.integers(1, 500))
def test_a_longer_lay_costs_nobody_less_but_for_one_unit_of_rounding(alone: list[int], part: Fraction, more: int):
    joint = int(sum(alone) * part)
    before, after = shared(joint, named(alone)), shared(joint + more, named(alone))
    assert all(then.pays >= now.pays - 1 for now, then in zip(before, after, strict=True))


def test_by_hand():
    """A lay of 1.9 m for two that would take 1.2 and 0.8: five in a hundred less for each."""
    assert [(share.pays, share.saves) for share in shared(1900, {"Q1": 1200, "Q2": 800})] == [(1140, 60), (760, 40)]


def test_nothing_alone_cannot_be_shared():
    with pytest.raises(ValueError, match="Weights"):
        shared(5, {"Q1": 0})
