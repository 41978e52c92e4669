"""Use cases of learning: what delivered jobs say of hours, proposed to the maker and carried into the range of estimates.

What jobs say of materials is worked out in `studio.learning.losses`; answers to proposals are in `studio.learning.answers`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache

from django.db import transaction
from django.utils import timezone

from inventory.ground.money import currency_of
from quotes.labour.hours import Hours, PresentDay, learn
from quotes.labour.learning import Proposal, learnt_range, proposals
from quotes.labour.learning.grounds import MinutesGrounds
from quotes.labour.operations import StandardTimes
from quotes.labour.standard import times_document
from quotes.models import Workroom
from quotes.workroom.settings import save_times, times_of, workroom
from studio.jobs.presence import presence_seen
from studio.learning.log import Log, delivered_log
from studio.learning.losses import propose_losses
from studio.learning.proposals import keep_proposed, unrefused
from studio.models import LearntChange, LogHabit

__all__ = ["Learning", "learning", "propose", "propose_today"]

MINUTES = LearntChange.Kind.MINUTES
FACTOR_DIGITS = 3
ANY_OPERATION_MIN = 1e6
"""Longer than any operation: in the database no figure is without end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Learning:
    """What delivered jobs say of hours, and changes to the table as it stands that they speak for.

    Attributes:
        times: the table as it stands.
        changes: each `factor` is of `times`; `effect_on_price` is what `examples` says.
        examples: per operation of `changes`, the newest delivered job that has it.
    """

    log: Log
    hours: Hours
    times: StandardTimes
    changes: tuple[Proposal, ...]
    examples: Mapping[str, str]


def learning() -> Learning:
    """Return what is learnt, without keeping anything."""
    return _learning(workroom())


def propose(on: date) -> Learning:
    """Keep what is proposed on a day, of minutes and of materials, give new estimates the range that past jobs speak for,
    and return what is learnt of hours.

    An open row that the entries no longer speak for goes. Once a proposal is decided it stays as it was.
    """
    room = workroom()
    learnt = _learning(room)
    operations = {operation.code: operation for operation in learnt.times.operations}
    proposed = {}
    for change in learnt.changes:
        operation = operations[change.operation]
        grounds = MinutesGrounds(
            name=change.name,
            pace=operation.pace,
            since=operation.since,
            default_min=change.default_min,
            learnt_min=change.learnt_min,
            entries=change.entries,
            words=change.evidence,
            aside=change.set_aside,
            effect_on_price=change.effect_on_price,
            currency=room.currency,
            example=learnt.examples[change.operation],
        )
        proposed[change.operation] = (round(change.factor * operation.pace, FACTOR_DIGITS), grounds)
    keep_proposed(MINUTES, proposed)
    # Earlier versions proposed the range too.
    keep_proposed(LearntChange.Kind.RANGE, {})
    propose_losses(on)
    _keep_range(learnt)
    if learnt.hours.jobs:
        below = min(learnt.hours.elsewhere_below_min, ANY_OPERATION_MIN)
        LogHabit.objects.update_or_create(pk=1, defaults={"elsewhere_below_min": below})
    return learnt


def propose_today(sender: object = None, **kwargs: object) -> None:
    """Keep what is proposed today. Answers `account_made`."""
    propose(timezone.localdate())


# The room is pure and takes half a second over many jobs: the same log is worked out once.
@lru_cache(maxsize=1)
def _hours(log: Log, present: tuple[PresentDay, ...]) -> Hours:
    return learn(log.jobs, earlier=log.earlier, names=dict(log.names), present=present)


def _learning(room: Workroom) -> Learning:
    times = times_of(room)
    log = delivered_log(times)
    hours = _hours(
        log,
        tuple(
            PresentDay(day=row.day, present_min=row.present_min, logged_min=row.logged_min) for row in presence_seen()
        ),
    )
    paces = {operation.code: operation.pace for operation in times.operations}
    newest = {row.code: (job.name, row.estimated_min) for job in log.jobs for row in job.worked}
    found = proposals(hours, times)
    open_to = unrefused(MINUTES, {change.operation: change.factor * paces[change.operation] for change in found})
    return Learning(
        log=log,
        hours=hours,
        times=times,
        changes=tuple(
            replace(
                change,
                effect_on_price=_effect(
                    change, newest[change.operation][1] * paces[change.operation], times.allowance_share, room
                ),
            )
            for change in found
            if change.operation in open_to
        ),
        examples={change.operation: newest[change.operation][0] for change in found},
    )


def _effect(change: Proposal, minutes: float, allowance_share: float, room: Workroom) -> Decimal:
    """What the change adds to a piece with these minutes, at what an hour of labour and overhead costs now."""
    more = minutes * (change.factor - 1) * (1 + allowance_share)
    hour = Decimal(room.rates["labour_per_hour"]) + Decimal(room.rates["overhead_per_hour"])
    return currency_of(room.currency).round(Decimal(repr(more)) / 60 * hour)


@transaction.atomic
def _keep_range(learnt: Learning) -> None:
    """Give new estimates the range that past jobs speak for, for a piece such as the newest that time was logged for."""
    room = Workroom.objects.select_for_update().get(pk=1)
    piece = next((job for job in reversed(learnt.log.jobs) if job.logged_min), None)
    times = times_of(room)
    found = None
    if piece is not None:
        found = learnt_range(learnt.hours, {row.code: row.estimated_min for row in piece.worked}, times)
    if found != times.learnt_range:
        save_times(room, times_document(replace(times, learnt_range=found)))
