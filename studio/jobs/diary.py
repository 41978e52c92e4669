"""A job's diary: decisions and what was taken back, so that nothing of it is hidden."""

from django.contrib.auth.models import User
from django.utils import timezone

from studio.models import Job, JobNote

__all__ = ["note_down"]

MOST_LETTERS = 400


def note_down(job: Job, words: str, *, by: User | None) -> JobNote:
    """Write a line into a job's diary, as of now; what is longer than a line is cut."""
    return JobNote.objects.create(job=job, at=timezone.now(), by=by, words=words[:MOST_LETTERS])
