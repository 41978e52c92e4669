"""Use cases of jobs: made from an accepted quote in one step, their place in the order of work, their end."""

import logging
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max, Sum
from django.utils import timezone

from inventory.findings import Finding, refuse, warn
from inventory.money import currency_of
from inventory.services.reservations import release
from quotes.construction.document import read_construction
from quotes.measuring import MOST_DAYS
from quotes.models import MeasurementSet, QuoteRevision
from quotes.pattern.document import pattern_from
from quotes.services.keeping import reference_of
from quotes.takeoff.stitching import seam_lines
from studio.models import Job, JobOperation, SeamPass

__all__ = ["Deposit", "cancel_job", "deposit", "job_findings", "make_job", "move_job"]

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
    """Make the job of an accepted quote: its operations with planned minutes, its seams pass by pass.

    Raises:
        Refused: the quote is not accepted, or its job was made already.
    """
    if revision.state != QuoteRevision.State.ACCEPTED:
        raise refuse(
            "job.not-accepted", str(revision), "Only an accepted quote becomes a job.", "Note the answer first."
        )
    if Job.objects.filter(revision=revision).exists():
        raise refuse(
            "job.made-already", str(revision), "The job of this quote is made already.", "Open it on the bench."
        )
    quote = revision.quote
    pattern = pattern_from(revision.figures["pattern"])
    construction = read_construction(revision.figures["constructions"][revision.accepted_option])
    job = Job.objects.create(
        revision=revision,
        reference=reference_of(quote),
        client=quote.client,
        title=quote.title,
        style=pattern.name,
        construction=construction.title,
        due=quote.due,
        position=(Job.objects.aggregate(last=Max("position"))["last"] or 0) + 1,
        started_on=on,
    )
    labour: dict[str, Any] = job.option["takeoff"]["labour"]
    factor = 1 + labour["allowance_share"]
    JobOperation.objects.bulk_create(
        JobOperation(
            job=job,
            code=row["code"],
            name=row["name"],
            group=row["group"],
            place=place,
            planned_min=row["minutes"] * factor,
            estimated_min=row["minutes"],
        )
        for place, row in enumerate(labour["operations"])
    )
    SeamPass.objects.bulk_create(
        SeamPass(job=job, shell=line.shell, half=line.half, seam=line.seam, number=number, stitch_mm=stitch)
        for line in seam_lines(pattern, construction)
        for number, stitch in enumerate(line.stitches_mm, start=1)
    )
    logger.info("Made job=%s", job.reference)
    return job


def job_findings(job: Job, *, on: date) -> list[Finding]:
    """Return what should be settled before the fashion cloth is cut: deposit, measures, toile, material."""
    findings = []
    paid = deposit(job)
    if not paid.is_cleared:
        money = currency_of(job.revision.figures["quotation"]["currency"])
        findings.append(
            warn(
                "job.deposit-open",
                "deposit",
                f"{money.from_minor(paid.due_minor - paid.paid_minor)} {money.code} of the deposit have not come.",
            )
        )
    taken = MeasurementSet.objects.filter(client=job.client).order_by("-taken_on").first()
    if taken is None or (on - taken.taken_on).days > MOST_DAYS:
        when = "were never taken here" if taken is None else f"are of {taken.taken_on:%d %B %Y}"
        findings.append(warn("job.measures-old", "measures", f"The client's measures {when}.", "Measure again."))
    choices = job.option["takeoff"]["choices"]
    if choices["toile"] and job.toile_signed_on is None:
        findings.append(warn("job.toile-open", "toile", "The toile is not signed off.", "Note the fitting first."))
    return findings


def deposit(job: Job) -> Deposit:
    """Return the first part of the price and what was paid so far."""
    money = currency_of(job.revision.figures["quotation"]["currency"])
    paid = job.payments.aggregate(total=Sum("amount_minor"))["total"] or 0
    return Deposit(due_minor=money.to_minor(Decimal(job.option["deposit"][0])), paid_minor=paid)


@transaction.atomic
def move_job(job: Job, *, before: Job | None) -> None:
    """Put a job before another in the order of work, or last."""
    others = [row for row in Job.objects.order_by("position", "id") if row.is_open and row.pk != job.pk]
    at = next((index for index, row in enumerate(others) if before and row.pk == before.pk), len(others))
    others.insert(at, job)
    for position, row in enumerate(others, start=1):
        Job.objects.filter(pk=row.pk).update(position=position)


@transaction.atomic
def cancel_job(job: Job, *, why: str) -> None:
    """End a job that will not be made: what is kept for it is free again, what happened stays written down.

    Raises:
        Refused: it is over already, or no reason is given.
    """
    if not why:
        raise refuse("job.no-reason", "why", "A cancelled job needs a reason.", "Say why it is not made.")
    changed = (
        Job.objects.filter(pk=job.pk)
        .exclude(stage__in=[Stage.DELIVERED, Stage.CANCELLED])
        .update(stage=Stage.CANCELLED, ended_why=why)
    )
    if not changed:
        raise refuse("job.over", str(job), "This job is over already.")
    release(job.reference, why=f"Cancelled: {why}")
    logger.info("Cancelled job=%s on %s", job.reference, timezone.localdate())
