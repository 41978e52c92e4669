"""A job's seam passes as a bench page and the job sheet both lay them out: a table a shell, a column a half and pass."""

from collections import defaultdict
from collections.abc import Sequence

from studio.models import Job, SeamPass

__all__ = ["Column", "columns_of", "passes_by_shell"]

Column = tuple[str, int]


def passes_by_shell(job: Job) -> dict[str, list[SeamPass]]:
    """Return a job's passes by their shell, as they were made: the outer shell before the inner one."""
    shells: dict[str, list[SeamPass]] = defaultdict(list)
    for seam_pass in job.seam_passes.select_related("done_by").order_by("pk"):
        shells[seam_pass.shell].append(seam_pass)
    return shells


def columns_of(passes: Sequence[SeamPass]) -> list[Column]:
    """Return the columns of a shell, half and pass: the right half before the left one, passes in their order."""
    return sorted(
        {(seam_pass.half, seam_pass.number) for seam_pass in passes},
        key=lambda column: (column[0] != "right", column[1]),
    )
