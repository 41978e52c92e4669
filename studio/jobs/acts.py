"""What every act at a job begins and ends with: the job under its lock while it is worked on, and a line in its diary."""

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.ground.findings import refuse
from studio.models import Job, JobNote

__all__ = ["note_down", "open_job"]

MOST_LETTERS = 400


def open_job(pk: int, *, hint: str = "") -> Job:
    """Return the job locked, so that of two acts at once the second finds what the first has done.

    Raises:
        Refused: it is over; `hint` says what to do instead.
    """
    job = Job.objects.select_for_update().get(pk=pk)
    if not job.is_open:
        raise refuse("job.over", str(job), "This job is over already.", hint)
    return job


def note_down(job: Job, words: str, *, by: User | None) -> JobNote:
    """Write a line into a job's diary, as of now; what is longer than a line is cut."""
    return JobNote.objects.create(job=job, at=timezone.now(), by=by, words=words[:MOST_LETTERS])
