"""Use cases of ticks: seams pass by pass, operations by the rules of the trade; what is taken back stays written."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from inventory.ground.findings import Finding, refuse, stop, warn
from inventory.ground.wording import day_text
from quotes.labour.operations import OperationRole
from studio.bench.stages import ORDER
from studio.bench.timing import running
from studio.bench.timing import stop as stop_timer
from studio.jobs.acts import note_down, open_job
from studio.jobs.sittings import worked
from studio.models import Job, JobOperation, SeamPass, TimeEntry

__all__ = [
    "SEWING",
    "forgotten_work",
    "forgotten_work_of",
    "seam_words",
    "tick_operation",
    "tick_pass",
    "tick_shell",
    "untick_operation",
    "untick_pass",
]

Role = OperationRole
SEWING = {Role.FIRST_PASS: "First pass", Role.LATER_PASSES: "Second pass"}
"""Operations that are done seam by seam, and what they are called there."""


@transaction.atomic
def tick_pass(seam_pass: SeamPass, *, user: User) -> None:
    """Note a pass as sewn; once is enough.

    Raises:
        Refused: the pass before it is not sewn, or the job is over.
    """
    job = open_job(seam_pass.job_id)
    before = SeamPass.objects.filter(
        job=job,
        shell=seam_pass.shell,
        half=seam_pass.half,
        seam=seam_pass.seam,
        number__lt=seam_pass.number,
        done_at__isnull=True,
    ).first()
    if before is not None:
        raise refuse(
            "seam.pass-order",
            seam_words([seam_pass]),
            f"Pass {before.number} comes before pass {seam_pass.number}, and it is not ticked.",
            f"Sew pass {before.number} first.",
        )
    _tick([seam_pass.pk], user)


@transaction.atomic
def tick_shell(job: Job, *, shell: str, number: int, user: User) -> None:
    """Note one pass of all seams of a shell as sewn.

    Raises:
        Refused: the pass before it lacks on one of them, the job is over, or there is no such shell.
    """
    job = open_job(job.pk)
    passes = list(SeamPass.objects.filter(job=job, shell=shell, number__lte=number))
    if not passes:
        raise refuse("seam.no-such-shell", shell, f"This job has no shell “{shell}”.")
    lacking = [seam_pass for seam_pass in passes if seam_pass.number < number and seam_pass.done_at is None]
    if lacking:
        raise refuse(
            "seam.pass-order",
            shell,
            f"Pass {number} comes after pass {number - 1}, which is not ticked on {seam_words(lacking)}.",
            f"Sew pass {number - 1} there first.",
        )
    _tick([seam_pass.pk for seam_pass in passes if seam_pass.number == number], user)


@transaction.atomic
def untick_pass(seam_pass: SeamPass, *, user: User) -> None:
    """Take a pass back; an operation that was ticked off with it is open again, and the diary says so.

    Raises:
        Refused: a later pass lies over it, or the job is over.
    """
    job = open_job(seam_pass.job_id)
    ticked = SeamPass.objects.select_related("done_by").get(pk=seam_pass.pk)
    if ticked.done_at is None:
        return
    later = SeamPass.objects.filter(
        job=job, shell=ticked.shell, half=ticked.half, seam=ticked.seam, number__gt=ticked.number, done_at__isnull=False
    )
    if later.exists():
        raise refuse(
            "seam.pass-over-it",
            seam_words([ticked]),
            f"A later pass lies over pass {ticked.number}.",
            "Take the later one back first.",
        )
    SeamPass.objects.filter(pk=ticked.pk).update(done_at=None, done_by=None)
    note_down(job, f"Tick taken back: {ticked}, {_ticked_words(ticked)}.", by=user)
    role = Role.FIRST_PASS if ticked.number == 1 else Role.LATER_PASSES
    for operation in job.operations.filter(role=role, done_at__isnull=False):
        _open_again(job, operation, user)


@transaction.atomic
def tick_operation(operation: JobOperation, *, user: User) -> None:
    """Note an operation as done; once is enough. A timer that runs at it is stopped, unless others of its sitting are open.

    Raises:
        Refused: cloth before its stage, a channel before the waist tape, sewing with passes open, a job that is over.
    """
    job = open_job(operation.job_id)
    if operation.role == Role.CUTTING and ORDER.index(Job.Stage(job.stage)) < ORDER.index(Job.Stage.CUTTING):
        raise refuse(
            "operation.not-cutting",
            operation.name,
            "The fashion cloth is cut once the job stands at cutting.",
            "Take the job there first.",
        )
    if operation.role == Role.CHANNELS and job.operations.filter(role=Role.WAIST_TAPE, done_at__isnull=True).exists():
        raise refuse(
            "operation.tape-first",
            operation.name,
            "The waist tape goes in before any channel that crosses it, and it is not ticked.",
            "Sew the waist tape first.",
        )
    if operation.role in SEWING:
        lacking = list(_passes_of(job, operation.role).filter(done_at__isnull=True))
        if lacking:
            raise refuse(
                "operation.passes-open",
                operation.name,
                f"{SEWING[Role(operation.role)]} is not ticked on {seam_words(lacking)}.",
                "Tick the seams that are sewn.",
            )
    JobOperation.objects.filter(pk=operation.pk, done_at__isnull=True).update(done_at=timezone.now(), done_by=user)
    timer = running(user)
    if timer is None:
        return
    sitting = timer.worked_operations()
    if operation in sitting and all(worked_at.done_at is not None for worked_at in sitting):
        stop_timer(user=user, only=timer.pk)


@transaction.atomic
def untick_operation(operation: JobOperation, *, user: User) -> None:
    """Open an operation again; the diary keeps that it was done.

    Raises:
        Refused: a channel stands on the waist tape, or the job is over.
    """
    job = open_job(operation.job_id)
    ticked = JobOperation.objects.select_related("done_by").get(pk=operation.pk)
    if ticked.done_at is None:
        return
    if ticked.role == Role.WAIST_TAPE and job.operations.filter(role=Role.CHANNELS, done_at__isnull=False).exists():
        raise refuse(
            "operation.channels-over-it",
            ticked.name,
            "Channels cross the waist tape.",
            "Open the channels again first.",
        )
    _open_again(job, ticked, user)


def forgotten_work(job: Job) -> list[Finding]:
    """Return what was forgotten at a job before work that has begun; see `forgotten_work_of`."""
    return forgotten_work_of([job])[job.pk]


def forgotten_work_of(jobs: Sequence[Job]) -> dict[int, list[Finding]]:
    """Return what was forgotten before work that has begun, by job: a second pass, a shell without ticks, the waist tape.

    In two queries where the operations of the jobs are there already.
    """
    stands = TimeEntry.objects.standing().filter(operation__job__in=jobs)
    timed = stands.exclude(minutes=0, replaces__isnull=False)  # without those that were struck out
    at_work = {part.operation for part in worked(timed)}
    begun: dict[int, list[JobOperation]] = {
        job.pk: [
            operation for operation in job.operations.all() if operation.done_at is not None or operation.pk in at_work
        ]
        for job in jobs
    }
    over_seams = {job.pk: _over_seams(job, begun[job.pk]) for job in jobs}
    passes: dict[int, list[SeamPass]] = defaultdict(list)
    for seam_pass in SeamPass.objects.filter(job__in=[pk for pk, later in over_seams.items() if later]):
        passes[seam_pass.job_id].append(seam_pass)
    return {
        job.pk: [*_forgotten_passes(passes[job.pk], over_seams[job.pk]), *_forgotten_tape(job, begun[job.pk])]
        for job in jobs
    }


def seam_words(passes: Iterable[SeamPass]) -> str:
    """Name seams as the bench does: `outer shell left 1–5, right 2`; each seam once, however many passes it lacks."""
    seams: dict[str, dict[str, set[int]]] = {}
    for seam_pass in passes:
        seams.setdefault(seam_pass.shell, {}).setdefault(seam_pass.half, set()).add(seam_pass.seam)
    return ", ".join(
        f"{shell} {', '.join(f'{half} {_ranges(sorted(numbers))}' for half, numbers in halves.items())}"
        for shell, halves in seams.items()
    )


def _ranges(numbers: list[int]) -> str:
    """Rising numbers with runs of three and more drawn together: 1–3, 5."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def _over_seams(job: Job, begun: Sequence[JobOperation]) -> str:
    """The first making operation after the seams that has begun; empty for none."""
    sewn_at = max((operation.place for operation in job.operations.all() if operation.role in SEWING), default=None)
    if sewn_at is None:
        return ""
    return next(
        (operation.name for operation in begun if operation.place > sewn_at and operation.group == "making"), ""
    )


def _forgotten_tape(job: Job, begun: Sequence[JobOperation]) -> list[Finding]:
    tape = next((operation for operation in job.operations.all() if operation.role == Role.WAIST_TAPE), None)
    channel = next((operation for operation in begun if operation.role == Role.CHANNELS), None)
    if tape is None or tape.done_at is not None or channel is None:
        return []
    return [
        stop(
            "slip.tape",
            "waist tape",
            f"“{channel.name}” has begun and the waist tape is not ticked.",
            "It goes in before any channel that crosses it.",
        )
    ]


def _forgotten_passes(passes: list[SeamPass], later: str) -> list[Finding]:
    """Seams that had their first pass and not their last; then shells of which nothing is ticked."""
    sewn = {(seam_pass.shell, seam_pass.half, seam_pass.seam) for seam_pass in passes if seam_pass.done_at is not None}
    open_passes = [seam_pass for seam_pass in passes if seam_pass.done_at is None]
    forgotten = [seam_pass for seam_pass in open_passes if (seam_pass.shell, seam_pass.half, seam_pass.seam) in sewn]
    untouched = [
        seam_pass for seam_pass in open_passes if (seam_pass.shell, seam_pass.half, seam_pass.seam) not in sewn
    ]
    findings = []
    if forgotten:
        findings.append(
            stop(
                "slip.second-pass",
                "second pass",
                f"“{later}” has begun and the second pass is not ticked on {seam_words(forgotten)}.",
                "Sew it now, while the seam can still be reached.",
            )
        )
    if untouched:
        findings.append(
            warn(
                "slip.unticked",
                "seams",
                f"“{later}” has begun and no pass is ticked on {seam_words(untouched)}.",
                "Tick what is sewn.",
            )
        )
    return findings


def _passes_of(job: Job, role: str) -> QuerySet[SeamPass]:
    """Those that an operation of sewing is done by: its own order, as minutes and thread are counted."""
    passes = SeamPass.objects.filter(job=job)
    return passes.filter(number=1) if role == Role.FIRST_PASS else passes.filter(number__gt=1)


def _tick(passes: list[int], user: User) -> None:
    SeamPass.objects.filter(pk__in=passes, done_at__isnull=True).update(done_at=timezone.now(), done_by=user)


def _open_again(job: Job, operation: JobOperation, user: User) -> None:
    JobOperation.objects.filter(pk=operation.pk).update(done_at=None, done_by=None)
    note_down(job, f"Open again: {operation.name}, {_ticked_words(operation)}.", by=user)


def _ticked_words(ticked: SeamPass | JobOperation) -> str:
    """When and by whom it was ticked."""
    assert ticked.done_at is not None
    at = timezone.localtime(ticked.done_at)
    return f"ticked by {ticked.done_by} on {day_text(at.date())} at {at:%H:%M}"
