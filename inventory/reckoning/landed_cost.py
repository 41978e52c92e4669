"""What the lines of a delivery cost once carriage, duty and other charges are borne by them.

Source: IAS 2 Inventories, paragraphs 10 and 11: transport, handling and duties are part of the cost of what is bought.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate, pairwise

from inventory.ground.money import nearest, split_whole

__all__ = ["OrderedLine", "borne", "spread"]


def spread(charges: int, values: Sequence[int]) -> tuple[int, ...]:
    """Spread charges over lines by their values; the parts add up to the charges.

    Args:
        charges: minor units; below zero for a rebate.
        values: each line's value in minor units, >= 0; where all are zero, the lines bear alike.

    Returns:
        One part per line, minor units. Largest remainder, ties to the earliest.

    >>> spread(4750, [31240, 8815, 1995])
    (3529, 996, 225)

    Raises:
        ValueError: no lines, or a value below zero.
    """
    weights = [Decimal(value) for value in values] if any(values) else [Decimal(1)] * len(values)
    return split_whole(charges, weights)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedLine:
    """A line of an order that comes in parts.

    Attributes:
        value: what was ordered is worth, minor units >= 0.
        ordered: base units > 0.
        came: base units of each part that has come, in their order.
        is_closed: nothing more is expected.
    """

    value: int
    ordered: int
    came: tuple[int, ...] = ()
    is_closed: bool = False

    @property
    def expected(self) -> int:
        """What comes in all, in base units."""
        return sum(self.came) if self.is_closed else max(self.ordered, sum(self.came))


def borne(charges: int, lines: Sequence[OrderedLine]) -> tuple[tuple[int, ...], ...]:
    """Return what each part that has come bears of what was charged for the whole order, minor units, line by line.

    The lines share the charges by the value of what is expected of them (`spread`), and each part bears its quantity's
    share of its line's; where all that is expected has come, the parts add up to the charges.

    >>> cord = OrderedLine(value=11500, ordered=100, came=(25, 50))
    >>> borne(690, [cord])
    ((173, 345),)
    """
    expected = [line.expected for line in lines]
    values = [nearest(line.value * comes, line.ordered) for line, comes in zip(lines, expected, strict=True) if comes]
    shares = iter(spread(charges, values) if values else ())
    return tuple(
        _parts(next(shares), line.came, comes) if comes else () for line, comes in zip(lines, expected, strict=True)
    )


def _parts(share: int, came: Sequence[int], expected: int) -> tuple[int, ...]:
    """Parts of a share by quantity: each the difference of what all up to it bear, so that nothing is lost in between."""
    bounds = [nearest(share * so_far, expected) for so_far in accumulate(came, initial=0)]
    return tuple(after - before for before, after in pairwise(bounds))
