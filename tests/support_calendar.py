"""A bench worked through minute by minute, as simply as it can be said, to hold the schedule against."""

from collections.abc import Callable, Sequence
from datetime import date, timedelta

import numpy as np

from studio.schedule.calendar import WorkingCalendar
from studio.schedule.drawn_weeks import draw_weeks
from studio.schedule.plan import Stage, Work, days_to_finish
from studio.schedule.worked import ALL_WORKED

__all__ = ["MinuteBench", "finish_days", "finished_minute_by_minute"]


class MinuteBench:
    """Jobs in order, each a queue of stages; every open minute of a day goes to the first job that can use it."""

    def __init__(self) -> None:
        self.queues: dict[str, list[Stage]] = {}
        self.minutes_left: dict[str, int] = {}  # of the stage at the head of each queue
        self.finished: dict[str, date] = {}

    def take(self, work: Work, today: date) -> None:
        """Put a job behind the others."""
        self.queues[work.job] = list(work.stages)
        self._next_stage(work.job, today)

    def live(self, day: date, open_minutes: int) -> None:
        """Work through one day."""
        clock = open_minutes
        with_client = set()
        for job, queue in self.queues.items():
            fitting = queue[0].fixed_day if queue else None
            if fitting is not None and (fitting == day or (fitting < day and open_minutes > 0)):
                clock -= queue.pop(0).minutes
                self._next_stage(job, day)
                with_client.add(job)
        for _ in range(clock):
            for job, queue in self.queues.items():
                if queue and job not in with_client and queue[0].fixed_day is None:
                    if queue[0].earliest is not None and queue[0].earliest > day:
                        continue
                    self.minutes_left[job] -= 1
                    if self.minutes_left[job] == 0:
                        queue.pop(0)
                        self._next_stage(job, day)
                    break

    def _next_stage(self, job: str, today: date) -> None:
        if self.queues[job]:
            self.minutes_left[job] = self.queues[job][0].minutes
        else:
            self.finished[job] = today


def finished_minute_by_minute(works: Sequence[Work], minutes_on: Callable[[date], int], start: date) -> list[date]:
    """Return the day on which each job is finished."""
    bench = MinuteBench()
    for work in works:
        bench.take(work, start)
    day = start
    while len(bench.finished) < len(works):
        bench.live(day, minutes_on(day))
        day += timedelta(days=1)
    return [bench.finished[work.job] for work in works]


def finish_days(works: Sequence[Work], calendar: WorkingCalendar, start: date) -> list[date]:
    """The day on which each job ends by the schedule, where stages take just their minutes and every day is worked full."""
    planned = [np.array([[stage.minutes for stage in work.stages]], dtype=np.int64) for work in works]
    weeks = draw_weeks(ALL_WORKED, 1, start, seed=1)
    return [start + timedelta(days=int(offset)) for offset in days_to_finish(works, planned, calendar, weeks, start)[0]]
