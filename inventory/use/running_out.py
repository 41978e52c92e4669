"""When an item runs out: one answer for every page, by the forecast that orders are planned by."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.models import ReservationLine
from inventory.reckoning.projection import Change, runs_out_on
from inventory.replenish.forecast import expected_per_week
from inventory.replenish.watch import Use, weekly_use
from inventory.reserving.availability import Arriving
from inventory.reserving.reservations import starts_on
from inventory.use.expected_use import used_by_day

__all__ = ["LONGEST_DAYS", "RunOut", "changes_of", "expected_use", "run_out"]

LONGEST_DAYS = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOut:
    """What is expected to be used in a week, in base units, and the day on which it runs out; None within a year."""

    per_week: float
    day: date | None


def expected_use(items: Collection[int], *, on: date) -> dict[int, float]:
    """Return what is expected to be used of items in a week, in base units, in one query; those without use are left out.

    Args:
        items: all that are still used, since the oldest use of any of them tells when the books began.
    """
    asked = set(items)
    history = (
        Use(material=str(pk), day=day, quantity=Decimal(quantity))
        for pk, day, quantity in used_by_day(until=on)
        if pk in asked and quantity
    )
    series = weekly_use(history, until=on)
    return {int(material): expected_per_week(weeks.tolist()) for material, weeks in series.items()}


def changes_of(lines: Iterable[ReservationLine], arriving: Iterable[Arriving], *, on: date) -> list[Change]:
    """Return what accepted work among `lines` takes on its days, and what orders bring."""
    takes = [
        Change(day=starts_on(line.reservation, on=on), quantity=-line.remaining, what=line.reservation.reference)
        for line in lines
        if line.reservation.is_firm
    ]
    brings = [
        Change(day=max(on, arrival.expected_on), quantity=arrival.quantity, what=f"order {arrival.order}")
        for arrival in arriving
    ]
    return takes + brings


def run_out(
    usable: int, lines: Iterable[ReservationLine], arriving: Sequence[Arriving], *, per_week: float, on: date
) -> RunOut:
    """Return when an item runs out; drafts bring nothing that one may count on.

    Args:
        usable: what of it lies there and work can use, in base units.
        lines: what is kept of it; what is kept softly is left out of account.
    """
    placed = [arrival for arrival in arriving if not arrival.is_draft]
    changes = changes_of(lines, placed, on=on)
    return RunOut(
        per_week=per_week,
        day=runs_out_on(usable, changes, per_week=per_week, start=on, within_days=LONGEST_DAYS),
    )
