"""Use cases of time: a timer that one person runs once on all devices, entries written down, corrections.

Each is a sitting at one operation, or at several of one job: `also` are the others, which the same time is shared with.
"""

from collections.abc import Collection, Sequence
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.wording import day_text
from inventory.shelf.settings import must_be_open, must_have_come, shelf
from studio.accounts.accounting import settle_again
from studio.defaults import studio_defaults
from studio.jobs.acts import open_job
from studio.models import AlsoWorked, Job, JobOperation, TimeEntry

__all__ = [
    "also_worked",
    "correct",
    "end_all",
    "is_long",
    "join",
    "keep_written",
    "must_be_before_delivery",
    "running",
    "start",
    "stop",
    "write_down",
]

MOST_MINUTES = 24 * 60
_OVER_HINT = "Note it as a change to another one."


def running(user: User) -> TimeEntry | None:
    """Return the timer that a person runs, on whichever device it was started."""
    timers = TimeEntry.objects.filter(by=user, ended_at__isnull=True)
    return timers.with_operations().select_related("operation__job").first()


def is_long(minutes: float) -> bool:
    """Whether a timer ran for so long that it may have been forgotten."""
    return minutes >= studio_defaults().bench.long_timer_minutes


def start(
    operation: JobOperation, *, user: User, key: UUID, cause: str = "", also: Collection[JobOperation] = ()
) -> TimeEntry:
    """Start a timer; one that runs at just these operations goes on, any other is stopped.

    Raises:
        Refused: the job is over.
    """
    try:
        with transaction.atomic():
            if (known := TimeEntry.objects.filter(key=key).first()) is not None:
                return known
            open_job(operation.job_id, hint=_OVER_HINT)
            now = timezone.now()
            current = running(user)
            if current is not None:
                if set(current.worked_operations()) == {operation, *also} and current.cause == cause:
                    return current
                _end(current, now)
            started = TimeEntry.objects.create(
                operation=operation, by=user, started_at=now, day=timezone.localdate(now), cause=cause, key=key
            )
            also_worked(started, also)
            return started
    except IntegrityError:
        # Another device started one at the same moment.
        theirs = running(user)
        if theirs is None:
            raise
        return theirs


@transaction.atomic
def join(operation: JobOperation, *, user: User) -> TimeEntry:
    """Work an operation in the sitting whose timer runs, from its beginning; once is enough.

    Raises:
        Refused: the person runs no timer at this job, or the job is over.
    """
    job = open_job(operation.job_id, hint=_OVER_HINT)
    current = running(user)
    if current is None or current.operation.job_id != job.pk:
        raise refuse("time.no-timer", operation.name, "No timer of yours runs at this job.", "Start one first.")
    also_worked(current, [operation])
    return current


def also_worked(entry: TimeEntry, operations: Collection[JobOperation]) -> None:
    """Put further operations of its job into an entry's sitting; those that are there stay. Part of the caller's act."""
    if any(operation.job_id != entry.operation.job_id for operation in operations):
        raise ValueError("A sitting is at operations of one job.")
    others = [AlsoWorked(entry=entry, operation=other) for other in operations if other.pk != entry.operation_id]
    AlsoWorked.objects.bulk_create(others, ignore_conflicts=True)


def stop(*, user: User, only: int | None = None) -> TimeEntry | None:
    """Stop the timer that a person runs; None where none runs (another device stopped it).

    Args:
        only: the entry that was seen running; another one, started meanwhile on another device, goes on.
    """
    with transaction.atomic():
        current = running(user)
        if current is None or only not in (None, current.pk):
            return None
        return current if _end(current, timezone.now()) else None


def end_all(job: Job) -> None:
    """Stop whatever timers run at a job, whoever started them; called inside what ends the job."""
    now = timezone.now()
    for entry in TimeEntry.objects.filter(operation__job=job, ended_at__isnull=True):
        _end(entry, now)


@transaction.atomic
def write_down(
    operation: JobOperation,
    *,
    user: User,
    key: UUID,
    day: date,
    minutes: int,
    cause: str = "",
    also: Collection[JobOperation] = (),
) -> TimeEntry:
    """Write down time that no timer took.

    Raises:
        Refused: no time, more than a day, a day to come, a closed month, or a job that is over.
    """
    if (known := TimeEntry.objects.filter(key=key).first()) is not None:
        return known
    open_job(operation.job_id, hint=_OVER_HINT)
    return keep_written(operation, user=user, key=key, day=day, minutes=minutes, cause=cause, also=also)


def keep_written(
    operation: JobOperation,
    *,
    user: User,
    key: UUID,
    day: date,
    minutes: int,
    cause: str = "",
    also: Collection[JobOperation] = (),
) -> TimeEntry:
    """Keep written time, whatever stands of the job; part of the caller's act.

    Raises:
        Refused: no time, more than a day, a day to come, or a closed month.
    """
    _believable(day, minutes)
    facts = {"operation": operation, "by": user, "cause": cause, "minutes": minutes, **_span(day, minutes)}
    entry, is_new = TimeEntry.objects.get_or_create(key=key, defaults=facts)
    if is_new:
        also_worked(entry, also)
    return entry


@transaction.atomic
def correct(
    entry: TimeEntry,
    *,
    user: User,
    key: UUID,
    day: date,
    minutes: int,
    why: str,
    cause: str | None = None,
    operations: Sequence[JobOperation] = (),
) -> TimeEntry:
    """Put another figure in place of an entry; what stood before is kept, with who and why. Zero minutes strike it out.

    Args:
        operations: those of the job that it was worked at; none where they stay.

    Raises:
        Refused: no reason, a timer that still runs, an entry that was corrected already, a closed month, or a day after
            the piece was handed over.
    """
    # Locked first, so that of two corrections sent at once the second finds the first, and a month that is closed
    # meanwhile is found closed.
    job = Job.objects.select_for_update(of=("self",)).get(operations=entry.operation_id)
    entry = TimeEntry.objects.with_operations().get(pk=entry.pk)
    if (known := TimeEntry.objects.filter(key=key).first()) is not None:
        return known
    if not why:
        raise refuse("time.no-reason", "why", "A correction needs a reason.", "Say what was wrong.")
    if entry.ended_at is None:
        raise refuse("time.running", str(entry.operation), "This timer still runs.", "Stop it first.")
    if TimeEntry.objects.filter(replaces=entry).exists():
        raise refuse(
            "time.corrected", str(entry.operation), "This entry was corrected already.", "Correct the newer one."
        )
    must_be_open(entry.day)
    if minutes:
        _believable(day, minutes)
        must_be_before_delivery(job, day)
    else:
        day = entry.day
    worked_at = operations or entry.worked_operations()
    corrected = TimeEntry.objects.create(
        operation=entry.operation if entry.operation in worked_at else worked_at[0],
        by=user,
        cause=entry.cause if cause is None else cause,
        key=key,
        minutes=minutes,
        replaces=entry,
        why=why,
        **_span(day, minutes),
    )
    also_worked(corrected, worked_at)
    settle_again(job)
    return corrected


def _end(entry: TimeEntry, now: datetime) -> bool:
    """Stop a timer and tell whether it still ran; another device may have been quicker.

    All of it counts on the day on which it was started, or on the first day of an open month.
    """
    entry.ended_at = max(now, entry.started_at)
    entry.minutes = round((entry.ended_at - entry.started_at) / timedelta(minutes=1))
    closed_until = shelf().closed_until
    if closed_until is not None and entry.day <= closed_until:
        entry.day = closed_until + timedelta(days=1)
    facts = {"ended_at": entry.ended_at, "minutes": entry.minutes, "day": entry.day}
    return bool(TimeEntry.objects.filter(pk=entry.pk, ended_at__isnull=True).update(**facts))


def _span(day: date, minutes: int) -> dict[str, datetime | date]:
    """A written entry lies at noon of its day: only its length is known."""
    start_at = timezone.make_aware(datetime.combine(day, time(12)))
    return {"started_at": start_at, "ended_at": start_at + timedelta(minutes=minutes), "day": day}


def _believable(day: date, minutes: int) -> None:
    if not 0 < minutes <= MOST_MINUTES:
        raise refuse("time.minutes", "minutes", f"{minutes} minutes are not a day's work.", "Write 1 to 1440.")
    must_have_come(day, "time.day", "Write the day it was done.")
    must_be_open(day)


def must_be_before_delivery(job: Job, day: date) -> None:
    """Raise Refused for a day after delivery: what a piece took is known when its month is closed."""
    if job.delivered_on is not None and day > job.delivered_on:
        raise refuse(
            "time.after-delivery",
            "day",
            f"The piece was handed over on {day_text(job.delivered_on)}, before that day.",
            "Write a day up to then.",
        )
