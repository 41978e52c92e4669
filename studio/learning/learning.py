"""Use cases of learning: what delivered jobs say of the standard minutes, and changes that the maker takes or refuses.

A change of minutes is kept as the pace that the operation is given: a factor of the table's minutes without what was
learnt before. What jobs say of materials is worked out in `learning_losses`.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache

from django.contrib.auth.models import User
from django.db import transaction

from inventory.ground.findings import refuse
from inventory.ground.money import currency_of
from quotes.labour.learning import Backtest, Calibration, Observation, Proposal, backtest, calibrate, proposals
from quotes.labour.operations import StandardTimes
from quotes.models import Workroom
from quotes.workroom.settings import save_times, standard_times, workroom
from studio.learning.losses import drop_loss, propose_losses, take_loss
from studio.learning.proposals import (
    Dated,
    aside_documents,
    decide,
    end,
    is_refused,
    keep_proposed,
    newest_taken,
    taken,
    value_at,
)
from studio.learning.ranges import drop_range, propose_range, take_range
from studio.models import Job, JobOperation, LearntChange, TimeEntry

__all__ = ["Learning", "learning", "observations", "propose", "refuse_change", "standing", "take", "take_back"]

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
        return len({row.job for row in self.seen})


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
    since = {row.code: datetime.fromisoformat(row.since) for row in standard_times().operations if row.since}
    paces = _paces(since)
    made: Counter[str] = Counter()
    repetition: dict[int, int] = {}
    found = []
    rows = JobOperation.objects.filter(job__stage=Job.Stage.DELIVERED, estimated_min__gt=0)
    facts = ("pk", "code", "estimated_min", "job_id", "job__reference", "job__style", "job__delivered_on")
    for pk, code, estimated, job, reference, style, delivered, sent in rows.order_by(
        "job__delivered_on", "job_id", "place"
    ).values_list(*facts, "job__revision__sent_at"):
        if job not in repetition:
            made[style] += 1
            repetition[job] = made[style] if style else 1
        if code in since and (sent is None or sent < since[code]):
            continue
        found.append(
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
    return tuple(found)


def learning(on: date) -> Learning:
    """Return what is learnt on a day, without keeping anything."""
    seen, times = observations(), standard_times()
    paces = {operation.code: operation.pace for operation in times.operations}
    newest = {row.operation: row for row in seen}
    # Where no minute was logged there is nothing to calibrate by.
    known = _calibrate(seen, on=on) if any(row.logged_min for row in seen if row.day <= on) else None
    changes = [
        change
        for change in (_changes(known, times, paces) if known else ())
        if not is_refused(MINUTES, change.operation, change.factor * paces[change.operation])
    ]
    return Learning(
        seen=seen,
        judged=_judge(seen),
        known=known,
        times=times,
        changes=tuple(
            replace(change, effect_on_price=_effect(change, newest[change.operation], paces, times))
            for change in changes
        ),
        examples={change.operation: newest[change.operation].job for change in changes},
    )


def propose(on: date) -> Learning:
    """Keep what is proposed on a day, of minutes and of materials, and return what is learnt of minutes.

    An open row that the entries no longer speak for goes. Once a proposal is decided it stays as it was.
    """
    found = learning(on)
    currency = workroom().currency
    operations = {operation.code: operation for operation in found.times.operations}
    rows = {}
    for change in found.changes:
        operation = operations[change.operation]
        evidence = {
            "name": change.name,
            "pace": operation.pace,
            "since": operation.since,
            "default_min": change.default_min,
            "learnt_min": change.learnt_min,
            "entries": change.entries,
            "words": change.evidence,
            "aside": aside_documents(change.set_aside),
            "effect_on_price": f"{change.effect_on_price:f}",
            "currency": currency,
            "example": found.examples[change.operation],
        }
        rows[change.operation] = (round(change.factor * operation.pace, FACTOR_DIGITS), evidence)
    keep_proposed(MINUTES, rows)
    propose_losses(on)
    propose_range(found.seen, found.known, found.times)
    return found


@transaction.atomic
def take(proposal: LearntChange, user: User | None) -> LearntChange:
    """Estimate by what was learnt from now on; quotes that are sealed stay as they are.

    Raises:
        Refused: it was decided already, or the table has no such operation any more, or other minutes of it.
    """
    room = Workroom.objects.select_for_update().get(pk=1)
    found = decide(proposal, LearntChange.State.TAKEN, user)
    if found.kind == MINUTES:
        _must_be_current(room, found)
    _put(room, found)
    return found


@transaction.atomic
def refuse_change(proposal: LearntChange, user: User | None) -> LearntChange:
    """Leave all as it is; the same is not proposed again. Raises Refused where it was decided already."""
    return decide(proposal, LearntChange.State.REFUSED, user)


def standing() -> set[int]:
    """Return the keys of the changes that estimates are made by; minutes that were set by hand since are none."""
    times = standard_times()
    return {row.pk for row in newest_taken() if row.kind != MINUTES or _is_paced(times, row)}


@transaction.atomic
def take_back(change: LearntChange, user: User | None) -> LearntChange:
    """Estimate as before a change was taken; quotes that are sealed stay as they are.

    Raises:
        Refused: it does not stand any more, or the operation's minutes were set by hand since.
    """
    room = Workroom.objects.select_for_update().get(pk=1)
    found, before = end(change, user)
    if found.kind == MINUTES and not _is_paced(standard_times(), found):
        raise refuse(
            "learning.table-changed", found.what, f"The minutes of “{found.evidence['name']}” were set by hand since."
        )
    if before is None:
        _drop(room, found)
    else:
        _put(room, before)
    return found


def _put(room: Workroom, change: LearntChange) -> None:
    match change.kind:
        case LearntChange.Kind.MINUTES:
            _give_pace(room, change.what, change.value)
        case LearntChange.Kind.LOSS:
            take_loss(room, change)
        case LearntChange.Kind.RANGE:
            take_range(room, change)


def _drop(room: Workroom, change: LearntChange) -> None:
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
        code: [(at, value) for at, value in rows if code not in since or at >= since[code]]
        for code, rows in taken(MINUTES).items()
    }


def _must_be_current(room: Workroom, found: LearntChange) -> None:
    """Refuse minutes of an operation that the table has lost, or has other ones of, since they were proposed."""
    row = next((row for row in room.times["operations"] if row["code"] == found.what), None)
    if row is None:
        raise refuse("learning.unknown-operation", found.what, f"The table has no operation {found.what} any more.")
    if (row.get("pace", TABLE), row.get("since", "")) != (found.evidence["pace"], found.evidence.get("since", "")):
        raise refuse(
            "learning.table-changed",
            found.what,
            f"The minutes of “{found.evidence['name']}” were changed since this was proposed.",
            "Look at what is proposed now.",
        )


def _is_paced(times: StandardTimes, change: LearntChange) -> bool:
    """Whether the table still has the pace that a change of minutes gave it."""
    return any((row.code, row.pace) == (change.what, change.value) for row in times.operations)


def _give_pace(room: Workroom, operation: str, pace: float) -> None:
    rows = room.times["operations"]
    paced = [{**row, "pace": pace} if row["code"] == operation else row for row in rows]
    save_times(room, {**room.times, "operations": paced})


def _changes(known: Calibration, times: StandardTimes, paces: Mapping[str, float]) -> tuple[Proposal, ...]:
    """Changes to the table as it stands: what was learnt before counts as the table's own."""
    factors = []
    for row in known.factors:
        pace = paces.get(row.operation, 1.0)
        words = f" The table holds {pace:g} times its minutes already." if pace != 1 else ""
        evidence = row.evidence + words
        factors.append(replace(row, factor=row.factor / pace, default_min=row.default_min * pace, evidence=evidence))
    return proposals(replace(known, factors=tuple(factors)), times)


def _effect(change: Proposal, newest: Observation, paces: Mapping[str, float], times: StandardTimes) -> Decimal:
    """Hours that the change adds to the newest delivered piece, at what an hour of labour and overhead costs now."""
    room = workroom()
    minutes = newest.estimated_min * paces[change.operation] * (change.factor - 1) * (1 + times.allowance_share)
    hour = Decimal(room.rates["labour_per_hour"]) + Decimal(room.rates["overhead_per_hour"])
    return currency_of(room.currency).round(Decimal(repr(minutes)) / 60 * hour)
