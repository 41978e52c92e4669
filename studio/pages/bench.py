"""The bench: the timer that runs, jobs in the order of work with what each waits for, quotes that could begin."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.findings import Finding, Severity
from inventory.models import Reservation
from inventory.pages.reservation import reservation_page
from inventory.wording import minutes_text
from quotes.models import QuoteRevision
from studio.models import Job, TimeEntry
from studio.pages.wording import moment_text
from studio.services.jobs import job_findings
from studio.services.stages import ORDER
from studio.services.ticking import slips
from studio.services.timing import running

__all__ = ["BenchPage", "BenchRow", "RunningRow", "bench_page", "missing_materials", "running_row"]

LONG_MINUTES = 8 * 60
_TO_CUTTING = ORDER[: ORDER.index(Job.Stage.CUTTING)]
MOST_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningRow:
    """The timer that somebody runs. `is_long` where it may have been forgotten."""

    entry: int
    operation: int
    job: int
    what: str
    of: str
    since: str
    lasted: str
    is_again: bool
    is_long: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRow:
    """A job in the order of work; `alarms` are said aloud, `waits` are what it waits for."""

    job: Job
    next_operation: str
    left: str
    alarms: list[str]
    waits: list[str]
    is_late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchPage:
    """All of it."""

    running: RunningRow | None
    rows: list[BenchRow]
    could_begin: list[QuoteRevision]


def bench_page(*, user: User, on: date) -> BenchPage:
    """Return the bench as it stands on a day, for one person."""
    jobs = Job.objects.open().select_related("client", "revision").prefetch_related("operations")
    could_begin = QuoteRevision.objects.filter(state=QuoteRevision.State.ACCEPTED, job=None).select_related(
        "quote__client"
    )
    return BenchPage(
        running=running_row(user),
        rows=[_row(job, on) for job in jobs],
        could_begin=list(could_begin.defer("figures", "inputs").order_by("decided_at")),
    )


def running_row(user: User) -> RunningRow | None:
    """Return the timer that a person runs, on whichever device it was started."""
    entry = running(user)
    if entry is None:
        return None
    minutes = _lasted(entry)
    return RunningRow(
        entry=entry.pk,
        operation=entry.operation_id,
        job=entry.operation.job_id,
        what=entry.operation.name,
        of=str(entry.operation.job),
        since=moment_text(entry.started_at),
        lasted=minutes_text(minutes),
        is_again=bool(entry.cause),
        is_long=minutes >= LONG_MINUTES,
    )


def missing_materials(job: Job, *, on: date) -> list[str]:
    """Return what a job would lack on the day it needs its materials, each once."""
    row = Reservation.objects.filter(reference=job.reference, state=Reservation.State.OPEN).first()
    if row is None:
        return []
    missing = reservation_page(row, start=max(on, row.needed_by), on=on).missing
    return list(dict.fromkeys(found.what for found in missing))


def _row(job: Job, on: date) -> BenchRow:
    undone = [row for row in job.operations.all() if row.done_at is None]
    missing = missing_materials(job, on=on)
    named = ", ".join(missing[:MOST_NAMED]) + (f" and {len(missing) - MOST_NAMED} more" * (len(missing) > MOST_NAMED))
    waits = _places(job_findings(job, on=on)) if job.stage in _TO_CUTTING else []
    return BenchRow(
        job=job,
        next_operation=undone[0].name if undone else "",
        left=minutes_text(sum(row.planned_min for row in undone)) if undone else "",
        alarms=[found.message for found in slips(job) if found.severity is Severity.STOP],
        waits=[*waits, *([f"material: {named}"] if missing else [])],
        is_late=any(day is not None and day < on for day in (job.due, job.promised)),
    )


def _places(findings: Sequence[Finding]) -> list[str]:
    return list(dict.fromkeys(found.where for found in findings))


def _lasted(entry: TimeEntry) -> float:
    return (timezone.now() - entry.started_at).total_seconds() / 60
