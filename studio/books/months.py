"""Use cases of months: closed in their order once they are over, the last of them opened again for a reason.

What comes to light later counts in the next.
"""

import logging
from calendar import monthrange
from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Exists, F, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Greatest, TruncMonth
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.wording import day_text
from inventory.models import Movement, Shelf
from inventory.shelf.settings import close_until
from studio.accounts.accounting import settle_all
from studio.books.sums import pieces_of
from studio.jobs.last_entry import far_past_last_entry
from studio.models import ClosedMonth, Credit, Job, Payment, PieceAccount, ReopenedMonth
from studio.profit.totals import total, totals_by

__all__ = [
    "Month",
    "close_month",
    "last_closed",
    "last_day",
    "month_start",
    "months",
    "next_to_close",
    "reopen_month",
]

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """A month of the books, in minor units.

    Attributes:
        corrections_minor: what the ledger took back from, or gave to, pieces whose own month was closed already, and
            what their late payments took and lower prices let go; what raises profit is more than zero.
        cancelled_minor: below zero, what cancelled jobs took from the shelf: in the month in which they were cancelled,
            and less what comes back later in the month of its return.
        closed: the row that closed it; None while it is open.
    """

    first_day: date
    pieces: int
    net_minor: int
    profit_minor: int
    corrections_minor: int
    cancelled_minor: int
    closed: ClosedMonth | None

    @property
    def together_minor(self) -> int:
        """What the month earned with all that came to light in it."""
        return self.profit_minor + self.corrections_minor + self.cancelled_minor

    @property
    def last_day(self) -> date:
        """The month's last day."""
        return last_day(self.first_day)


def month_start(month: str) -> date:
    """Return the first day of a month, `2027-01`."""
    return date.fromisoformat(f"{month}-01")


def last_day(first_day: date) -> date:
    """Return the last day of the month that begins on a day."""
    return first_day.replace(day=monthrange(first_day.year, first_day.month)[1])


def last_closed() -> ClosedMonth | None:
    """Return the last month that is closed, the one that can be opened again; None where none is."""
    return ClosedMonth.objects.order_by("-first_day").first()


def next_to_close(*, on: date) -> date | None:
    """Return the first day of the month that is closed next; None where that month is not over on a day.

    After the last closed one; before any is closed, the month of the first delivery, or the one before `on`'s.
    """
    last = last_closed()
    first = Job.objects.filter(stage=Job.Stage.DELIVERED).order_by("delivered_on").first()
    if last is not None:
        month = last_day(last.first_day) + timedelta(days=1)
    elif first is not None and first.delivered_on is not None:
        month = first.delivered_on.replace(day=1)
    else:
        month = (on.replace(day=1) - timedelta(days=1)).replace(day=1)
    return month if last_day(month) < on else None


@transaction.atomic
def close_month(year: int, month: int, *, user: User | None) -> ClosedMonth:
    """Close a month: its pieces are worked out a last time, their figures stand, and nothing is booked in it any more.

    Raises:
        Refused: it is closed already, it is not over, another comes first, or the clock stands far past the last entry.
    """
    # All that is booked asks this row whether its month is open.
    Shelf.objects.select_for_update().get(pk=1)
    first_day = date(year, month, 1)
    _must_come_next(first_day)
    until = last_day(first_day)
    pieces = Job.objects.filter(stage=Job.Stage.DELIVERED, delivered_on__lte=until)
    settle_all(pieces.exclude(account__frozen_at__isnull=False))
    now = timezone.now()
    PieceAccount.objects.filter(delivered_on__lte=until, frozen_at__isnull=True).update(frozen_at=now)
    close_until(until)
    closed = ClosedMonth.objects.create(first_day=first_day, closed_at=now, by=user)
    logger.info("Closed month=%s pieces=%s", first_day, pieces.count())
    return closed


@transaction.atomic
def reopen_month(year: int, month: int, *, why: str, user: User | None) -> ReopenedMonth:
    """Open the last closed month again: its pieces are worked out as they are now, and it can be booked in.

    What was counted as a correction of a later month counts in its pieces from now on.

    Raises:
        Refused: no reason; it is not closed, or a later one is.
    """
    Shelf.objects.select_for_update().get(pk=1)
    first_day = date(year, month, 1)
    words = f"{first_day:%B %Y}"
    why = why.strip()
    if not why:
        raise refuse("month.no-reason", words, "A month is opened again for a reason.", "Say why.")
    last = last_closed()
    if last is None or last.first_day < first_day:
        raise refuse("month.open", words, f"{words} is not closed.")
    if last.first_day != first_day:
        raise refuse("month.order", words, f"Months are opened again from the last. {last} comes first.")
    opened = ReopenedMonth.objects.create(
        first_day=last.first_day,
        closed_at=last.closed_at,
        closed_by=last.by,
        reopened_at=timezone.now(),
        by=user,
        why=why,
    )
    last.delete()
    before = last_closed()
    until = last_day(before.first_day) if before else None
    close_until(until)
    accounts = PieceAccount.objects.filter(frozen_at__isnull=False)
    if until is not None:
        accounts = accounts.filter(delivered_on__gt=until)
    pieces = list(accounts.values_list("job", flat=True))
    accounts.update(frozen_at=None)
    settle_all(Job.objects.filter(pk__in=pieces))
    logger.info("Reopened month=%s pieces=%s", first_day, len(pieces))
    return opened


def months() -> list[Month]:
    """Return the months that are closed or have a delivery, a correction or a cancelled job's loss; the last first."""
    closed = {month.first_day: month for month in ClosedMonth.objects.select_related("by")}
    made = {month_start(earned.key): earned for earned in totals_by(pieces_of(PieceAccount.objects.all()), "month")}
    nothing = total(())
    corrected, cancelled = _corrections(), _cancelled()
    return [
        Month(
            first_day=month,
            pieces=made.get(month, nothing).pieces,
            net_minor=made.get(month, nothing).net_minor,
            profit_minor=made.get(month, nothing).actual_profit_minor,
            corrections_minor=corrected.get(month, 0),
            cancelled_minor=cancelled.get(month, 0),
            closed=closed.get(month),
        )
        for month in sorted({*made, *corrected, *cancelled, *closed}, reverse=True)
    ]


def _corrections() -> dict[date, int]:
    """What came for pieces after their month was closed, by the month in which it was booked: ledger, fees, credits."""
    stood = PieceAccount.objects.filter(job__reference=OuterRef("posting__job"), frozen_at__lt=OuterRef("posting__at"))
    corrections: Counter[date] = Counter()
    corrections.update(_by_month(Movement.objects.filter(Exists(stood), posting__job__gt=""), "value_minor"))
    late = {"job__account__frozen_at__lt": F("noted_at")}
    corrections.subtract(_by_month(Payment.objects.filter(**late).exclude(fee_minor=0), "fee_minor"))
    corrections.subtract(_by_month(Credit.objects.filter(**late), "net_minor"))
    return dict(corrections)


def _cancelled() -> dict[date, int]:
    """Values that the ledger gave to jobs that were cancelled, by the month in which each is a loss."""
    jobs = Job.objects.filter(stage=Job.Stage.CANCELLED, reference=OuterRef("posting__job")).values("cancelled_on")
    movements = Movement.objects.filter(posting__job__gt="").annotate(cancelled_on=Subquery(jobs))
    return _by_month(movements.filter(cancelled_on__isnull=False), "value_minor", day=Greatest("day", "cancelled_on"))


def _by_month(booked: QuerySet[Any], column: str, *, day: Any = "day") -> dict[date, int]:
    """Sums of a column, by the month of their day."""
    months_of = booked.annotate(month=TruncMonth(day)).order_by().values_list("month")
    return dict(months_of.annotate(value=Sum(column)))


def _must_come_next(first_day: date) -> None:
    today = timezone.localdate()
    words = f"{first_day:%B %Y}"
    if ClosedMonth.objects.filter(first_day=first_day).exists():
        raise refuse("month.closed", words, f"{words} is closed already.")
    if last_day(first_day) >= today:
        raise refuse("month.not-over", words, f"{words} is not over yet.", "Close it on the first day of the next.")
    if (last := far_past_last_entry(timezone.now())) is not None:
        raise refuse(
            "month.clock",
            words,
            f"The clock says {day_text(today)}, but the last entry of the books is of {day_text(timezone.localdate(last))}.",
            "Set the clock of this machine; where it is right, enter something first, such as time at the bench.",
        )
    following = next_to_close(on=today)
    if following != first_day:
        comes = f"{following:%B %Y} comes next." if following else "No month that is over is open."
        raise refuse("month.order", words, f"Months are closed in their order. {comes}")
