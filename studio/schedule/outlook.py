"""The outlook: by when each job of the plan is finished, at even odds and nine times in ten."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from quotes.labour.spread import Spread
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.drawn_weeks import draw_weeks
from studio.schedule.plan import Work, days_to_finish
from studio.schedule.promise import DRAWS, PACE_SHARE, day_by, drawn_minutes, likely_day
from studio.schedule.worked import WorkedShare

__all__ = ["Outlook", "outlook"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """The days by which a job is finished."""

    job: str
    day_50: date
    day_90: date


def outlook(
    works: Sequence[Work],
    calendar: WorkingCalendar,
    start: date,
    *,
    spread: Mapping[str, Spread],
    worked: WorkedShare,
    pace_share: float = PACE_SHARE,
    seed: int,
) -> tuple[Outlook, ...]:
    """Return the days of each job, in the order given; durations and weeks as `promise` draws them for the same plan and seed.

    Args:
        start: the first day, with all its minutes.
        spread: by job, how far off its estimate may be; every job of the plan has one.
        worked: what is known of how much of the planned hours is worked.
        pace_share: as of `drawn_minutes`.

    Raises:
        Refused: as `days_to_finish`.
    """
    if not works:
        return ()
    minutes = drawn_minutes(works, spread, DRAWS, np.random.default_rng(seed), pace_share=pace_share)
    offsets = days_to_finish(works, minutes, calendar, draw_weeks(worked, DRAWS, start, seed=seed), start)
    return tuple(
        Outlook(job=work.job, day_50=likely_day(offsets[:, index], start), day_90=day_by(offsets[:, index], 0.9, start))
        for index, work in enumerate(works)
    )
