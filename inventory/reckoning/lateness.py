"""How late a supplier comes, and until when a late order may still be counted on.

The lateness of an order is the days from the day on which it was first expected to the day on which all of it had come.
Words and formula: the nearest-rank percentile, for instance NIST/SEMATECH, e-Handbook of Statistical Methods, 7.2.6.2;
the normal quantile for a spread that is given.
"""

from collections.abc import Sequence
from math import ceil
from statistics import NormalDist

from inventory.ground.defaults import shelf_defaults

__all__ = ["LAST_ORDERS", "late_within"]

LAST_ORDERS = shelf_defaults().suppliers.last_orders
_FEWEST_ORDERS = shelf_defaults().suppliers.fewest_orders
_COME_PERCENT = shelf_defaults().suppliers.come_percent


def late_within(days_late: Sequence[int], *, spread_days: int) -> int:
    """Return within how many days after the expected one nine in ten orders have come, at least 0.

    The smallest number of days that so many of the orders did not exceed; the normal quantile of the spread where there
    are too few orders.

    Args:
        days_late: of the last received orders, the newest first; below 0 for what came early.
        spread_days: standard deviation of the lead time as the maker gave it.

    >>> late_within([0, 3, 1, -2, 9], spread_days=2), late_within([9], spread_days=2)
    (9, 3)
    """
    last = sorted(days_late[:LAST_ORDERS])
    if len(last) < _FEWEST_ORDERS:
        return ceil(NormalDist().inv_cdf(_COME_PERCENT / 100) * spread_days)
    rank = -(-len(last) * _COME_PERCENT // 100)
    return max(0, last[rank - 1])
