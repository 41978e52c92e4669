"""The plan: jobs in order, one maker, a calendar, weeks as they may come; which day each job is finished.

Rules, day by day:
- Fittings come before bench work and take their minutes of the day; where the day is too short, the client is seen all
  the same and nothing else is done. A fitting is held on its day, whether the studio works or not; where the piece was
  not ready the evening before, on the first working day after it is.
- Of a day's minutes only those are there that the drawn week works of them; a day may be lost as a whole.
- The plan knows no hours, so the piece is worked on again the day after its fitting.
- The rest of the day goes to bench work: to the first job in order that can use it, then to the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from inventory.ground.findings import refuse
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.drawn_weeks import DrawnWeeks

__all__ = ["Stage", "Whole", "Work", "days_to_finish"]

MOST_DAYS = 3660
"""Ten years: a plan that runs longer is a slip in its input."""
FEW_DRAWS = 0.1
"""So many draws, of weeks without work, may run longer: no day that is told, nine times in ten at most, rests on them."""

Whole = NDArray[np.int64]
"""Whole numbers: minutes, or how many stages are done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """What is done in one go.

    Attributes:
        minutes: whole minutes that are still needed, > 0; a stage that is done is left out.
        earliest: the first day on which bench work can begin, for instance when its materials are there.
        fixed_day: the day of a fitting; None for bench work.
    """

    minutes: int
    earliest: date | None = None
    fixed_day: date | None = None

    def __post_init__(self) -> None:
        if self.minutes <= 0:
            raise ValueError("A stage needs at least a minute; leave out what is done.")
        if self.earliest is not None and self.fixed_day is not None:
            raise ValueError("A fitting has its day and waits for nothing else.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What a job still needs, and the day that was promised for it."""

    job: str
    stages: tuple[Stage, ...]
    promised: date | None = None


def days_to_finish(
    works: Sequence[Work], minutes: Sequence[Whole], calendar: WorkingCalendar, weeks: DrawnWeeks, start: date
) -> Whole:
    """Return the days from `start` to the end of each job, a row per draw, a column per job.

    Args:
        works: in the order in which the maker takes them; one without stages is finished on `start`.
        minutes: per job what its stages take, in place of their own minutes: a row per draw, a column per stage; all > 0.
        weeks: what is worked of each day, in as many draws.
        start: the first day, with all its minutes.

    Raises:
        Refused: a year without a working minute, or a plan of more than ten years in more than a few of the draws; the
            few are told to end just after them.
    """
    left = [array.T.copy() for array in minutes]  # a row per stage
    draws = len(minutes[0]) if minutes else 1
    reached = np.zeros((len(works), draws), dtype=np.int64)
    stage_counts = np.array([[len(work.stages)] for work in works], dtype=np.int64).reshape(-1, 1)
    finished = np.where(reached == stage_counts, 0, -1)
    needs: Whole | None = None
    for offset, (day, open_minutes) in enumerate(calendar.days_from(start)):
        if (finished >= 0).all():
            break
        if offset > MOST_DAYS:
            if (finished < 0).mean(axis=1).max() <= FEW_DRAWS:
                finished[finished < 0] = offset
                break
            raise refuse(
                "plan.too-long",
                "plan",
                f"The jobs are not done by {day.isoformat()}, ten years from the start.",
                "Look for a day that is years away among materials and fittings, or for too many minutes.",
            )
        capacity = weeks.minutes_on(day, open_minutes)
        if needs is None and _nothing_is_waited_for(works, reached, day):
            needs = _minutes_to_each_end(left, reached)
        if needs is None:
            at_fitting = _hold_fittings(works, left, reached, capacity, day)
            _work_at_bench(works, left, reached, capacity, day, at_fitting)
            is_done = reached == stage_counts
        else:
            needs -= capacity
            is_done = needs <= 0
        finished[is_done & (finished < 0)] = offset
    return finished.T


def _nothing_is_waited_for(works: Sequence[Work], reached: Whole, day: date) -> bool:
    """Whether from a day on all that is left is bench work that can be done: jobs are then worked on one after another."""
    return all(
        stage.fixed_day is None and (stage.earliest is None or stage.earliest <= day)
        for work, least in zip(works, reached.min(axis=1).tolist(), strict=True)
        for stage in work.stages[least:]
    )


def _minutes_to_each_end(left: Sequence[Whole], reached: Whole) -> Whole:
    """Per job and draw, what it still needs together with all jobs before it."""
    each = [
        (stages * (np.arange(len(stages))[:, None] >= done)).sum(axis=0)
        for stages, done in zip(left, reached, strict=True)
    ]
    return np.cumsum(np.array(each), axis=0)


def _hold_fittings(
    works: Sequence[Work], left: Sequence[Whole], reached: Whole, capacity: Whole, day: date
) -> NDArray[np.bool_]:
    """Hold the fittings of the day; return, per job and draw, whether it had one. Changes `reached` and `capacity`."""
    held = np.zeros(reached.shape, dtype=np.bool_)
    is_open = capacity > 0
    for index, (work, least) in enumerate(zip(works, reached.min(axis=1).tolist(), strict=True)):
        for number, stage in enumerate(work.stages[least:], start=least):
            if stage.fixed_day is None or day < stage.fixed_day:
                continue
            here = (reached[index] == number) & ~held[index]
            if day > stage.fixed_day:
                here &= is_open
            np.subtract(capacity, left[index][number], out=capacity, where=here)
            reached[index] += here
            held[index] |= here
    np.maximum(capacity, 0, out=capacity)
    return held


def _work_at_bench(
    works: Sequence[Work],
    left: Sequence[Whole],
    reached: Whole,
    capacity: Whole,
    day: date,
    at_fitting: NDArray[np.bool_],
) -> None:
    """Spend the minutes of the day on the jobs in order. Changes `left`, `reached` and `capacity`."""
    has_time = capacity > 0
    for index, (work, least) in enumerate(zip(works, reached.min(axis=1).tolist(), strict=True)):
        if least == len(work.stages):
            continue
        if not has_time.any():
            return
        for number, stage in enumerate(work.stages[least:], start=least):
            if stage.earliest is not None and day < stage.earliest:
                break
            if stage.fixed_day is not None:
                continue
            here = (reached[index] == number) & has_time & ~at_fitting[index]
            if not here.any():
                continue
            remaining = left[index][number]
            worked = np.minimum(capacity, remaining) * here
            remaining -= worked
            capacity -= worked
            reached[index] += here & (remaining == 0)
            has_time = capacity > 0
