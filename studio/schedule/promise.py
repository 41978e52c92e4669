"""The promise: the day by which a new job is finished, at even odds and nine times in ten, and whom it makes late.

The plan is walked through many times, each time with other durations and other weeks (studio.schedule.drawn_weeks). A job takes its planned minutes times a factor
from the spread of its estimate; all its stages share it. What makes jobs quick or slow is partly the studio (its pace,
one deviation per walk for all jobs) and partly the job (a deviation of its own); each carries its share of the variance,
so that every single job keeps exactly the range that its estimate says. With and without the new job the same durations
and weeks are walked, so that a difference is due to the job alone.

Source: Monte Carlo with common random numbers (Law, Simulation Modeling and Analysis, ch. 11).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from inventory.ground.findings import Finding, warn
from inventory.ground.wording import day_text
from quotes.labour.spread import Spread, quantile
from studio.defaults import studio_defaults
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.drawn_weeks import draw_weeks
from studio.schedule.plan import Whole, Work, days_to_finish
from studio.schedule.worked import WorkedShare

__all__ = ["DRAWS", "PACE_SHARE", "Promise", "Pushed", "day_by", "drawn_minutes", "likely_day", "promise"]

PACE_SHARE = studio_defaults().calendar.pace_share
DRAWS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Pushed:
    """A promised job that the new one makes late.

    Attributes:
        likely_day: finished by then at even odds, with the new job in the plan.
        day_90: finished by then nine times in ten.
    """

    job: str
    promised: date
    likely_day: date
    day_90: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """The days for the new job, the promised jobs that it pushes late, and a warning for each of them."""

    day_50: date
    day_90: date
    pushed: tuple[Pushed, ...]
    warnings: tuple[Finding, ...]


def promise(
    new: Work,
    ahead: Sequence[Work],
    calendar: WorkingCalendar,
    start: date,
    *,
    spread: Mapping[str, Spread],
    worked: WorkedShare,
    seed: int,
    behind: Sequence[Work] = (),
    pace_share: float = PACE_SHARE,
    draws: int = DRAWS,
) -> Promise:
    """Return what can be promised for `new`.

    Args:
        ahead: the jobs that are taken before it, in order.
        start: the first day, with all its minutes.
        spread: by job, how far off its estimate may be; every job of the plan has one.
        worked: what is known of how much of the planned hours is worked.
        behind: the jobs that are taken after it, in order.
        pace_share: as of `drawn_minutes`.

    A job is pushed where it kept its promise without the new one, at even odds or nine times in ten, and does not with it.

    Raises:
        ValueError: two jobs of one name, or fewer than one draw.
        Refused: as `days_to_finish`.
    """
    works = (*ahead, new, *behind)
    if len({work.job for work in works}) < len(works):
        raise ValueError("Two jobs of a plan have the same name.")
    minutes = drawn_minutes(works, spread, draws, np.random.default_rng(seed), pace_share=pace_share)
    weeks = draw_weeks(worked, draws, start, seed=seed)
    place = len(ahead)
    after = days_to_finish(works, minutes, calendar, weeks, start)
    pushed: list[Pushed] = []
    warnings: list[Finding] = []
    promised = {index: work.promised for index, work in enumerate(works) if work.promised and index != place}
    if promised:
        others = [index for index in range(len(works)) if index != place]
        without = days_to_finish([works[i] for i in others], [minutes[i] for i in others], calendar, weeks, start)
        for index, day in promised.items():
            before = without[:, others.index(index)]
            now = Pushed(
                job=works[index].job,
                promised=day,
                likely_day=likely_day(after[:, index], start),
                day_90=day_by(after[:, index], 0.9, start),
            )
            if likely_day(before, start) <= day < now.likely_day:
                pushed.append(now)
                warnings.append(_likely_late(new.job, now))
            elif day_by(before, 0.9, start) <= day < now.day_90:
                pushed.append(now)
                warnings.append(_no_longer_sure(new.job, now))
    return Promise(
        day_50=likely_day(after[:, place], start),
        day_90=day_by(after[:, place], 0.9, start),
        pushed=tuple(pushed),
        warnings=tuple(warnings),
    )


def drawn_minutes(
    works: Sequence[Work],
    spread: Mapping[str, Spread],
    draws: int,
    random: np.random.Generator,
    *,
    pace_share: float = PACE_SHARE,
) -> tuple[Whole, ...]:
    """Return what the stages of each job take in each draw: whole minutes, at least one.

    Args:
        pace_share: how much of a deviation's variance all jobs have in common, 0 to 1.

    Raises:
        ValueError: fewer than one draw.
    """
    if draws < 1:
        raise ValueError("At least one draw is needed.")
    pace = random.standard_normal(draws)
    drawn = []
    for work in works:
        own = random.standard_normal(draws)
        factors = spread[work.job].factors(math.sqrt(pace_share) * pace + math.sqrt(1 - pace_share) * own)
        planned = np.array([stage.minutes for stage in work.stages], dtype=np.float64)
        drawn.append(np.maximum(np.rint(np.outer(factors, planned)), 1).astype(np.int64))
    return tuple(drawn)


def likely_day(offsets: Whole, start: date) -> date:
    """Return the day by which nearest to half of the draws are finished; the earlier of two that are equally near."""
    middle = int(quantile(offsets, 0.5))
    before, by_then = (offsets < middle).mean(), (offsets <= middle).mean()
    if before and 0.5 - before <= by_then - 0.5:
        middle = int(offsets[offsets < middle].max())
    return start + timedelta(days=middle)


def day_by(offsets: Whole, share: float, start: date) -> date:
    """Return the first day by which at least `share` of the draws are finished."""
    return start + timedelta(days=int(quantile(offsets, share)))


def _likely_late(new: str, pushed: Pushed) -> Finding:
    return warn(
        "promise.pushes-late",
        pushed.job,
        f"With {new} in the plan, {pushed.job} is promised for {day_text(pushed.promised)} "
        f"and likely to be finished on {day_text(pushed.likely_day)}.",
        f"Take {new} later, or agree a new day for {pushed.job}.",
    )


def _no_longer_sure(new: str, pushed: Pushed) -> Finding:
    return warn(
        "promise.no-longer-sure",
        pushed.job,
        f"With {new} in the plan, {pushed.job} is promised for {day_text(pushed.promised)} "
        f"and only by {day_text(pushed.day_90)} finished nine times in ten.",
        f"Take {new} later, or keep some time free for {pushed.job}.",
    )
