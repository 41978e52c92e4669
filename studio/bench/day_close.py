"""Use cases of the day's close: time for what was done without any, and how long somebody was there, all in all.

A piece that was handed over with more than a few missing minutes is asked about too, until its month is closed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.wording import named_text
from inventory.shelf.settings import must_be_open, must_have_come, shelf
from studio.accounts.accounting import settle_again
from studio.bench.timing import MOST_MINUTES, also_worked, keep_written, must_be_before_delivery
from studio.jobs.sittings import without_time
from studio.models import DayPresent, Job, JobOperation, TimeEntry
from studio.profit.piece import Unlogged

__all__ = ["Unanswered", "be_present", "leave_undone", "put_into", "unanswered", "write_together"]

MOST_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Unanswered:
    """What one person ticked at a job on a day, or what a delivered piece still lacks, and of which no time is known."""

    job: Job
    day: date
    operations: tuple[JobOperation, ...]


def unanswered(user: User) -> list[Unanswered]:
    """Return what a person ticked without time since the last month that is closed, the newest day first, and then what
    delivered pieces lack.
    """
    ticked = JobOperation.objects.filter(done_by=user, done_at__isnull=False, job__in=Job.objects.open())
    dated = [
        (timezone.localdate(operation.done_at), operation)
        for operation in without_time(ticked).select_related("job__client").order_by("job__position", "job", "place")
    ]
    closed_until = shelf().closed_until if dated else None
    asked = [pair for pair in dated if closed_until is None or pair[0] > closed_until]
    asked.sort(key=lambda pair: pair[0], reverse=True)
    return [
        Unanswered(job=operations[0].job, day=day, operations=tuple(operations))
        for (day, _), pairs in groupby(asked, key=lambda pair: (pair[0], pair[1].job_id))
        if (operations := [operation for _, operation in pairs])
    ] + _of_delivered()


def _of_delivered() -> list[Unanswered]:
    """What the accounts of open months take to be missing, of pieces that lack more than a few minutes."""
    unsure = JobOperation.objects.filter(
        job__account__is_unsure=True, job__account__frozen_at__isnull=True, unlogged__in=(Unlogged.NO, Unlogged.MISSING)
    )
    rows = without_time(unsure).select_related("job__client").order_by("-job__delivered_on", "job", "place")
    by_job = [tuple(found) for _, found in groupby(rows, key=lambda operation: operation.job_id)]
    return [
        Unanswered(job=operations[0].job, day=operations[0].job.delivered_on, operations=operations)
        for operations in by_job
        if operations[0].job.delivered_on is not None
    ]


@transaction.atomic
def write_together(operations: Sequence[JobOperation], *, user: User, key: UUID, day: date, minutes: int) -> TimeEntry:
    """Write down one sitting over operations that were done without time.

    Raises:
        Refused: none of them, one that has time by now, a job that was given up, a day after the piece was handed over,
            or as `keep_written`.
    """
    _must_be_some(operations)
    # Locked first, so that of two answers sent at once the second finds the first.
    job = Job.objects.select_for_update(of=("self",)).get(pk=operations[0].job_id)
    if (known := TimeEntry.objects.filter(key=key).first()) is not None:
        return known
    _must_be_answerable(job)
    must_be_before_delivery(job, day)
    _must_lack_time(operations)
    first, *others = operations
    entry = keep_written(first, user=user, key=key, day=day, minutes=minutes, also=others)
    settle_again(job)
    return entry


@transaction.atomic
def put_into(entry: TimeEntry, operations: Sequence[JobOperation]) -> None:
    """Say that the time of operations is in an entry of their job that stands already; once is enough.

    Raises:
        Refused: none of them, one that has time elsewhere by now, an entry that was corrected meanwhile or in which work
            was done again, a closed month, or a job that was given up.
    """
    _must_be_some(operations)
    job = Job.objects.select_for_update(of=("self",)).get(pk=entry.operation.job_id)
    _must_be_answerable(job)
    must_be_open(entry.day)
    if TimeEntry.objects.filter(replaces=entry).exists():
        raise refuse(
            "day.corrected", "entry", "That entry was corrected meanwhile.", "Choose the one that stands in its place."
        )
    if entry.cause:
        raise refuse(
            "day.done-again",
            "entry",
            "In that entry work was done again, which says nothing of how long it took at first.",
            "Choose another entry, or say how long it took.",
        )
    there = entry.worked_operations()
    further = [operation for operation in operations if operation not in there]
    _must_lack_time(further)
    also_worked(entry, further)
    settle_again(job)


@transaction.atomic
def leave_undone(operations: Sequence[JobOperation]) -> None:
    """Say of a delivered piece that operations were left out: they take nothing.

    Raises:
        Refused: none of them, one that has time by now, a piece that is not delivered, or a closed month.
    """
    _must_be_some(operations)
    job = Job.objects.select_for_update(of=("self",)).get(pk=operations[0].job_id)
    _must_be_answerable(job)
    if job.is_open:
        raise refuse("day.not-delivered", str(job), "This piece is still on the bench.", "Untick what is not done.")
    _must_lack_time(operations)
    JobOperation.objects.filter(pk__in=[row.pk for row in operations]).update(unlogged=Unlogged.UNDONE)
    settle_again(job)


def be_present(user: User, *, day: date, minutes: int) -> DayPresent:
    """Keep how long a person was at the bench on a day; said again it takes the place of what was said before.

    Raises:
        Refused: no time, more than a day has, a day to come, or a closed month.
    """
    if not 0 < minutes <= MOST_MINUTES:
        raise refuse(
            "day.minutes", "minutes", f"A day does not have {minutes} minutes at the bench.", "Write 1 to 1440."
        )
    must_have_come(day, "day.to-come", "Say it when the day is over.")
    must_be_open(day)
    return DayPresent.objects.update_or_create(day=day, by=user, defaults={"minutes": minutes})[0]


def _must_be_answerable(job: Job) -> None:
    """A job that is open, or delivered in a month that is."""
    if job.is_open:
        return
    if job.delivered_on is None:
        raise refuse("job.over", str(job), "This job is over already.")
    must_be_open(job.delivered_on)


def _must_be_some(operations: Sequence[JobOperation]) -> None:
    if not operations:
        raise refuse("day.none-checked", "operations", "Nothing is checked.", "Check what the time went into.")


def _must_lack_time(operations: Sequence[JobOperation]) -> None:
    """So that of two windows the second does not add the same time once more."""
    asked = JobOperation.objects.filter(pk__in=[operation.pk for operation in operations])
    lacking = set(without_time(asked).values_list("pk", flat=True))
    timed = [operation.name for operation in operations if operation.pk not in lacking]
    if timed:
        raise refuse(
            "day.answered",
            "operations",
            f"Time is logged by now at {named_text(timed, most=MOST_NAMED)}.",
            "Look at what is left.",
        )
