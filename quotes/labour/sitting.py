"""What each operation took of a sitting: one stretch of time over several operations of a piece.

Only the whole is measured; nobody knows what each took of it. So it is shared by what was planned: in proportion to the
operations' planned minutes, equally where none has any, in whole minutes by largest remainder (ties go to the earliest
in the order of the work). The shares of a sitting always add up to it. This is the only place in which it is decided.
"""

from collections.abc import Sequence
from decimal import Decimal

from inventory.ground.money import split_whole

__all__ = ["shares"]


def shares(minutes: int, planned_min: Sequence[float]) -> tuple[int, ...]:
    """Return each operation's whole minutes of a sitting.

    Args:
        minutes: how long the sitting was, >= 0.
        planned_min: planned minutes of each of its operations, >= 0, in the order of the work; at least one.

    Returns:
        One share per operation; together they are `minutes`.

    Raises:
        ValueError: no operation, or planned minutes below zero.

    >>> shares(80, [30.0, 45.0]), shares(10, [0.0, 0.0, 0.0])
    ((32, 48), (4, 3, 3))
    """
    weights = [Decimal(planned) for planned in planned_min]
    return split_whole(minutes, weights if any(weights) else [Decimal(1)] * len(weights))
