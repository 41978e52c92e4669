"""When an order comes: a supplier's lead time, stretched by the weeks in which it is closed. Which days can be at all."""

from collections.abc import Sequence
from datetime import date, timedelta

__all__ = ["EARLIEST", "LATEST", "Closed", "arrival", "closed_on"]

EARLIEST, LATEST = date(1970, 1, 1), date(2999, 12, 31)
"""A day outside is a slip of the pen, and near the ends of a computer's calendar the day before or after cannot be said."""

Closed = Sequence[tuple[date, date]]
"""Periods in which a supplier neither packs nor sends, first and last day included."""


def closed_on(day: date, closed: Closed) -> bool:
    """Tell whether a supplier is closed on a day."""
    return any(first <= day <= last for first, last in closed)


def arrival(ordered_on: date, lead_days: int, closed: Closed) -> date:
    """Return the day on which an order comes; days on which the supplier is closed do not count.

    >>> arrival(date(2027, 7, 30), 7, [(date(2027, 8, 2), date(2027, 8, 20))])
    datetime.date(2027, 8, 25)
    """
    day = ordered_on
    while closed_on(day, closed):
        day += timedelta(days=1)
    for _ in range(lead_days):
        day += timedelta(days=1)
        while closed_on(day, closed):
            day += timedelta(days=1)
    return day
