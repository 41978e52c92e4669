"""Sittings that are not believed, so that what they say of an operation is left out and told."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from quotes.labour.hours.fit import Fit
from quotes.labour.hours.walk import Walk

__all__ = ["Doubt", "doubts_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Minutes of a job, up to a day, that were written for these operations and are not believed."""

    job: str
    day: date
    operations: tuple[str, ...]
    minutes: float


def doubts_of(walk: Walk, known: Fit) -> tuple[Doubt, ...]:
    """Return what a fit to the walk's jobs leaves out, in the order of the jobs."""
    found = []
    for place in np.flatnonzero(~known.is_believed).tolist():
        at = int(known.columns.job[place])
        job, block = walk.jobs[at], walk.blocks[at][place - known.columns.blocks_of(at).start]
        operations = tuple(job.worked[each].code for each in block.places)
        day = max(session.day for session in job.sessions if set(session.operations) & set(operations))
        found.append(Doubt(job=job.name, day=day, operations=operations, minutes=block.minutes))
    return tuple(found)
