"""What open jobs still need, by when each is finished, and what may be promised for a quote."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.utils import timezone

from quotes.labour.operations import OperationRole
from quotes.labour.spread import Spread, spread_of
from quotes.models import QuoteRevision
from quotes.needs.reserving import reference_of
from quotes.seal.sealed import SealedOption
from studio.calendar.arrivals import Materials, materials_for, materials_of
from studio.calendar.days import Days
from studio.jobs.sittings import worked
from studio.models import Fitting, Job, TimeEntry
from studio.schedule.outlook import Outlook, outlook
from studio.schedule.plan import Stage, Work
from studio.schedule.promise import Promise, promise

__all__ = [
    "Ahead",
    "QuotePromise",
    "outlook_of",
    "promise_for",
    "works_ahead",
]

SEED = 1
_SURE = Spread(below=0.0, above=0.0)
_BEFORE = {
    Fitting.Kind.TOILE: (OperationRole.FITTING, OperationRole.CUTTING),
    Fitting.Kind.BONED: (OperationRole.GROMMETS, OperationRole.BINDING),
    Fitting.Kind.FINAL: (OperationRole.HAND_OVER, OperationRole.CLOSING),
}
"""The role of the operation before which a fitting is held; the next one where a piece goes without the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """An open job in the plan, with how far off its estimate may be and the materials that it waits for.

    Attributes:
        bench_min: what the operations that are not done still need, minutes.
        change_min: what agreed changes add, minutes.
        fittings: those that are planned and were not held, by their day.
    """

    job: Job
    work: Work
    spread: Spread
    materials: Materials
    bench_min: float
    change_min: int
    fittings: tuple[Fitting, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotePromise:
    """What may be promised for an option of a quote, with what it rests on; `minutes` of work."""

    name: str
    promise: Promise
    minutes: int
    materials: Materials


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """An operation that is not done (`place` is a whole number), or a fitting just before one."""

    place: float
    minutes: float
    earliest: date | None = None
    fixed_day: date | None = None


def works_ahead(on: date) -> list[Ahead]:
    """Return the open jobs in the order of work, with what each still needs on a day.

    Planned minutes of what is not done, less those that were worked at it; what is done again counts for nothing. An
    operation that took longer than planned and is not done needs one minute more. Agreed changes add theirs.
    """
    jobs = list(
        Job.objects.open()
        .select_related("revision")
        .defer("revision__inputs")
        .prefetch_related("operations", "fittings", "changes")
    )
    planned = TimeEntry.objects.standing().filter(cause=TimeEntry.Cause.PLANNED, minutes__isnull=False)
    taken: Counter[int] = Counter()
    for part in worked(planned.filter(operation__job__in=jobs)):
        taken[part.operation] += part.minutes
    materials = materials_of(jobs, on)
    return [_ahead(job, taken, materials[job.reference]) for job in jobs]


def outlook_of(ahead: Sequence[Ahead], days: Days, on: date) -> tuple[Outlook, ...]:
    """Return by when each open job is finished, in their order. Raises Refused as `days_to_finish`."""
    spread = {open_job.work.job: open_job.spread for open_job in ahead}
    works = [open_job.work for open_job in ahead]
    return outlook(works, days.calendar, on, spread=spread, worked=days.worked, pace_share=days.pace_share, seed=SEED)


def promise_for(
    revision: QuoteRevision, option_index: int, on: date, *, ahead: Sequence[Ahead], days: Days, before: str = ""
) -> QuotePromise:
    """Return what may be promised for an option of a quote that is not yet a job.

    Args:
        ahead: the open jobs, from `works_ahead`.
        before: the reference of the open job before which it would be taken; behind all of them where none is named.

    Raises:
        Refused: as `days_to_finish`.
    """
    option = revision.snapshot.quotation.options[option_index]
    labour = option.takeoff.labour
    factor = 1 + labour.allowance_share
    materials = materials_for(revision, option, on)
    stages = _stages(
        _Step(
            place=place,
            minutes=operation.minutes * factor,
            earliest=materials.there_on if operation.group == "making" else None,
        )
        for place, operation in enumerate(labour.operations)
    )
    new = Work(job=reference_of(revision.quote), stages=stages)
    works = [open_job.work for open_job in ahead]
    place = next((index for index, work in enumerate(works) if work.job == before), len(works))
    promised = promise(
        new,
        works[:place],
        days.calendar,
        on,
        spread={new.job: _spread(option), **{open_job.work.job: open_job.spread for open_job in ahead}},
        worked=days.worked,
        pace_share=days.pace_share,
        seed=SEED,
        behind=works[place:],
    )
    minutes = sum(stage.minutes for stage in stages)
    return QuotePromise(name=option.name, promise=promised, minutes=minutes, materials=materials)


def _ahead(job: Job, taken: Mapping[int, int], materials: Materials) -> Ahead:
    operations = list(job.operations.all())
    steps = [
        _Step(
            place=operation.place,
            minutes=max(operation.planned_min - taken.get(operation.pk, 0), 1),
            earliest=materials.there_on if operation.group == "making" else None,
        )
        for operation in operations
        if operation.done_at is None
    ]
    bench = sum(step.minutes for step in steps)
    changes = sum(change.minutes for change in job.changes.all()) if steps else 0
    if changes:
        steps.append(_Step(place=max(step.place for step in steps), minutes=changes, earliest=materials.there_on))
    places: dict[str, int] = {}
    for operation in operations:
        places.setdefault(operation.role, operation.place)
    fittings = tuple(fitting for fitting in job.fittings.all() if fitting.held_on is None)
    steps += [
        _Step(
            place=next(
                (places[role] for role in _BEFORE[Fitting.Kind(fitting.kind)] if role in places), len(operations)
            )
            - 0.5,
            minutes=max(fitting.minutes, 1),
            fixed_day=timezone.localdate(fitting.at),
        )
        for fitting in fittings
    ]
    return Ahead(
        job=job,
        work=Work(job=job.reference, stages=_stages(steps), promised=job.promised or job.due),
        spread=_spread(job.option),
        materials=materials,
        bench_min=bench,
        change_min=changes,
        fittings=fittings,
    )


def _stages(steps: Iterable[_Step]) -> tuple[Stage, ...]:
    """Steps in their order; bench work that follows on is one stage, up to the next whole minute."""
    ordered = sorted(steps, key=lambda step: (step.place, step.fixed_day or date.min))
    stages = []
    for (earliest, fixed_day), together in groupby(ordered, key=lambda step: (step.earliest, step.fixed_day)):
        minutes = math.ceil(round(math.fsum(step.minutes for step in together), 6))
        if minutes:
            stages.append(Stage(minutes=minutes, earliest=earliest, fixed_day=fixed_day))
    return tuple(stages)


def _spread(option: SealedOption) -> Spread:
    labour = option.takeoff.labour
    if labour.total_min <= 0:
        return _SURE
    return spread_of(labour.low_min, labour.total_min, labour.high_min)
