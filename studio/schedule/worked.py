"""The worked share: how much of the hours that are planned at the table is really worked, week by week.

The question: which part of a week's working hours goes to pieces, when days are lost to sickness, errands and callers?

Words: a week's *planned* minutes are its working hours less the days off that were known before; its *share* is what was
logged on all jobs, divided by them. Overtime makes a share above one, a week of sickness one of nothing. What is known of
a workroom are its weeks as they went, day by day, beside stated default weeks; these count as so many weeks in all and so
fade as weeks of the workroom's own come in.

Only whole weeks count, Monday to Sunday, on whose every planned day some job was open. The week in which the log begins
and the one that still runs are left out, and so are weeks of which more than half was off.
"""

from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from math import fsum

from studio.defaults import studio_defaults

__all__ = ["ALL_WORKED", "DAYS_OF_A_WEEK", "OpenSpan", "WorkedShare", "WorkedWeek", "worked_share", "worked_weeks"]

DAYS_OF_A_WEEK = 7

OpenSpan = tuple[date, date | None]
"""From when to when a job had work to do; None where it still has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedWeek:
    """A week as it went.

    Attributes:
        monday: its first day.
        planned_min: minutes at the table, Monday to Sunday, without days off that were known before.
        logged_min: minutes that were logged on all jobs.
    """

    monday: date
    planned_min: tuple[int, ...]
    logged_min: tuple[int, ...]

    @property
    def share(self) -> float:
        """Logged minutes for each planned one."""
        return sum(self.logged_min) / sum(self.planned_min)

    @property
    def day_shares(self) -> tuple[float, ...]:
        """The share of each day. What was logged on a day without planned minutes is spread over the planned ones.

        >>> WorkedWeek(monday=date(2027, 1, 4), planned_min=(100, 100, 0, 0, 0, 0, 0),
        ...     logged_min=(120, 0, 0, 0, 0, 30, 0)).day_shares
        (1.5, 0.0, 0.75, 0.75, 0.75, 0.75, 0.75)
        """
        on_planned = sum(logged for planned, logged in zip(self.planned_min, self.logged_min, strict=True) if planned)
        if not on_planned:
            return (self.share,) * DAYS_OF_A_WEEK
        spread = sum(self.logged_min) / on_planned
        return tuple(
            logged / planned * spread if planned else self.share
            for planned, logged in zip(self.planned_min, self.logged_min, strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedShare:
    """What is known of the share: weeks that may come again, each with its weight.

    Attributes:
        weeks: shares of Monday to Sunday.
        week_shares: the share of each week as a whole.
        weights: how much each counts, > 0.
        observed: how many of them are the workroom's own; they stand last.
    """

    weeks: tuple[tuple[float, ...], ...]
    week_shares: tuple[float, ...]
    weights: tuple[float, ...]
    observed: int

    @property
    def mean(self) -> float:
        """The share of an average week."""
        return fsum(s * w for s, w in zip(self.week_shares, self.weights, strict=True)) / fsum(self.weights)

    @property
    def default_part(self) -> float:
        """How much of what is known are the default weeks, 0 to 1."""
        return fsum(self.weights[: len(self.weights) - self.observed]) / fsum(self.weights)


ALL_WORKED = WorkedShare(weeks=((1.0,) * DAYS_OF_A_WEEK,), week_shares=(1.0,), weights=(1.0,), observed=0)
"""Every planned minute is worked."""


def worked_share(weeks: Sequence[WorkedWeek]) -> WorkedShare:
    """Return what is known from a workroom's weeks beside the default ones.

    >>> round(worked_share([]).mean, 4)
    0.85
    """
    assumed = studio_defaults().calendar
    default = assumed.worked_week_shares
    still = assumed.default_weeks_weight * 0.5 ** (len(weeks) / assumed.default_halved_weeks)
    return WorkedShare(
        weeks=(*((share,) * DAYS_OF_A_WEEK for share in default), *(week.day_shares for week in weeks)),
        week_shares=(*default, *(week.share for week in weeks)),
        weights=(*(still / len(default) for _ in default), *(1.0 for _ in weeks)),
        observed=len(weeks),
    )


def worked_weeks(
    *,
    usual: Callable[[date], int],
    days_off: Set[date],
    logged: Mapping[date, int],
    open_spans: Sequence[OpenSpan],
    today: date,
) -> tuple[WorkedWeek, ...]:
    """Return the weeks that tell of the share, oldest first.

    Args:
        usual: minutes at the table on a day, by the working hours of that time, days off not taken out.
        days_off: days that were known to be off before they came. What was not known counts as planned and lost.
        logged: minutes by day, on all jobs; a day without any may lack.
        open_spans: of each job. A day lies in it after its first and before its last day, on which only part was open.

    A week without a minute is one of sickness. Where more follow on each other than `most_lost_weeks`, nothing was
    written down, and they tell of nothing; so do weeks before the first and after the last logged minute.
    """
    days = sorted(day for day, minutes in logged.items() if minutes)
    if not days:
        return ()
    weeks = []
    monday = days[0] + timedelta(days=-days[0].weekday() % DAYS_OF_A_WEEK)
    while monday + timedelta(days=DAYS_OF_A_WEEK) <= today and monday <= days[-1]:
        week = [monday + timedelta(days=number) for number in range(DAYS_OF_A_WEEK)]
        hours = [usual(day) for day in week]
        planned = tuple(0 if day in days_off else minutes for day, minutes in zip(week, hours, strict=True))
        at_work = [day for day, minutes in zip(week, planned, strict=True) if minutes]
        if at_work and 2 * sum(planned) >= sum(hours) and all(_is_open(day, open_spans) for day in at_work):
            minutes = tuple(logged.get(day, 0) for day in week)
            weeks.append(WorkedWeek(monday=monday, planned_min=planned, logged_min=minutes))
        monday += timedelta(days=DAYS_OF_A_WEEK)
    return _without_long_gaps(weeks)


def _is_open(day: date, spans: Sequence[OpenSpan]) -> bool:
    return any(first < day and (last is None or day < last) for first, last in spans)


def _without_long_gaps(weeks: Sequence[WorkedWeek]) -> tuple[WorkedWeek, ...]:
    kept: list[WorkedWeek] = []
    for is_worked, run in groupby(weeks, key=lambda week: any(week.logged_min)):
        together = list(run)
        if is_worked or len(together) <= studio_defaults().calendar.most_lost_weeks:
            kept += together
    return tuple(kept)
