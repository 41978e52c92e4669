"""Use cases of jobs: made from an accepted quote in one step, their days, their place in the order of work, their end."""

import logging
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.ground.findings import Finding, refuse, warn
from inventory.ground.materials import MaterialKind
from inventory.ground.measures import quantity_text
from inventory.ground.wording import day_text, minor_text
from inventory.models import Reservation, ReservationLine
from inventory.reserving.reservations import end
from quotes.clients.measuring import MOST_DAYS
from quotes.construction.construction_json import read_construction
from quotes.models import MeasurementSet, QuoteRevision
from quotes.needs.reserving import keep_firmly, reference_of
from quotes.pattern.pattern_json import pattern_from
from quotes.takeoff.stitching import seam_lines
from quotes.workroom.settings import workroom
from studio.bench.timing import end_all
from studio.calendar.promised_days import keep_promised_day
from studio.jobs.acts import note_down, open_job
from studio.models import Job, JobOperation, SeamPass
from studio.money.bills import standing, standings

__all__ = [
    "Deposit",
    "cancel_job",
    "deposit",
    "findings_of",
    "job_findings",
    "make_job",
    "move_job",
    "move_job_by",
    "set_dates",
]

logger = logging.getLogger(__name__)

Stage = Job.Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Deposit:
    """What is due before work starts, and what came, in minor units."""

    due_minor: int
    paid_minor: int

    @property
    def is_cleared(self) -> bool:
        """Whether all of it came."""
        return self.paid_minor >= self.due_minor


@transaction.atomic
def make_job(revision: QuoteRevision, *, user: User | None, on: date) -> Job:
    """Make the job of an accepted quote: operations with planned minutes, seams pass by pass, materials and days kept.

    Raises:
        Refused: the quote is not accepted, or its job was made already.
    """
    # Locked, so that of two clicks at once the second finds the job of the first.
    revision = QuoteRevision.objects.select_for_update().get(pk=revision.pk)
    if revision.state != QuoteRevision.State.ACCEPTED:
        raise refuse(
            "job.not-accepted", str(revision), "Only an accepted quote becomes a job.", "Note the answer first."
        )
    if Job.objects.filter(revision=revision).exists():
        raise refuse(
            "job.made-already", str(revision), "The job of this quote is made already.", "Open it on the bench."
        )
    quote = revision.quote
    pattern = pattern_from(revision.snapshot.pattern)
    construction = read_construction(revision.snapshot.constructions[revision.accepted_option])
    job = Job.objects.create(
        revision=revision,
        reference=reference_of(quote),
        client=quote.client,
        title=quote.title,
        style=pattern.name,
        construction=construction.title,
        due=quote.due,
        promised=revision.promised,
        position=(Job.objects.aggregate(last=Max("position"))["last"] or 0) + 1,
        started_on=on,
    )
    labour = job.option.takeoff.labour
    factor = 1 + labour.allowance_share
    JobOperation.objects.bulk_create(
        JobOperation(
            job=job,
            code=operation.code,
            name=operation.name,
            group=operation.group,
            role=operation.role.value,
            place=place,
            planned_min=operation.minutes * factor,
            estimated_min=operation.minutes,
        )
        for place, operation in enumerate(labour.operations)
    )
    SeamPass.objects.bulk_create(
        SeamPass(job=job, shell=line.shell, half=line.half, seam=line.seam, number=number, stitch_mm=stitch)
        for line in seam_lines(pattern, construction)
        for number, stitch in enumerate(line.stitches_mm, start=1)
    )
    if not Reservation.objects.filter(reference=job.reference).exclude(state=Reservation.State.RELEASED).exists():
        keep_firmly(revision, workroom(), on=on)
    note_down(job, f"Begun from {revision}: {revision.accepted_option}.", by=user)
    keep_promised_day(job, why="accepted", on=on)
    logger.info("Made job=%s", job.reference)
    return job


def job_findings(job: Job, *, on: date) -> list[Finding]:
    """Return what should be settled before a job's fashion cloth is cut; see `findings_of`."""
    return findings_of([job], on=on)[job.pk]


def findings_of(jobs: Sequence[Job], *, on: date) -> dict[int, list[Finding]]:
    """Return what should be settled before the fashion cloth is cut, by job: deposit, measures, toile, the cloth in one lot.

    In three queries, and what the jobs themselves still have to load.
    """
    paid = {pk: stands.kept_minor for pk, stands in standings(job.pk for job in jobs).items()}
    takes = MeasurementSet.objects.filter(client__in={job.client_id for job in jobs})
    measured = dict(takes.values_list("client").annotate(last=Max("taken_on")).order_by())
    lines: dict[str, list[ReservationLine]] = defaultdict(list)
    for line in ReservationLine.objects.filter(
        reservation__reference__in=[job.reference for job in jobs],
        needs_one_lot=True,
        item__material__kind=MaterialKind.CLOTH.value,
    ).select_related("item__material", "lot", "reservation"):
        lines[line.reservation.reference].append(line)
    return {
        job.pk: [
            *_deposit_findings(job, _deposit(job, paid[job.pk])),
            *_measure_findings(measured.get(job.client_id), on),
            *_toile_findings(job),
            *_cloth_findings(lines[job.reference]),
        ]
        for job in jobs
    }


def _deposit_findings(job: Job, paid: Deposit) -> list[Finding]:
    if paid.is_cleared:
        return []
    lacking = minor_text(paid.due_minor - paid.paid_minor, job.currency.code)
    due = minor_text(paid.due_minor, job.currency.code)
    what = f"{lacking} of the deposit of {due}" if paid.paid_minor else f"The deposit of {due}"
    return [warn("job.deposit-open", "deposit", f"{what} has not come.", "Note the payment.")]


def _measure_findings(taken_on: date | None, on: date) -> list[Finding]:
    if taken_on is not None and (on - taken_on).days <= MOST_DAYS:
        return []
    when = (
        "were never taken here" if taken_on is None else f"are of {day_text(taken_on)}, more than {MOST_DAYS} days ago"
    )
    return [warn("job.measures-old", "measures", f"The client's measures {when}.", "Measure again.")]


def _toile_findings(job: Job) -> list[Finding]:
    if not job.option.takeoff.choices.toile or job.toile_signed_on is not None:
        return []
    return [warn("job.toile-open", "toile", "The toile is not signed off.", "Hold the toile fitting and note it.")]


def _cloth_findings(lines: Sequence[ReservationLine]) -> list[Finding]:
    """What shows is cut from one lot, which is kept for it before the shears go in."""
    findings = []
    for line in lines:
        if not line.remaining:
            continue
        wanted = quantity_text(line.remaining, line.item.unit)
        if line.lot is None:
            findings.append(
                warn(
                    "job.cloth-not-kept",
                    "cloth",
                    f"{line.item} is not kept from one lot yet, {wanted} of it.",
                    "Choose the lot under the job's materials.",
                )
            )
        elif line.lot.on_hand < line.remaining:
            there = quantity_text(line.lot.on_hand, line.item.unit)
            findings.append(
                warn(
                    "job.cloth-too-little",
                    "cloth",
                    f"{line.lot} of {line.item} holds {there}, and {wanted} is needed from it.",
                    "Keep it from another lot; two lots are not mixed where it shows.",
                )
            )
    return findings


def deposit(job: Job) -> Deposit:
    """Return the first part of the price and what was paid so far."""
    return _deposit(job, standing(job).kept_minor)


def _deposit(job: Job, paid_minor: int) -> Deposit:
    return Deposit(due_minor=job.currency.to_minor(job.option.deposit[0]), paid_minor=paid_minor)


@transaction.atomic
def set_dates(job: Job, *, due: date | None, promised: date | None, user: User | None) -> None:
    """Keep when the client wants it and what was promised; the days that stood before stay in the diary.

    Raises:
        Refused: the job is over.
    """
    job = open_job(job.pk)
    if (due, promised) == (job.due, job.promised):
        return
    before = " and ".join(
        f"{words} {day_text(day)}" for words, day in (("due", job.due), ("promised for", job.promised)) if day
    )
    Job.objects.filter(pk=job.pk).update(due=due, promised=promised)
    note_down(job, f"Other days were set; before it was {before or 'without a day'}.", by=user)
    keep_promised_day(job, why="changed by the maker", on=timezone.localdate())


@transaction.atomic
def move_job(job: Job, *, before: Job | None) -> None:
    """Put a job before another in the order of work, or last."""
    others = [other for other in _open_jobs() if other.pk != job.pk]
    at = next((index for index, other in enumerate(others) if before and other.pk == before.pk), len(others))
    others.insert(at, job)
    for position, other in enumerate(others, start=1):
        Job.objects.filter(pk=other.pk).update(position=position)


@transaction.atomic
def move_job_by(job: Job, *, places: int) -> None:
    """Move a job so many places later in the order of work, or earlier where it is below zero."""
    open_jobs = _open_jobs()
    at = next((index for index, other in enumerate(open_jobs) if other.pk == job.pk), None)
    if at is None:
        return
    others = [other for other in open_jobs if other.pk != job.pk]
    to = max(0, at + places)
    move_job(job, before=others[to] if to < len(others) else None)


def _open_jobs() -> list[Job]:
    return list(Job.objects.open().order_by("position", "id"))


@transaction.atomic
def cancel_job(job: Job, *, why: str, user: User | None = None) -> None:
    """End a job that will not be made: what is kept for it is free again, what happened stays written down.

    What was issued to it and does not come back is a loss of the month (studio.books.months).

    Raises:
        Refused: it is over already, or no reason is given.
    """
    if not why:
        raise refuse("job.no-reason", "why", "A cancelled job needs a reason.", "Say why it is not made.")
    job = open_job(job.pk)
    today = timezone.localdate()
    Job.objects.filter(pk=job.pk).update(stage=Stage.CANCELLED, cancelled_on=today, ended_why=why)
    end_all(job)
    end(job.reference, why=f"Cancelled: {why}"[:200])
    note_down(job, f"Cancelled: {why}", by=user)
    logger.info("Cancelled job=%s on %s", job.reference, today)
