"""The bench: the timer that runs, jobs in the order of work with what each waits for, quotes that could begin."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User

from inventory.ground.findings import Finding, Severity
from inventory.ground.wording import minutes_text, named_text
from inventory.reserving.availability import Lack, lacks_of_work
from inventory.reserving.page import lack_text
from quotes.models import QuoteRevision
from studio.bench.job_making import findings_of
from studio.bench.stages import ORDER
from studio.bench.ticking import forgotten_work_of
from studio.bench.timing import is_long, running
from studio.jobs.wording import moment_text
from studio.models import Job

__all__ = ["BenchPage", "BenchRow", "RunningRow", "bench_page", "could_begin", "running_row"]

_TO_CUTTING = ORDER[: ORDER.index(Job.Stage.CUTTING)]
MOST_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningRow:
    """The timer that somebody runs: `what` it was begun at, `others` in the same sitting. `is_long` where it may have been
    forgotten.
    """

    entry: int
    operation: int
    job: int
    what: str
    others: str
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
    open_jobs = Job.objects.open().select_related("client", "revision").defer("revision__inputs")
    jobs = list(open_jobs.prefetch_related("operations"))
    before_cutting = findings_of([job for job in jobs if job.stage in _TO_CUTTING], on=on)
    short = lacks_of_work([job.reference for job in jobs], on=on)
    forgotten = forgotten_work_of(jobs)
    return BenchPage(
        running=running_row(user),
        rows=[
            _bench_row(
                job,
                findings=before_cutting.get(job.pk, []),
                short=short.get(job.reference, []),
                forgotten=forgotten[job.pk],
                on=on,
            )
            for job in jobs
        ],
        could_begin=could_begin(),
    )


def could_begin() -> list[QuoteRevision]:
    """Return accepted quotes without a job, the first answer first."""
    accepted = QuoteRevision.objects.filter(state=QuoteRevision.State.ACCEPTED, job=None).select_related(
        "quote__client"
    )
    return list(accepted.defer("figures", "inputs").order_by("decided_at"))


def running_row(user: User) -> RunningRow | None:
    """Return the timer that a person runs, on whichever device it was started."""
    entry = running(user)
    if entry is None:
        return None
    minutes = entry.so_far_min
    others = [other.name for other in entry.worked_operations() if other.pk != entry.operation_id]
    return RunningRow(
        entry=entry.pk,
        operation=entry.operation_id,
        job=entry.operation.job_id,
        what=entry.operation.name,
        others=named_text(others, most=MOST_NAMED),
        of=str(entry.operation.job),
        since=moment_text(entry.started_at),
        lasted=minutes_text(minutes),
        is_again=bool(entry.cause),
        is_long=is_long(minutes),
    )


def _bench_row(
    job: Job, *, findings: Sequence[Finding], short: Sequence[Lack], forgotten: Sequence[Finding], on: date
) -> BenchRow:
    undone = [operation for operation in job.operations.all() if operation.done_at is None]
    waits = list(dict.fromkeys(finding.where for finding in findings))
    missing = list(dict.fromkeys(lack_text(lack) for lack in short))
    if missing:
        waits.append(f"material: {named_text(missing, most=MOST_NAMED)}")
    return BenchRow(
        job=job,
        next_operation=undone[0].name if undone else "",
        left=minutes_text(sum(operation.planned_min for operation in undone)) if undone else "",
        alarms=[finding.message for finding in forgotten if finding.severity is Severity.STOP],
        waits=waits,
        is_late=any(day is not None and day < on for day in (job.due, job.promised)),
    )
