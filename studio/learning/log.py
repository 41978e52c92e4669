"""The books as a log: delivered jobs with their operations and sittings, for what hours are learnt from."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.ground.wording import day_text
from quotes.labour.hours import Job as LoggedJob
from quotes.labour.hours import Operation, Session, assumptions
from quotes.labour.operations import StandardTimes
from studio.jobs.sittings import Worked, who_worked, worked
from studio.learning.proposals import Dated, taken_values, value_at
from studio.models import Job, JobOperation, LearntChange, TimeEntry
from studio.profit.piece import Unlogged

__all__ = ["TABLE_PACE", "Log", "delivered_log"]

TABLE_PACE = 1.0
"""The pace of the table as it came."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """The latest delivered jobs, in the order of delivery, as many as are learnt from.

    Attributes:
        earlier: how many were delivered before these.
        names: of operations, by code, as pairs.
        keys: of the jobs in the books, by reference, as pairs.
    """

    jobs: tuple[LoggedJob, ...]
    earlier: int
    names: tuple[tuple[str, str], ...]
    keys: tuple[tuple[str, int], ...]

    @property
    def delivered(self) -> int:
        """How many jobs are delivered."""
        return self.earlier + len(self.jobs)


def delivered_log(times: StandardTimes) -> Log:
    """Return the log of the latest delivered jobs, by the table of standard minutes as it stands.

    Entries that were corrected and work that was done again do not count; who corrected an entry did not work it. Minutes
    are the table's without what was learnt by the day the quote went out, so that all jobs are measured by one table. What
    was quoted before the maker set an operation's minutes by hand was quoted by another one: it is an operation of its
    own, which tells nothing of today's and takes part in what the job took.
    """
    every = Job.objects.filter(stage=Job.Stage.DELIVERED)
    latest = list(
        every.select_related("revision")
        .only("reference", "delivered_on", "revision__sent_at")
        .order_by("-delivered_on", "-pk")[: assumptions().jobs_kept]
    )[::-1]
    since = {row.code: datetime.fromisoformat(row.since) for row in times.operations if row.since}
    paces = _paces(since)
    rows: dict[int, list[JobOperation]] = defaultdict(list)
    for row in JobOperation.objects.filter(job__in=latest, estimated_min__gt=0).order_by("job_id", "place"):
        rows[row.job_id].append(row)
    names: dict[str, str] = {}
    code_of: dict[int, str] = {}
    for job in latest:
        sent = job.revision.sent_at
        for row in rows[job.pk]:
            code, name = row.code, row.name
            if code in since and (sent is None or sent < since[code]):
                day = timezone.localdate(since[code])
                code, name = f"{code} before {day.isoformat()}", f"{name}, before {day_text(day)}"
            code_of[row.pk], names[code] = code, name
    sessions = _sessions(latest, rows, code_of)
    jobs = [_logged(job, rows[job.pk], sessions[job.pk], code_of, paces) for job in latest]
    return Log(
        jobs=tuple(jobs),
        earlier=every.count() - len(jobs),
        names=tuple(names.items()),
        keys=tuple((job.reference, job.pk) for job in latest),
    )


def _sessions(
    jobs: Sequence[Job], rows: Mapping[int, Sequence[JobOperation]], code_of: Mapping[int, str]
) -> dict[int, list[Session]]:
    """What stands as planned work, neither running nor struck out, by job; makers are named where several work.

    Args:
        code_of: of each operation that is learnt. What was estimated at nothing is not: it takes no part in a sitting.
    """
    planned = TimeEntry.objects.standing().filter(operation__job__in=jobs, minutes__gt=0, cause=TimeEntry.Cause.PLANNED)
    replaces, worked_by = dict(planned.values_list("pk", "replaces")), who_worked()
    by_entry: dict[int, list[Worked]] = defaultdict(list)
    for part in worked(planned):
        by_entry[part.entry].append(part)
    maker_of = {entry: worked_by(replaces[entry], parts[0].by) for entry, parts in by_entry.items()}
    makers = set(maker_of.values())
    names = dict(User.objects.filter(pk__in=makers).values_list("pk", "username")) if len(makers) > 1 else {}
    job_of = {row.pk: job for job, its_rows in rows.items() for row in its_rows}
    found: dict[int, list[Session]] = defaultdict(list)
    for entry, parts in sorted(by_entry.items(), key=lambda pair: (pair[1][0].day, pair[0])):
        learnt = [part.operation for part in parts if part.operation in code_of]
        if learnt:
            session = Session(
                day=parts[0].day,
                minutes=float(sum(part.minutes for part in parts)),
                operations=tuple(code_of[operation] for operation in learnt),
                maker=names.get(maker_of[entry], ""),
            )
            found[job_of[learnt[0]]].append(session)
    return found


def _logged(
    job: Job,
    rows: Sequence[JobOperation],
    sessions: Sequence[Session],
    code_of: Mapping[int, str],
    paces: Mapping[str, Dated],
) -> LoggedJob:
    assert job.delivered_on is not None
    return LoggedJob(
        name=job.reference,
        begun=min((session.day for session in sessions), default=job.delivered_on),
        delivered=job.delivered_on,
        operations=tuple(
            Operation(
                code=code_of[row.pk],
                estimated_min=row.estimated_min
                / value_at(paces.get(code_of[row.pk], ()), job.revision.sent_at, TABLE_PACE),
                done=_is_done(row),
            )
            for row in rows
        ),
        sessions=tuple(sessions),
    )


def _is_done(row: JobOperation) -> bool:
    """What was said at delivery or since counts before the tick, as in the piece's account."""
    return row.unlogged != Unlogged.UNDONE if row.unlogged else row.done_at is not None


def _paces(since: Mapping[str, datetime]) -> dict[str, Dated]:
    """Paces that were taken, by operation, without those from before its minutes were set by hand."""
    return {
        code: [(at, value) for at, value in dated if code not in since or at >= since[code]]
        for code, dated in taken_values(LearntChange.Kind.MINUTES).items()
    }
