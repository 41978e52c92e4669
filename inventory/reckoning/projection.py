"""What will lie on the shelf day by day.

Words: a *change* is an arrival (quantity > 0) or a need (< 0) on a day; a *balance* is the stock after all changes of a
day and below zero where something is short. Quantities are whole base units.

Source: the record of material requirements planning, for instance Jacobs and Chase, Operations and Supply Chain
Management, or Heizer and Render, Operations Management, ch. 14.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

__all__ = ["Change", "Point", "projected", "runs_out_on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What comes (quantity > 0) or is needed (< 0) on a day, and what for, in words."""

    day: date
    quantity: int
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """The balance after a day, and what happened on it, in words."""

    day: date
    balance: int
    what: str


def projected(on_hand: int, changes: Iterable[Change]) -> tuple[Point, ...]:
    """Return one point for each day with changes, earliest first.

    Arrivals of a day count before its needs, so that a delivery serves a need of the same day; otherwise the order in
    which they were given stays.
    """
    points, balance = [], on_hand
    in_order = sorted(changes, key=lambda change: (change.day, change.quantity < 0))
    for day, group in groupby(in_order, key=lambda change: change.day):
        of_day = list(group)
        balance += sum(change.quantity for change in of_day)
        points.append(Point(day=day, balance=balance, what="; ".join(change.what for change in of_day)))
    return tuple(points)


def runs_out_on(
    usable: int, changes: Iterable[Change], *, per_week: float, start: date, within_days: int
) -> date | None:
    """Return the first day by which more goes than is there; None where no such day is near.

    Until the end of a day there goes what is needed until then, or what is expected to be used if that is more: past
    use, which tells what is expected, was known work too for the most part, so that both together would count it twice.
    Planned orders look ahead in the same way (`inventory.replenish.ahead`). Expected use is spread evenly over the days;
    what comes on a day serves the needs of that day.

    Args:
        usable: what lies there at the beginning of `start` and can be used.
        changes: those before `start` count on it.
        per_week: expected to be used in a week, >= 0.
        within_days: so many days are looked at, `start` among them.

    >>> day = date(2027, 1, 4)
    >>> runs_out_on(10, [], per_week=7, start=day, within_days=91)
    datetime.date(2027, 1, 14)
    >>> runs_out_on(10, [Change(day=day, quantity=-4, what="Q1")], per_week=7, start=day, within_days=91)
    datetime.date(2027, 1, 14)
    >>> runs_out_on(10, [Change(day=day, quantity=-11, what="Q1")], per_week=7, start=day, within_days=91)
    datetime.date(2027, 1, 4)
    """
    comes: dict[date, int] = defaultdict(int)
    goes: dict[date, int] = defaultdict(int)
    for change in changes:
        (goes if change.quantity < 0 else comes)[max(start, change.day)] += abs(change.quantity)
    there, needed = usable, 0
    for days in range(within_days):
        day = start + timedelta(days=days)
        there += comes[day]
        needed += goes[day]
        if there * 7 < max(needed * 7, per_week * (days + 1)):
            return day
    return None
