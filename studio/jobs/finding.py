"""What views of the bench begin with: the job, who asks, an answer to a refusal."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from inventory.ground.findings import Refused
from inventory.ground.site.maker import maker
from studio.models import Job, JobOperation

__all__ = ["did", "get_job", "get_operation", "maker"]


def get_job(pk: int) -> Job:
    """The job with its sealed figures, or 404."""
    return get_object_or_404(Job.objects.select_related("client", "revision__quote"), pk=pk)


def get_operation(job: int, pk: int) -> JobOperation:
    """An operation of a job, or 404."""
    return get_object_or_404(JobOperation.objects.select_related("job"), pk=pk, job=job)


def did(request: HttpRequest, act: Callable[[], object]) -> bool:
    """Do what a single button asks for; a refusal is said on the page that comes next."""
    try:
        act()
    except Refused as refusal:
        for finding in refusal.findings:
            messages.error(request, f"{finding.message} {finding.hint}".strip())
        return False
    return True
