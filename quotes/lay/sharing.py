"""One lay for several: what each pays of it.

Each pays what its own lay would take alone, less a part of the saving in proportion to that. So nobody pays more than alone
where the joint lay takes no more than all apart, whoever would have taken more alone pays no less, and the parts add up.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.money import split_whole

__all__ = ["Share", "shared"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What one pays of a joint lay, and what it would have paid alone; whole millimetres of cloth, or minor units."""

    whose: str
    alone: int
    pays: int

    @property
    def saves(self) -> int:
        """How much less it pays than alone."""
        return self.alone - self.pays


def shared(joint: int, alone: Mapping[str, int]) -> tuple[Share, ...]:
    """Share what a joint lay takes in proportion to what each would take alone.

    Args:
        joint: whole units, 0 or more.
        alone: the same units by whose they are, each 0 or more; at least one above 0.

    Returns:
        Shares in the order of `alone` that add up to `joint`, by largest remainder. Where `joint` is no more than all
        of `alone` together, each is no more than its own: its quota is no more than that, and no part exceeds its quota
        rounded up.

    Source: Hamilton (Hare–Niemeyer) apportionment; proportional division of the saving, common practice.

    >>> [share.pays for share in shared(100, {"Q1": 60, "Q2": 50})]
    [55, 45]
    """
    parts = split_whole(joint, [Decimal(own) for own in alone.values()])
    return tuple(
        Share(whose=whose, alone=own, pays=pays) for (whose, own), pays in zip(alone.items(), parts, strict=True)
    )
