"""Use cases of learning: what delivered jobs say of the standard minutes, and changes that the maker takes or refuses.

A change of minutes is kept as the pace that the operation is given: a factor of the table's minutes without what was
learnt before. What jobs say of materials is worked out in `studio.learning.losses`.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.money import currency_of
from quotes.labour.learning import Backtest, Calibration, Observation, Proposal, backtest, calibrate, proposals
from quotes.labour.learning.grounds import MinutesGrounds, doubted
from quotes.labour.operations import Operation, StandardTimes
from quotes.labour.standard import times_document
from quotes.models import Workroom
from quotes.workroom.settings import save_times, standard_times, times_of, workroom
from studio.learning.losses import drop_loss, propose_losses, take_loss
from studio.learning.proposals import (
    Dated,
    decide,
    end_change,
    keep_proposed,
    newest_taken,
    open_proposals,
    taken_values,
    unrefused,
    value_at,
)
from studio.learning.ranges import drop_range, propose_range, take_range
from studio.models import Job, JobOperation, LearntChange, TimeEntry

__all__ = [
    "Learning",
    "current_proposals",
    "learning",
    "observations",
    "propose",
    "propose_today",
    "refuse_change",
    "standing",
    "take",
    "take_back",
]

MINUTES = LearntChange.Kind.MINUTES
TABLE = 1.0
"""The pace of the table as it came."""
FACTOR_DIGITS = 3

# Both rooms are pure and take seconds over hundreds of jobs: the same entries on the same day are worked out once.
_judge = lru_cache(maxsize=1)(backtest)
_calibrate = lru_cache(maxsize=1)(calibrate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learning:
    """How well past jobs would have been foretold, and changes to the table as it stands that they speak for.

    Attributes:
        seen: every operation of every delivered job; the backtest counts those of which enough was logged.
        known: what all entries say; None where nothing was logged.
        times: the table as it stands.
        changes: each `factor` is of `times`; `effect_on_price` is what `examples` says.
        examples: per operation of `changes`, the newest delivered job that has it.
    """

    seen: tuple[Observation, ...]
    judged: Backtest
    known: Calibration | None
    times: StandardTimes
    changes: tuple[Proposal, ...]
    examples: Mapping[str, str]

    @property
    def delivered(self) -> int:
        """How many jobs are delivered."""
        return len({observation.job for observation in self.seen})


def observations() -> tuple[Observation, ...]:
    """Return every operation of every delivered job, in the order of delivery, with what was logged for it as planned.

    Entries that were corrected and work that was done again do not count. Minutes are the table's without what was
    learnt by the day the quote went out, so that all jobs are measured by one table; what was quoted before the maker
    set an operation's minutes by hand was quoted by another one, and tells nothing of it.
    """
    logged: dict[int, int] = defaultdict(int)
    first: dict[int, date] = {}
    last: dict[int, date] = {}
    entries = (
        TimeEntry.objects.standing()
        .filter(
            operation__job__stage=Job.Stage.DELIVERED,
            minutes__gt=0,  # neither one that still runs nor one that was struck out
            cause=TimeEntry.Cause.PLANNED,
        )
        .order_by("day")
    )
    for operation, minutes, day in entries.values_list("operation_id", "minutes", "day"):
        logged[operation] += minutes or 0
        first.setdefault(operation, day)
        last[operation] = day
    since = {
        operation.code: datetime.fromisoformat(operation.since)
        for operation in standard_times().operations
        if operation.since
    }
    paces = _paces(since)
    made: Counter[str] = Counter()
    repetition: dict[int, int] = {}
    observed = []
    operations = JobOperation.objects.filter(job__stage=Job.Stage.DELIVERED, estimated_min__gt=0)
    facts = ("pk", "code", "estimated_min", "job_id", "job__reference", "job__style", "job__delivered_on")
    for pk, code, estimated, job, reference, style, delivered, sent in operations.order_by(
        "job__delivered_on", "job_id", "place"
    ).values_list(*facts, "job__revision__sent_at"):
        if job not in repetition:
            made[style] += 1
            repetition[job] = made[style] if style else 1
        if code in since and (sent is None or sent < since[code]):
            continue
        observed.append(
            Observation(
                job=reference,
                day=last.get(pk, delivered),
                begun=first.get(pk),
                operation=code,
                estimated_min=estimated / value_at(paces.get(code, ()), sent, TABLE),
                logged_min=logged.get(pk),
                style=style,
                repetition=repetition[job],
            )
        )
    return tuple(observed)


def learning(on: date) -> Learning:
    """Return what is learnt on a day, without keeping anything."""
    seen, times = observations(), standard_times()
    paces = {operation.code: operation.pace for operation in times.operations}
    newest = {observation.operation: observation for observation in seen}
    # Where no minute was logged there is nothing to calibrate by.
    known = (
        _calibrate(seen, on=on)
        if any(observation.logged_min for observation in seen if observation.day <= on)
        else None
    )
    found = _changes(known, times, paces) if known else ()
    open_to = unrefused(MINUTES, {change.operation: change.factor * paces[change.operation] for change in found})
    changes = [change for change in found if change.operation in open_to]
    room = workroom()
    return Learning(
        seen=seen,
        judged=_judge(seen),
        known=known,
        times=times,
        changes=tuple(
            replace(change, effect_on_price=_effect(change, newest[change.operation], paces, times, room))
            for change in changes
        ),
        examples={change.operation: newest[change.operation].job for change in changes},
    )


def propose(on: date) -> Learning:
    """Keep what is proposed on a day, of minutes and of materials, and return what is learnt of minutes.

    An open row that the entries no longer speak for goes. Once a proposal is decided it stays as it was.
    """
    learnt = learning(on)
    currency = workroom().currency
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
            aside=doubted(change.set_aside),
            effect_on_price=change.effect_on_price,
            currency=currency,
            example=learnt.examples[change.operation],
        )
        proposed[change.operation] = (round(change.factor * operation.pace, FACTOR_DIGITS), grounds)
    keep_proposed(MINUTES, proposed)
    propose_losses(on)
    propose_range(learnt.seen, learnt.known, learnt.times)
    return learnt


def propose_today(sender: object = None, **kwargs: object) -> None:
    """Keep what is proposed today. Answers `account_made`."""
    propose(timezone.localdate())


@transaction.atomic
def take(proposal: LearntChange, user: User | None) -> LearntChange:
    """Estimate by what was learnt from now on; quotes that are sealed stay as they are.

    Raises:
        Refused: it was decided already, or the table has no such operation any more, or other minutes of it.
    """
    room = Workroom.objects.select_for_update().get(pk=1)
    change = decide(proposal, LearntChange.State.TAKEN, user)
    if change.kind == MINUTES:
        _must_be_current(room, change)
    _estimate_by(room, change)
    transaction.on_commit(propose_today, robust=True)
    return change


@transaction.atomic
def refuse_change(proposal: LearntChange, user: User | None) -> LearntChange:
    """Leave all as it is; the same is not proposed again. Raises Refused where it was decided already."""
    return decide(proposal, LearntChange.State.REFUSED, user)


def current_proposals() -> list[LearntChange]:
    """Return what waits for an answer and speaks of the table as it stands, the most money of a piece first."""
    room = workroom()

    def is_current(change: LearntChange) -> bool:
        operation = _operation(room, change)
        return change.kind != MINUTES or (operation is not None and _is_of(operation, change))

    return [change for change in open_proposals() if is_current(change)]


def standing() -> set[int]:
    """Return the keys of the changes that estimates are made by; minutes that were set by hand since are none."""
    times = standard_times()
    return {change.pk for change in newest_taken() if change.kind != MINUTES or _is_paced(times, change)}


@transaction.atomic
def take_back(change: LearntChange, user: User | None) -> LearntChange:
    """Estimate as before a change was taken; quotes that are sealed stay as they are.

    Raises:
        Refused: it does not stand any more, or the operation's minutes were set by hand since.
    """
    room = Workroom.objects.select_for_update().get(pk=1)
    ended, before = end_change(change, user)
    if ended.kind == MINUTES and not _is_paced(standard_times(), ended):
        raise refuse(
            "learning.table-changed", ended.what, f"The minutes of “{ended.grounds.name}” were set by hand since."
        )
    if before is None:
        _estimate_as_before(room, ended)
    else:
        _estimate_by(room, before)
    transaction.on_commit(propose_today, robust=True)
    return ended


def _estimate_by(room: Workroom, change: LearntChange) -> None:
    match change.kind:
        case LearntChange.Kind.MINUTES:
            _give_pace(room, change.what, change.value)
        case LearntChange.Kind.LOSS:
            take_loss(room, change)
        case LearntChange.Kind.RANGE:
            take_range(room, change)


def _estimate_as_before(room: Workroom, change: LearntChange) -> None:
    match change.kind:
        case LearntChange.Kind.MINUTES:
            _give_pace(room, change.what, TABLE)
        case LearntChange.Kind.LOSS:
            drop_loss(room, change.what)
        case LearntChange.Kind.RANGE:
            drop_range(room)


def _paces(since: Mapping[str, datetime]) -> dict[str, Dated]:
    """Paces that were taken, by operation, without those from before its minutes were set by hand."""
    return {
        code: [(at, value) for at, value in dated if code not in since or at >= since[code]]
        for code, dated in taken_values(MINUTES).items()
    }


def _must_be_current(room: Workroom, change: LearntChange) -> None:
    """Refuse minutes of an operation that the table has lost, or has other ones of, since they were proposed."""
    operation = _operation(room, change)
    if operation is None:
        raise refuse("learning.unknown-operation", change.what, f"The table has no operation {change.what} any more.")
    if not _is_of(operation, change):
        raise refuse(
            "learning.table-changed",
            change.what,
            f"The minutes of “{change.grounds.name}” were changed since this was proposed.",
            "Look at what is proposed now.",
        )


def _operation(room: Workroom, change: LearntChange) -> Operation | None:
    """The row of the table that a change is of."""
    return next((operation for operation in times_of(room).operations if operation.code == change.what), None)


def _is_of(operation: Operation, change: LearntChange) -> bool:
    """Whether the row still has the minutes that the change was proposed for."""
    grounds = change.grounds
    assert isinstance(grounds, MinutesGrounds)
    return (operation.pace, operation.since) == (grounds.pace, grounds.since)


def _is_paced(times: StandardTimes, change: LearntChange) -> bool:
    """Whether the table still has the pace that a change of minutes gave it."""
    return any((operation.code, operation.pace) == (change.what, change.value) for operation in times.operations)


def _give_pace(room: Workroom, code: str, pace: float) -> None:
    times = times_of(room)
    paced = tuple(replace(row, pace=pace) if row.code == code else row for row in times.operations)
    save_times(room, times_document(replace(times, operations=paced)))


def _changes(known: Calibration, times: StandardTimes, paces: Mapping[str, float]) -> tuple[Proposal, ...]:
    """Changes to the table as it stands: what was learnt before counts as the table's own."""
    factors = []
    for known_factor in known.factors:
        pace = paces.get(known_factor.operation, 1.0)
        words = f" The table holds {pace:g} times its minutes already." if pace != 1 else ""
        evidence = known_factor.evidence + words
        factors.append(
            replace(
                known_factor,
                factor=known_factor.factor / pace,
                default_min=known_factor.default_min * pace,
                evidence=evidence,
            )
        )
    return proposals(replace(known, factors=tuple(factors)), times)


def _effect(
    change: Proposal, newest: Observation, paces: Mapping[str, float], times: StandardTimes, room: Workroom
) -> Decimal:
    """Hours that the change adds to the newest delivered piece, at what an hour of labour and overhead costs now."""
    minutes = newest.estimated_min * paces[change.operation] * (change.factor - 1) * (1 + times.allowance_share)
    hour = Decimal(room.rates["labour_per_hour"]) + Decimal(room.rates["overhead_per_hour"])
    return currency_of(room.currency).round(Decimal(repr(minutes)) / 60 * hour)
