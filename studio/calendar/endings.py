"""When each job was at the table, and when it was finished: what tells of worked weeks and of kept days."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Max, Q
from django.utils import timezone

from quotes.labour.operations import OperationRole
from studio.models import Job
from studio.schedule.kept_days import finished_on
from studio.schedule.worked import OpenSpan

__all__ = ["Ending", "endings"]

_WITH_THE_CLIENT = (OperationRole.FITTING, OperationRole.HAND_OVER, OperationRole.CLOSING)
"""Where only these are open, the piece waits for its client, and no work could be done on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """A job with its days.

    Attributes:
        at_the_table: from its making until all that is done at the table was ticked, or the job was over.
        finished: None where it is not, or was cancelled.
    """

    job: Job
    at_the_table: OpenSpan
    finished: date | None


def endings() -> list[Ending]:
    """Return the days of all jobs, in one query."""
    at_the_table = ~Q(operations__role__in=[role.value for role in _WITH_THE_CLIENT])
    is_open = Q(operations__done_at__isnull=True)
    rows = (
        Job.objects.only("reference", "title", "started_on", "delivered_on", "cancelled_on", "stage")
        .order_by("pk")
        .annotate(
            last_tick=Max("operations__done_at"),
            still_open=Count("operations", filter=is_open),
            last_at_table=Max("operations__done_at", filter=at_the_table),
            open_at_table=Count("operations", filter=is_open & at_the_table),
        )
    )
    return [_ending(job) for job in rows]


def _ending(job: Job) -> Ending:
    counted = vars(job)  # what the query adds to a row
    over = job.delivered_on or job.cancelled_on
    all_ticked = _day(counted["last_tick"]) if not counted["still_open"] else None
    left_table = _day(counted["last_at_table"]) if not counted["open_at_table"] else None
    return Ending(
        job=job,
        at_the_table=(job.started_on, min((day for day in (left_table, over) if day), default=None)),
        finished=finished_on(all_ticked, job.delivered_on) if job.cancelled_on is None else None,
    )


def _day(moment: datetime | None) -> date | None:
    return timezone.localdate(moment) if moment is not None else None
