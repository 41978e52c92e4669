"""What is a crumb: hand-counted rests, and that more of a lot never makes a crumb of it.

The shortest pieces are those of `inventory/defaults.json`, from memory; the rule is the product's own.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.materials import KINDS, StockUnit
from inventory.reckoning.crumbs import Kept, Rest, is_crumb, is_cut_from_one_piece

KEPT = Kept(width_mm=120, length_mm=300)
KINDS_OF_LENGTH = [kind.value for kind, facts in KINDS.items() if facts.unit is StockUnit.METRE]


@pytest.mark.parametrize(
    ("rest", "crumb"),
    [
        # Cloth of which nothing is known: the least remnant that is kept.
        (Rest(kind="cloth", length_mm=299), True),
        (Rest(kind="cloth", length_mm=300), False),
        # Cloth that shows: all that any piece of work takes, it takes from one lot.
        (Rest(kind="cloth", length_mm=899, least_need_mm=900, one_lot_only=True), True),
        (Rest(kind="cloth", length_mm=900, least_need_mm=900, one_lot_only=True), False),
        (Rest(kind="cloth", length_mm=120, least_need_mm=120, one_lot_only=True), False),
        # Cloth that may be put together from lots, and work that takes less than a remnant.
        (Rest(kind="cloth", length_mm=400, least_need_mm=900), False),
        (Rest(kind="fusible", length_mm=100, least_need_mm=100), False),
        (Rest(kind="fusible", length_mm=99, least_need_mm=100), True),
        # Remnants: both sides.
        (Rest(kind="cloth", length_mm=300, width_mm=119), True),
        (Rest(kind="cloth", length_mm=299, width_mm=500), True),
        (Rest(kind="cloth", length_mm=300, width_mm=120), False),
        # A coil and a tape: the shortest piece in use, or what a job takes that takes still less.
        (Rest(kind="spiral", length_mm=99), True),
        (Rest(kind="spiral", length_mm=100), False),
        (Rest(kind="casing", length_mm=80, least_need_mm=70), False),
        (Rest(kind="cord", length_mm=499, least_need_mm=6_000), True),
        # Thread is used to the end, and a piece is a piece.
        (Rest(kind="thread", length_mm=1), False),
        (Rest(kind="grommet", length_mm=1), False),
        (Rest(kind="of-a-later-version", length_mm=1), False),
        (Rest(kind="of-a-later-version", length_mm=1, width_mm=1), False),
        (Rest(kind="cloth", length_mm=0), False),
    ],
)
def test_rests_counted_by_hand(rest: Rest, crumb: bool):
    assert is_crumb(rest, kept=KEPT) is crumb


@given(
    st.sampled_from(KINDS_OF_LENGTH),
    st.integers(1, 20_000),
    st.integers(0, 20_000),
    st.none() | st.integers(1, 10_000),
    st.booleans(),
)
def test_more_of_a_lot_never_makes_a_crumb_and_what_a_need_takes_never_is_one(
    kind: str, length: int, more: int, need: int | None, one_lot: bool
):
    def crumb(length_mm: int) -> bool:
        rest = Rest(kind=kind, length_mm=length_mm, least_need_mm=need, one_lot_only=one_lot)
        return is_crumb(rest, kept=KEPT)

    assert crumb(length) or not crumb(length + more)
    assert need is None or not crumb(need + more)
    assert is_cut_from_one_piece(kind) or not crumb(length)
