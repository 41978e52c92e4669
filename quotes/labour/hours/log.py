"""The log of a workroom: jobs with their operations and the sittings in which they were worked."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

__all__ = ["Block", "Job", "NextJob", "Operation", "Session", "blocks_of", "least_quarter_min"]

QUARTER_MIN = 15.0
QUARTERS_FROM = 20
"""Sittings without which nobody can say that a log is kept in quarters of an hour."""
LEAST_SITTING_MIN = 1 / 60
"""A sitting shorter than a second is as good as none: a timer that was stopped at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """An operation of a job: what was estimated, without allowance, > 0, and whether it was done."""

    code: str
    estimated_min: float
    done: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What was worked in one sitting: minutes >= 0, shared in an unknown way by its operations (one or more)."""

    day: date
    minutes: float
    operations: tuple[str, ...]
    maker: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A delivered job. Its operations stand in the order in which they are worked; codes are unique."""

    name: str
    begun: date
    delivered: date
    operations: tuple[Operation, ...]
    sessions: tuple[Session, ...]

    @property
    def worked(self) -> tuple[Operation, ...]:
        """The operations that were done, or at least worked at."""
        seen = {code for session in self.sessions for code in session.operations}
        return tuple(row for row in self.operations if row.done or row.code in seen)

    @property
    def default_min(self) -> float:
        """The bare sum of the estimates of what was worked."""
        return math.fsum(row.estimated_min for row in self.worked)

    @property
    def logged_min(self) -> float:
        """All minutes that were written."""
        return math.fsum(session.minutes for session in self.sessions)


@dataclass(frozen=True, slots=True, kw_only=True)
class NextJob:
    """A job to come: estimated minutes by code, not all 0, and who will make it (empty: the workroom)."""

    name: str
    estimates: Mapping[str, float]
    maker: str = ""

    @property
    def default_min(self) -> float:
        """The bare sum of the estimates."""
        return math.fsum(self.estimates.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Operations whose minutes can only be told together, and their minutes: one observation of a sum.

    Attributes:
        places: of its operations among `Job.worked`, in order.
        sittings: how many were added up; `longest_min` the longest of them.
        makers: minutes by maker, work without a maker under the empty name.
    """

    places: tuple[int, ...]
    minutes: float
    sittings: int
    longest_min: float
    makers: Mapping[str, float]


def least_quarter_min(jobs: Sequence[Job]) -> float:
    """Return what a sitting written as a quarter of an hour is worth, in minutes.

    Where a log is kept in quarters, none is 0 and hardly an operation is missing, the least stands for all from nothing
    to a quarter and a half: half of that on average. Source: mean of the uniform distribution.
    """
    minutes = [session.minutes for job in jobs for session in job.sessions]
    worked = sum(len(job.worked) for job in jobs)
    missing = worked - sum(len({code for session in job.sessions for code in session.operations}) for job in jobs)
    quarters = sum(each > 0 and each % QUARTER_MIN == 0 for each in minutes)
    is_kept = quarters >= QUARTERS_FROM and quarters >= 0.95 * len(minutes) and missing <= 0.05 * worked
    return QUARTER_MIN * 0.75 if is_kept and min(minutes) > 0 else QUARTER_MIN


def blocks_of(job: Job, *, least_quarter: float = QUARTER_MIN) -> tuple[Block, ...]:
    """Return the sittings of a job added up to blocks that share no operation.

    Two sittings that share an operation end in one block, as nobody knows what each gave it; so a block's minutes are
    exactly those of its operations, however they were split. Sittings of no time say nothing and are left out.
    """
    place_of = {row.code: place for place, row in enumerate(job.worked)}
    head = list(range(len(place_of)))

    def root(place: int) -> int:
        while head[place] != place:
            place = head[place]
        return place

    sessions = [session for session in job.sessions if session.minutes >= LEAST_SITTING_MIN]
    for session in sessions:
        first, *others = (root(place_of[code]) for code in session.operations)
        for other in others:
            head[root(other)] = root(first)
    members: dict[int, list[int]] = defaultdict(list)
    for place in range(len(head)):
        members[root(place)].append(place)
    of_root: dict[int, list[Session]] = defaultdict(list)
    for session in sessions:
        of_root[root(place_of[session.operations[0]])].append(session)
    return tuple(
        _block(tuple(members[place]), of_root[place], least_quarter)
        for place in sorted(of_root, key=lambda at: members[at][0])
    )


def _block(places: tuple[int, ...], sessions: Sequence[Session], least_quarter: float) -> Block:
    makers: dict[str, float] = defaultdict(float)
    for session in sessions:
        makers[session.maker] += least_quarter if session.minutes == QUARTER_MIN else session.minutes
    return Block(
        places=places,
        minutes=math.fsum(makers.values()),
        sittings=len(sessions),
        longest_min=max(session.minutes for session in sessions),
        makers=makers,
    )
