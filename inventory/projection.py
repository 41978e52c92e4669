"""What will lie on the shelf day by day, and what more is needed period by period.

Words: a *change* is an arrival (quantity > 0) or a need (< 0) on a day; a *balance* is the stock after all changes of a
day and below zero where something is short. *Gross* is what is needed in a period, *scheduled* what is already ordered
for it, *net* what is still to be bought for it. Quantities are whole base units.

Source: the record of material requirements planning, for instance Jacobs and Chase, Operations and Supply Chain
Management, or Heizer and Render, Operations Management, ch. 14.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

__all__ = ["Change", "Point", "first_short", "net_requirements", "projected"]


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


def first_short(points: Iterable[Point]) -> Point | None:
    """Return the first point whose balance is below zero; None where nothing falls short."""
    return next((point for point in points if point.balance < 0), None)


def net_requirements(gross: Sequence[int], scheduled: Sequence[int], on_hand: int, safety: int = 0) -> tuple[int, ...]:
    """Return what is still to be bought for each period so that `safety` remains after it.

    net = max(0, gross + safety − scheduled − on hand after the period before), where each net is taken to arrive in its
    period.

    >>> net_requirements([10, 20, 15], [0, 5, 0], 12)
    (0, 13, 15)

    Raises:
        ValueError: gross and scheduled do not have the same number of periods.
    """
    nets = []
    for needed, coming in zip(gross, scheduled, strict=True):
        net = max(0, needed + safety - coming - on_hand)
        on_hand += coming + net - needed
        nets.append(net)
    return tuple(nets)
