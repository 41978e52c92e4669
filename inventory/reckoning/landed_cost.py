"""What the lines of a delivery cost once carriage, duty and other charges are borne by them.

Source: IAS 2 Inventories, paragraphs 10 and 11: transport, handling and duties are part of the cost of what is bought.
"""

from collections.abc import Sequence
from decimal import Decimal

from inventory.ground.money import split_whole

__all__ = ["spread"]


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
