"""A job that is still worked on, under its lock: what every act at it begins with."""

from inventory.ground.findings import refuse
from studio.models import Job

__all__ = ["open_job"]


def open_job(pk: int, *, hint: str = "") -> Job:
    """Return the job locked, so that of two acts at once the second finds what the first has done.

    Raises:
        Refused: it is over; `hint` says what to do instead.
    """
    job = Job.objects.select_for_update().get(pk=pk)
    if not job.is_open:
        raise refuse("job.over", str(job), "This job is over already.", hint)
    return job
