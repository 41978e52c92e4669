"""Delivered jobs whose logged time is known, and what a quote of today makes of it."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.contrib.auth.models import User
from django.utils import timezone
from support_bench import delivered_copy

from quotes.desk.figures import work_out
from quotes.seal.snapshot import SNAPSHOT
from studio.models import Job, JobOperation, TimeEntry

SLOW = "SEW1"


def logged(row: JobOperation, user: User, minutes: int, day: date, **said: Any) -> TimeEntry:
    at = timezone.now() - (timezone.localdate() - day)
    facts = {"started_at": at, "ended_at": at + timedelta(minutes=minutes), "minutes": minutes, "key": uuid4()}
    return TimeEntry.objects.create(operation=row, by=user, day=day, **{**facts, **said})


def deliver_again(
    pattern_job: Job, user: User, *, days_ago: int, slow: float, scale: float = 1.0, at: str = SLOW
) -> Job:
    """A delivered job with the operations of another: `slow` times its minutes at the operation `at`, else as estimated.

    Args:
        scale: what its estimate held of the other's at the slow operation.
    """
    job = delivered_copy(pattern_job, days_ago=days_ago)
    assert job.delivered_on is not None
    for like in pattern_job.operations.all():
        estimated = like.estimated_min * (scale if like.code == at else 1)
        row = JobOperation.objects.create(
            job=job, code=like.code, name=like.name, group=like.group, place=like.place,
            planned_min=estimated, estimated_min=estimated,
        )  # fmt: skip
        speed = slow if like.code == at else 1.0
        logged(row, user, max(1, round(like.estimated_min * speed)), job.delivered_on)
    return job


def minutes_of(open_job: Job, code: str) -> float:
    """What a quote of today would plan for an operation."""
    figures = SNAPSHOT.written(work_out(open_job.revision.inputs, open_job.revision.pattern))
    rows = figures["quotation"]["options"][0]["takeoff"]["labour"]["operations"]
    return next(row["minutes"] for row in rows if row["code"] == code)
