"""Use cases of learning: what delivered jobs say of the standard minutes, and changes that the maker takes or refuses.

A change's factor is of the table's minutes without what was learnt before: it is the pace that the operation is given.
"""

import logging
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.findings import refuse
from inventory.money import currency_of
from quotes.labour.learning import Backtest, Observation, Proposal, backtest, calibrate, proposals
from quotes.labour.model import StandardTimes
from quotes.models import Workroom
from quotes.services.workroom import save_times, standard_times, workroom
from studio.models import Job, JobOperation, LearntMinutes, TimeEntry

__all__ = ["Learning", "decided", "learning", "observations", "propose", "proposed", "refuse_change", "take"]

logger = logging.getLogger(__name__)

State = LearntMinutes.State

MOVED_SHARE = 0.1
"""What was refused is proposed again only where the factor has moved by more than this since."""
FACTOR_DIGITS = 3

# Both rooms are pure and take seconds over hundreds of jobs: the same entries on the same day are worked out once.
_judge = lru_cache(maxsize=1)(backtest)
_calibrate = lru_cache(maxsize=1)(calibrate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learning:
    """How well past jobs would have been foretold, and changes to the table as it stands that they speak for.

    Attributes:
        delivered: jobs that are delivered; the backtest counts those of which enough was logged.
        changes: each `factor` is of the table as it stands; `effect_on_price` is what `examples` says.
        paces: of each operation of the table, as it stands.
        examples: per operation of `changes`, the newest delivered job that has it.
    """

    delivered: int
    judged: Backtest
    changes: tuple[Proposal, ...]
    paces: Mapping[str, float]
    examples: Mapping[str, str]


def observations() -> tuple[Observation, ...]:
    """Return every operation of every delivered job, in the order of delivery, with what was logged for it as planned.

    Entries that were corrected and work that was done again do not count. Minutes are the table's without what was
    learnt by the day the quote went out, so that all jobs are measured by one table.
    """
    logged: dict[int, int] = defaultdict(int)
    days: dict[int, date] = {}
    entries = TimeEntry.objects.filter(
        operation__job__stage=Job.Stage.DELIVERED,
        minutes__isnull=False,
        replaced_by__isnull=True,
        cause=TimeEntry.Cause.PLANNED,
    ).order_by("day")
    for operation, minutes, day in entries.values_list("operation_id", "minutes", "day"):
        logged[operation] += minutes or 0
        days[operation] = day
    taken = _taken()
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
        found.append(
            Observation(
                job=reference,
                day=days.get(pk, delivered),
                operation=code,
                estimated_min=estimated / _pace_at(taken.get(code, ()), sent),
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
    changes = [change for change in _changes(seen, times, paces, on) if not _is_refused(change, paces)]
    return Learning(
        delivered=len({row.job for row in seen}),
        judged=_judge(seen),
        changes=tuple(
            replace(change, effect_on_price=_effect(change, newest[change.operation], paces, times))
            for change in changes
        ),
        paces=paces,
        examples={change.operation: newest[change.operation].job for change in changes},
    )


def propose(on: date) -> Learning:
    """Keep what is proposed on a day, one open row an operation, and return what is learnt.

    An open row that the entries no longer speak for goes. Once a proposal is decided it stays as it was.
    """
    found = learning(on)
    with transaction.atomic():
        open_rows = LearntMinutes.objects.filter(state=State.OPEN)
        open_rows.exclude(operation__in=[change.operation for change in found.changes]).delete()
        for change in found.changes:
            pace = found.paces[change.operation]
            factor = round(change.factor * pace, FACTOR_DIGITS)
            evidence = {
                "name": change.name,
                "pace": pace,
                "default_min": change.default_min,
                "learnt_min": change.learnt_min,
                "entries": change.entries,
                "words": change.evidence,
                "effect_on_price": f"{change.effect_on_price:f}",
                "currency": workroom().currency,
                "example": found.examples[change.operation],
            }
            LearntMinutes.objects.update_or_create(
                operation=change.operation, state=State.OPEN, defaults={"factor": factor, "evidence": evidence}
            )
    return found


def proposed() -> list[LearntMinutes]:
    """Return what waits for an answer, the most minutes of a piece first."""
    rows = LearntMinutes.objects.filter(state=State.OPEN)
    return sorted(rows, key=lambda row: -abs(row.evidence["learnt_min"] - row.evidence["default_min"]))


def decided() -> list[LearntMinutes]:
    """Return what was taken or refused, the latest first."""
    return list(LearntMinutes.objects.exclude(state=State.OPEN).select_related("decided_by").order_by("-decided_at"))


@transaction.atomic
def take(proposal: LearntMinutes, user: User | None) -> LearntMinutes:
    """Give the operation of the table its learnt pace; quotes that are sealed stay as they are.

    Raises:
        Refused: it was decided already, or the table has no such operation any more.
    """
    room = Workroom.objects.select_for_update().get(pk=1)
    found = _decide(proposal, State.TAKEN, user)
    rows = room.times["operations"]
    if found.operation not in {row["code"] for row in rows}:
        raise refuse(
            "learning.unknown-operation", found.operation, f"The table has no operation {found.operation} any more."
        )
    paced = [{**row, "pace": found.factor} if row["code"] == found.operation else row for row in rows]
    save_times(room, {**room.times, "operations": paced})
    return found


@transaction.atomic
def refuse_change(proposal: LearntMinutes, user: User | None) -> LearntMinutes:
    """Leave the table as it is; the same is not proposed again. Raises Refused where it was decided already."""
    return _decide(proposal, State.REFUSED, user)


def _decide(proposal: LearntMinutes, state: LearntMinutes.State, user: User | None) -> LearntMinutes:
    # Locked, so that of two answers at once the second finds the first.
    found = LearntMinutes.objects.select_for_update().filter(pk=proposal.pk).first()
    if found is None:
        raise refuse("learning.gone", proposal.operation, "The entries no longer speak for this change.")
    if found.state != State.OPEN:
        raise refuse("learning.decided", found.operation, f"This was {found.get_state_display().lower()} already.")
    found.state, found.decided_at, found.decided_by = state, timezone.now(), user
    found.save(update_fields=["state", "decided_at", "decided_by"])
    logger.info("Learnt operation=%s factor=%s state=%s", found.operation, found.factor, state)
    return found


def _changes(
    seen: tuple[Observation, ...], times: StandardTimes, paces: Mapping[str, float], on: date
) -> tuple[Proposal, ...]:
    """Changes to the table as it stands: what was learnt before counts as the table's own."""
    if not any(row.logged_min for row in seen if row.day <= on):
        return ()
    known = _calibrate(seen, on=on)
    factors = []
    for row in known.factors:
        pace = paces.get(row.operation, 1.0)
        words = f" The table holds {pace:g} times its minutes already." if pace != 1 else ""
        evidence = row.evidence + words
        factors.append(replace(row, factor=row.factor / pace, default_min=row.default_min * pace, evidence=evidence))
    return proposals(replace(known, factors=tuple(factors)), times)


def _is_refused(change: Proposal, paces: Mapping[str, float]) -> bool:
    """Whether the last answer for this operation was a refusal of about as much."""
    last = LearntMinutes.objects.filter(operation=change.operation).exclude(state=State.OPEN).order_by("-decided_at")
    answer = last.first()
    if answer is None or answer.state != State.REFUSED:
        return False
    return abs(change.factor * paces[change.operation] / answer.factor - 1) <= MOVED_SHARE


def _effect(change: Proposal, newest: Observation, paces: Mapping[str, float], times: StandardTimes) -> Decimal:
    """Hours that the change adds to the newest delivered piece, at what an hour of labour and overhead costs now."""
    room = workroom()
    minutes = newest.estimated_min * paces[change.operation] * (change.factor - 1) * (1 + times.allowance_share)
    hour = Decimal(room.rates["labour_per_hour"]) + Decimal(room.rates["overhead_per_hour"])
    return currency_of(room.currency).round(Decimal(repr(minutes)) / 60 * hour)


def _taken() -> dict[str, list[tuple[datetime, float]]]:
    """When each operation was given which pace, the oldest first."""
    found: dict[str, list[tuple[datetime, float]]] = defaultdict(list)
    rows = LearntMinutes.objects.filter(state=State.TAKEN).order_by("decided_at")
    for code, at, factor in rows.values_list("operation", "decided_at", "factor"):
        assert at is not None
        found[code].append((at, factor))
    return found


def _pace_at(taken: Sequence[tuple[datetime, float]], moment: datetime | None) -> float:
    """The pace that stood in the table when a quote was sealed."""
    return next((factor for at, factor in reversed(taken) if moment is not None and at <= moment), 1.0)
