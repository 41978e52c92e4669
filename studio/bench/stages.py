"""Use cases of stages: a job goes forward through the trade's own; cutting the cloth is the point of no return."""

import logging
from dataclasses import replace
from datetime import date

from django.contrib.auth.models import User
from django.db import transaction

from inventory.ground.findings import Finding, Refused, Severity, refuse
from studio.bench.job_making import job_findings
from studio.jobs.acts import note_down
from studio.models import Job

__all__ = ["advance", "can_be_excused", "next_stage"]

logger = logging.getLogger(__name__)

Stage = Job.Stage
ORDER = (
    Stage.ACCEPTED,
    Stage.DRAFTING,
    Stage.TOILE,
    Stage.CUTTING,
    Stage.SEWING,
    Stage.BONING,
    Stage.FINISHING,
)
_EXCUSED = ("job.deposit-open", "job.measures-old")


def next_stage(job: Job) -> Job.Stage | None:
    """Return the stage that comes after a job's own; None where delivery comes next or the job is over."""
    if not job.is_open or job.stage == Stage.FINISHING:
        return None
    following = ORDER[ORDER.index(Stage(job.stage)) + 1]
    if following is Stage.TOILE and not job.option.takeoff.choices.toile:
        return Stage.CUTTING
    return following


def can_be_excused(findings: list[Finding]) -> bool:
    """Whether the cloth may be cut all the same, for a reason: it is the maker's own risk, no fault in cloth or fit."""
    return all(finding.code in _EXCUSED for finding in findings)


@transaction.atomic
def advance(job: Job, *, to: str, user: User | None, on: date, because: str = "") -> None:
    """Take a job to its next stage. A job that stands there already stays as it is.

    Args:
        because: why the cloth is cut all the same although the deposit is open or the measures are old.

    Raises:
        Refused: another stage comes next, or the cloth cannot be cut yet, with every reason.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("revision").get(pk=job.pk)
    if job.stage == to:
        return
    following = next_stage(job)
    if following != to:
        comes = f"{following.label} comes next." if following else "Delivery comes next."
        here = job.get_stage_display().lower()
        raise refuse("job.stage-order", str(job), f"This job stands at {here}. {comes if job.is_open else ''}".strip())
    if to == Stage.CUTTING:
        _must_be_cut(job, user=user, on=on, because=because)
    Job.objects.filter(pk=job.pk).update(stage=to)
    note_down(job, f"{Stage(to).label} begun.", by=user)
    logger.info("Advanced job=%s stage=%s", job.reference, to)


def _must_be_cut(job: Job, *, user: User | None, on: date, because: str) -> None:
    findings = job_findings(job, on=on)
    if not findings:
        return
    if not because or not can_be_excused(findings):
        raise Refused(replace(finding, severity=Severity.STOP) for finding in findings)
    lacking = " ".join(finding.message for finding in findings)
    note_down(job, f"Cut all the same, because {because.rstrip('.')}. What lacked: {lacking}", by=user)
