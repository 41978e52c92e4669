"""Invented workrooms whose days do not go as planned, and how well the days that they promised were kept.

A workroom takes its jobs one after another, out of a queue of one to four. Each new job is promised by the product's pure
functions, from the weeks that went by so far; what then happens comes from random numbers and formulas of its own. Jobs'
true hours keep to the range of their estimates and hang together as the promise is told, so that only the calendar is
judged. Every figure is drawn from a seed.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import NormalDist

from quotes.labour.spread import NORMAL_90, spread_of
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.plan import Stage, Work
from studio.schedule.promise import promise
from studio.schedule.worked import OpenSpan, WorkedShare, WorkedWeek, worked_share, worked_weeks

__all__ = ["KINDS", "Daily", "Promised", "promises"]

MONDAY = date(2024, 1, 1)
ONE_DAY = timedelta(days=1)
WEEK = WorkingCalendar(minutes_by_weekday=(360, 360, 360, 360, 360, 0, 0))
LOW, HIGH = 0.75, 1.4
"""Of a job's likely hours: where one in ten ends below, and where one in ten ends above."""
SPREAD = spread_of(LOW, 1.0, HIGH)
MOST_WAITING = 4
GOLDEN_RATIO = (math.sqrt(5) - 1) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Daily:
    """How the days of a workroom go.

    Attributes:
        share: mean of what is worked of a day's planned minutes; a week differs by `week_sd`, a day by `day_sd`.
        falls_ill: chance of falling ill on a working day.
        days_ill: mean length of an illness, working days; geometric.
        pace_share: how much of the variance of hours is common to the jobs of the workroom.
    """

    share: float = 1.0
    week_sd: float = 0.0
    day_sd: float = 0.0
    falls_ill: float = 0.0
    days_ill: float = 4.0
    pace_share: float = 0.0


KINDS = {
    "full days": Daily(),
    "days 85 % full": Daily(share=0.85, week_sd=0.10, day_sd=0.15),
    "sickness": Daily(falls_ill=0.012),
    "hours overrun together": Daily(pace_share=0.5),
    "all of it": Daily(share=0.85, week_sd=0.10, day_sd=0.15, falls_ill=0.012, pace_share=0.5),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Promised:
    """The `number`-th job of a workroom: what it was promised for, and when it was finished."""

    number: int
    made_on: date
    day_50: date
    day_90: date
    finished: date


class _Workroom:
    """Lives day by day; knows of itself what a log would say."""

    def __init__(self, daily: Daily, luck: random.Random, pace: float) -> None:
        self.daily, self.luck = daily, luck
        self.pace = pace
        self.today = MONDAY
        self.week_share = 1.0
        self.ill = 0
        self.logged: dict[date, int] = {}

    def factor(self) -> float:
        """True hours of a job for each planned one."""
        common = self.daily.pace_share
        deviation = math.sqrt(common) * self.pace + math.sqrt(1 - common) * self.luck.gauss(0, 1)
        side = 1 / LOW if deviation < 0 else HIGH
        return float(side ** (deviation / NORMAL_90))

    def minutes_of_today(self) -> int:
        """What is worked today."""
        planned = WEEK.minutes_on(self.today)
        if self.today.weekday() == 0:
            self.week_share = self.luck.gauss(self.daily.share, self.daily.week_sd)
        if not planned:
            return 0
        if not self.ill and self.luck.random() < self.daily.falls_ill:
            self.ill = 1 + int(math.log(1 - self.luck.random()) / math.log(1 - 1 / self.daily.days_ill))
        if self.ill:
            self.ill -= 1
            return 0
        return round(planned * max(0.0, self.week_share + self.luck.gauss(0, self.daily.day_sd)))


@dataclass
class _Job:
    number: int
    planned: int
    factor: float
    left: float
    begun: date


def promises(
    daily: Daily,
    seed: int,
    *,
    jobs: int,
    draws: int,
    known: WorkedShare | None = None,
    told_pace_share: float | None = None,
) -> Iterator[Promised]:
    """Yield so many jobs of a workroom, each when it is finished.

    Args:
        known: what every promise rests on, in place of what was learnt so far.
        told_pace_share: how much of their variance the hours of jobs are told to have in common, where it is not the truth.
    """
    told = daily.pace_share if told_pace_share is None else told_pace_share
    # Paces are spread evenly over their distribution, as few workrooms would not do by chance.
    room = _Workroom(daily, random.Random(seed), NormalDist().inv_cdf((seed * GOLDEN_RATIO + 0.5) % 1))
    queue: list[_Job] = []
    promised: dict[int, Promised] = {}
    spans: list[OpenSpan] = []
    wanted = room.luck.randint(1, MOST_WAITING)
    while len(spans) < jobs:
        while len(queue) < wanted and len(promised) < jobs:
            number = len(promised) + 1
            planned = 60 * room.luck.randint(10, 40)
            factor = room.factor()
            new = _Job(number=number, planned=planned, factor=factor, left=planned * factor, begun=room.today)
            worked = known or worked_share(_weeks(room, spans, queue))
            promised[number] = _promised(new, queue, worked, room.today, told, seed=1000 * seed + number, draws=draws)
            queue.append(new)
        minutes = room.minutes_of_today()
        room.logged[room.today] = minutes
        while queue and minutes >= queue[0].left:
            done = queue.pop(0)
            minutes -= math.ceil(done.left)
            spans.append((done.begun, room.today))
            yield replace(promised[done.number], finished=room.today)
            wanted = room.luck.randint(1, MOST_WAITING)
        if queue:
            queue[0].left -= max(minutes, 0)
        else:
            room.logged[room.today] -= max(minutes, 0)
        room.today += ONE_DAY


def _weeks(room: _Workroom, spans: list[OpenSpan], queue: list[_Job]) -> tuple[WorkedWeek, ...]:
    open_spans = [*spans, *((job.begun, None) for job in queue)]
    return worked_weeks(
        usual=WEEK.minutes_on, days_off=frozenset(), logged=room.logged, open_spans=open_spans, today=room.today
    )


def _promised(
    new: _Job, queue: list[_Job], worked: WorkedShare, today: date, pace_share: float, *, seed: int, draws: int
) -> Promised:
    works = [
        Work(job=str(job.number), stages=(Stage(minutes=max(1, round(job.left / job.factor))),))
        for job in [*queue, new]
    ]
    made = promise(
        works[-1],
        works[:-1],
        WEEK,
        today,
        spread={work.job: SPREAD for work in works},
        worked=worked,
        seed=seed,
        pace_share=pace_share,
        draws=draws,
    )
    return Promised(number=new.number, made_on=today, day_50=made.day_50, day_90=made.day_90, finished=today)
