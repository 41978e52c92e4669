"""Use cases of foretold days: kept when a job is made and when its days change; judged when it is finished."""

import logging
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from inventory.ground.findings import Refused
from quotes.labour.spread import NORMAL_90
from studio.calendar.days import days_known
from studio.calendar.endings import Ending, endings
from studio.calendar.work_ahead import outlook_of, works_ahead
from studio.models import Job, PromisedDay
from studio.schedule.day_reasons import DAY_REASONS, DayReasons
from studio.schedule.kept_days import FinishedJob

__all__ = ["Judged", "judged_jobs", "keep_promised_day"]

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A finished job with what was first foretold for it, and the last day that was agreed, where it is another one."""

    job: Job
    days: FinishedJob
    reasons: DayReasons
    moved_to: date | None


def keep_promised_day(job: Job, *, why: str, on: date) -> None:
    """Keep by when an open job is likely and surely finished as it stands, beside the day that is agreed for it.

    Where no plan can be made nothing was foretold, and nothing is kept.
    """
    ahead, days = works_ahead(on), days_known(endings(), on)
    place = next(index for index, row in enumerate(ahead) if row.job.pk == job.pk)
    try:
        # What comes behind it in the order of work takes nothing from it but the time of its fittings.
        outlook = outlook_of(ahead, days, on)[place]
    except Refused:
        logger.info("No day foretold job=%s", job.reference)
        return
    this = ahead[place]
    minutes = sum(stage.minutes for stage in this.work.stages)
    reasons = DayReasons(
        minutes=minutes,
        low_minutes=round(minutes * math.exp(-this.spread.below * NORMAL_90)),
        high_minutes=round(minutes * math.exp(this.spread.above * NORMAL_90)),
        before=tuple(row.work.job for row in ahead[:place]),
        materials_by=this.materials.there_on,
        not_offered=this.materials.offered_by_nobody,
        minutes_a_week=sum(days.calendar.minutes_by_weekday),
        worked_share=round(days.worked.mean, 3),
        own_weeks=days.worked.observed,
    )
    PromisedDay.objects.create(
        job=job,
        made_at=timezone.now(),
        promised=this.job.promised,
        day_50=outlook.day_50,
        day_90=outlook.day_90,
        reasons=DAY_REASONS.written(reasons),
        why=why,
    )


def judged_jobs(ended: Sequence[Ending]) -> list[Judged]:
    """Return the finished jobs for which days were foretold, the last finished first.

    What was foretold first counts, and so does the first day that was agreed: later ones knew more.
    """
    finished = {ending.job.pk: ending for ending in ended if ending.finished is not None}
    foretold: dict[int, list[PromisedDay]] = defaultdict(list)
    for row in PromisedDay.objects.filter(job__in=finished):
        foretold[row.job_id].append(row)
    judged = [_judged(finished[pk], rows) for pk, rows in foretold.items()]
    return sorted(judged, key=lambda row: (row.days.finished, row.job.pk), reverse=True)


def _judged(ending: Ending, rows: Sequence[PromisedDay]) -> Judged:
    assert ending.finished is not None
    agreed = [row.promised for row in rows if row.promised is not None]
    return Judged(
        job=ending.job,
        days=FinishedJob(
            job=ending.job.reference,
            day_50=rows[0].day_50,
            day_90=rows[0].day_90,
            promised=agreed[0] if agreed else None,
            finished=ending.finished,
        ),
        reasons=rows[0].grounds,
        moved_to=agreed[-1] if agreed and agreed[-1] != agreed[0] else None,
    )
