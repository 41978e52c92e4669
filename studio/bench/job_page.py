"""A job at the bench: what comes next, its operations with their time, its seams pass by pass, its diary."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import itemgetter
from uuid import UUID, uuid4

from django.contrib.auth.models import User
from django.urls import reverse

from inventory.ground.findings import Finding
from inventory.ground.wording import minutes_text, named_text
from studio.bench.bench_page import RunningRow, running_row
from studio.bench.job_making import job_findings
from studio.bench.seams import columns_of, passes_by_shell
from studio.bench.stages import ORDER, next_stage
from studio.bench.ticking import SEWING, forgotten_work
from studio.jobs.sittings import Worked, worked
from studio.jobs.wording import moment_text
from studio.models import Job, JobNote, JobOperation, SeamPass, TimeEntry

__all__ = [
    "JobPage",
    "NextStep",
    "OperationGroup",
    "OperationRow",
    "SeamRow",
    "ShellRow",
    "TimePage",
    "TimeRow",
    "before_cutting",
    "job_page",
    "time_page",
]

Stage = Job.Stage
MOST_NAMED = 6
_TO_CUTTING = ORDER[: ORDER.index(Stage.CUTTING)]
_VERBS = {
    Stage.DRAFTING: "Begin drafting",
    Stage.TOILE: "Begin the toile",
    Stage.CUTTING: "Cut the cloth",
    Stage.SEWING: "Begin sewing",
    Stage.BONING: "Begin boning",
    Stage.FINISHING: "Begin finishing",
}
_GROUPS = {"client": "With the client", "pattern": "Pattern", "fitting": "Toile and fittings", "making": "Making"}


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """The one button of a job: `to` is a stage, empty where delivery comes next; cutting `asks` first."""

    to: str
    verb: str
    asks: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow:
    """An operation with its time; `key` makes a double click on its start count once.

    `is_running` where the reader's timer runs at it, `can_join` where it runs at others of the job only.
    """

    pk: int
    name: str
    group: str
    planned: str
    worked: str
    again: str
    is_over: bool
    is_running: bool
    can_join: bool
    is_next: bool
    is_sewing: bool
    done: str
    key: UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationGroup:
    """Operations of one kind that follow each other, those that are done apart."""

    words: str
    done: list[OperationRow]
    rows: list[OperationRow]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamRow:
    """One seam line: a cell per half and pass, `None` where it is not sewn; a pass `waits` for the one before it."""

    seam: int
    cells: list[tuple[SeamPass, bool] | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShellRow:
    """A shell with its seams. `passes` are those that can be ticked at once."""

    title: str
    heads: list[str]
    rows: list[SeamRow]
    passes: list[tuple[int, str]]
    done: list[SeamPass]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPage:
    """All of it. `several` are the operations that one timer can be started over, with `key`; none where one is left."""

    running: RunningRow | None
    next_step: NextStep | None
    forgotten: list[Finding]
    waits: list[tuple[Finding, str]]
    groups: list[OperationGroup]
    several: list[OperationRow]
    key: UUID
    shells: list[ShellRow]
    planned: str
    worked: str
    again: str
    notes: list[tuple[JobNote, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeRow:
    """An entry that stands, with what it took the place of. `sitting` says of what it is a part, empty for a whole."""

    entry: TimeEntry
    length: str
    sitting: str
    earlier: list[tuple[TimeEntry, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimePage:
    """An operation's time."""

    running: RunningRow | None
    operation: OperationRow
    entries: list[TimeRow]


def job_page(job: Job, *, user: User, on: date) -> JobPage:
    """Return a job's page on a day, for one person."""
    operations = list(job.operations.select_related("done_by"))
    parts = worked(TimeEntry.objects.standing().filter(operation__job=job))
    rows = _operation_rows(operations, parts, user)
    undone = [row for row in rows if not row.done]
    again = sum(part.minutes for part in parts if part.cause)
    return JobPage(
        running=running_row(user),
        next_step=_next_step(job),
        forgotten=forgotten_work(job) if job.is_open else [],
        waits=before_cutting(job, job_findings(job, on=on)) if job.stage in _TO_CUTTING else [],
        groups=[
            _operation_group(group, list(together)) for group, together in groupby(rows, key=lambda row: row.group)
        ],
        several=undone if job.is_open and len(undone) > 1 else [],
        key=uuid4(),
        shells=[_shell(title, passes) for title, passes in passes_by_shell(job).items()],
        planned=minutes_text(sum(operation.planned_min for operation in operations)),
        worked=minutes_text(sum(part.minutes for part in parts if not part.cause)),
        again=minutes_text(again) if again else "",
        notes=[(note, moment_text(note.at)) for note in job.notes.select_related("by")],
    )


def before_cutting(job: Job, findings: Sequence[Finding]) -> list[tuple[Finding, str]]:
    """Return what holds the cutting up, each with the page on which it is settled."""
    ways = {
        "job.deposit-open": reverse("payment-new", args=[job.pk]),
        "job.measures-old": reverse("quotes:client-measure", args=[job.client_id]),
        "job.toile-open": reverse("job-client", args=[job.pk]),
    }
    return [(finding, ways.get(finding.code, reverse("job-materials", args=[job.pk]))) for finding in findings]


def time_page(operation: JobOperation, *, user: User) -> TimePage:
    """Return an operation's time with its corrections; of a sitting with others, its share."""
    of_job = TimeEntry.objects.filter(operation__job=operation.job_id)
    entries = list(of_job.with_operations().select_related("by"))
    by_pk = {entry.pk: entry for entry in entries}
    parts = [part for part in worked(of_job.standing()) if part.operation == operation.pk]
    shares = {part.entry: part.minutes for part in parts}
    here = [entry for entry in entries if entry.pk in shares]
    (operation_row,) = _operation_rows([operation], parts, user)
    return TimePage(
        running=running_row(user),
        operation=operation_row,
        entries=[_time_row(entry, shares[entry.pk], operation, by_pk) for entry in reversed(here)],
    )


def _time_row(entry: TimeEntry, share: int, operation: JobOperation, by_pk: dict[int, TimeEntry]) -> TimeRow:
    others = [other.name for other in entry.worked_operations() if other.pk != operation.pk]
    is_whole = not others or entry.minutes == 0
    return TimeRow(
        entry=entry,
        length=_length(entry) if is_whole else minutes_text(share),
        sitting="" if is_whole else f"of a sitting of {_length(entry)} with {named_text(others, most=MOST_NAMED)}",
        earlier=_earlier(entry, by_pk),
    )


def _earlier(entry: TimeEntry, by_pk: dict[int, TimeEntry]) -> list[tuple[TimeEntry, str]]:
    """What an entry took the place of, newest first."""
    earlier = []
    before = entry.replaces_id
    while before is not None:
        replaced = by_pk[before]
        earlier.append((replaced, _length(replaced)))
        before = replaced.replaces_id
    return earlier


def _next_step(job: Job) -> NextStep | None:
    if not job.is_open:
        return None
    following = next_stage(job)
    if following is None:
        return NextStep(to="", verb="Deliver", asks=True)
    return NextStep(to=following, verb=_VERBS[following], asks=following is Stage.CUTTING)


def _operation_rows(operations: Sequence[JobOperation], parts: Sequence[Worked], user: User) -> list[OperationRow]:
    """Rows in their order; `parts` are those of the entries that stand."""
    planned: dict[int, int] = defaultdict(int)
    again: dict[int, int] = defaultdict(int)
    runs = set()
    for part in parts:
        (again if part.cause else planned)[part.operation] += part.minutes
        if part.is_running and part.by == user.pk:
            runs.add(part.operation)
    following = next((operation.pk for operation in operations if operation.done_at is None), None)
    return [
        OperationRow(
            pk=operation.pk,
            name=operation.name,
            group=operation.group,
            planned=minutes_text(operation.planned_min),
            worked=minutes_text(planned[operation.pk]) if operation.pk in planned else "",
            again=minutes_text(again[operation.pk]) if again.get(operation.pk) else "",
            is_over=operation.is_overrun_by(planned[operation.pk]),
            is_running=operation.pk in runs,
            can_join=bool(runs) and operation.pk not in runs,
            is_next=operation.pk == following,
            is_sewing=operation.role in SEWING,
            done=f"{moment_text(operation.done_at)}, {operation.done_by}" if operation.done_at else "",
            key=uuid4(),
        )
        for operation in operations
    ]


def _operation_group(group: str, rows: Sequence[OperationRow]) -> OperationGroup:
    return OperationGroup(
        words=_GROUPS.get(group, group),
        done=[row for row in rows if row.done],
        rows=[row for row in rows if not row.done],
    )


def _shell(title: str, passes: Sequence[SeamPass]) -> ShellRow:
    cells = {(seam_pass.half, seam_pass.seam, seam_pass.number): seam_pass for seam_pass in passes}
    columns = columns_of(passes)
    stitches = {seam_pass.number: seam_pass.stitch_mm for seam_pass in passes}
    seams = sorted({seam_pass.seam for seam_pass in passes})

    def cell(half: str, seam: int, number: int) -> tuple[SeamPass, bool] | None:
        seam_pass = cells.get((half, seam, number))
        if seam_pass is None:
            return None
        before = cells.get((half, seam, number - 1))
        return seam_pass, before is not None and before.done_at is None

    done = [(seam_pass.done_at, seam_pass) for seam_pass in passes if seam_pass.done_at is not None]
    return ShellRow(
        title=title,
        heads=[f"{half} {number}" for half, number in columns],
        rows=[SeamRow(seam=seam, cells=[cell(half, seam, number) for half, number in columns]) for seam in seams],
        passes=[
            (number, f"Pass {number}, {stitch:g} mm" if stitch else f"Pass {number}")
            for number, stitch in sorted(stitches.items())
            if any(seam_pass.number == number and seam_pass.done_at is None for seam_pass in passes)
        ],
        done=[seam_pass for _, seam_pass in sorted(done, key=itemgetter(0), reverse=True)],
        words=f"{len(done)} of {len(passes)} passes",
    )


def _length(entry: TimeEntry) -> str:
    if entry.minutes == 0 and entry.replaces_id:
        return "struck out"
    return minutes_text(entry.so_far_min)
