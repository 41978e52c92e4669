"""What of a client’s money is open, for their page at the desk."""

from collections.abc import Iterator
from typing import Any

from django.urls import reverse
from django.utils import timezone

from inventory.ground.wording import minor_text
from quotes.clients.signals import Matter
from quotes.models import Client
from studio.models import Job
from studio.money.bills import OpenJob, open_jobs
from studio.money.wording import since_text

__all__ = ["open_money_of"]


def open_money_of(client: Client, **kwargs: Any) -> list[Matter]:
    """Return what is due, held, paid too much and kept of cancelled work, the oldest first. Answers `client_shown`."""
    return [matter for job in open_jobs(Job.objects.filter(client=client)) for matter in _matters(job)]


def _matters(job: OpenJob) -> Iterator[Matter]:
    since = since_text(job.since, on=timezone.localdate())
    for words, minor in (
        (f"to collect, {since}", job.due_minor),
        ("paid ahead", job.held_minor),
        ("paid too much", job.too_much_minor),
        ("kept of cancelled work", job.kept_of_cancelled_minor),
    ):
        if minor:
            yield Matter(
                what=str(job),
                words=words,
                amount=minor_text(minor, job.currency),
                link=reverse("job-client", args=[job.pk]),
                needs_a_hand=minor == job.due_minor,
            )
