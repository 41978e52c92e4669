"""Changes that jobs suggest: proposed, taken or refused, by whom and when; the same rules for all of them."""

import logging
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.ground.findings import refuse
from quotes.labour.learning.grounds import GROUNDS, Grounds
from studio.defaults import studio_defaults
from studio.models import LearntChange

__all__ = [
    "Dated",
    "decide",
    "decided_changes",
    "end_change",
    "keep_proposed",
    "newest_taken",
    "open_proposals",
    "taken_values",
    "unrefused",
    "value_at",
]

logger = logging.getLogger(__name__)

Kind = LearntChange.Kind
State = LearntChange.State
Dated = Sequence[tuple[datetime, float | None]]
"""Values from a moment on, oldest first; None where nothing that was learnt stood any more."""


@transaction.atomic
def keep_proposed(kind: LearntChange.Kind, proposals: Mapping[str, tuple[float, Grounds]]) -> None:
    """Keep what is proposed of a kind, one open row a figure; an open row that nothing speaks for any more goes.

    Args:
        proposals: value and grounds, by what would change.
    """
    open_rows = LearntChange.objects.filter(kind=kind, state=State.OPEN)
    open_rows.exclude(what__in=proposals).delete()
    for what, (value, grounds) in proposals.items():
        defaults = {"value": value, "evidence": GROUNDS[kind].written(grounds)}
        LearntChange.objects.update_or_create(kind=kind, what=what, state=State.OPEN, defaults=defaults)


def open_proposals() -> list[LearntChange]:
    """Return what waits for an answer, the most money of a piece first."""
    waiting = LearntChange.objects.filter(state=State.OPEN)
    return sorted(waiting, key=lambda change: -abs(change.grounds.effect_on_price or Decimal(0)))


def decided_changes() -> list[LearntChange]:
    """Return what was taken or refused, the latest first."""
    return list(
        LearntChange.objects.exclude(state=State.OPEN).select_related("decided_by", "ended_by").order_by("-decided_at")
    )


def decide(proposal: LearntChange, state: LearntChange.State, user: User | None) -> LearntChange:
    """Answer a proposal, inside a transaction.

    Raises:
        Refused: it was answered already, or is gone.
    """
    # Locked, so that of two answers at once the second finds the first.
    change = LearntChange.objects.select_for_update().filter(pk=proposal.pk).first()
    if change is None:
        raise refuse("learning.gone", proposal.what, "The entries no longer speak for this change.")
    if change.state != State.OPEN:
        raise refuse("learning.decided", change.what, f"This was {change.get_state_display().lower()} already.")
    change.state, change.decided_at, change.decided_by = state, timezone.now(), user
    change.save(update_fields=["state", "decided_at", "decided_by"])
    logger.info("Learnt what=%s value=%s state=%s", change.what, change.value, state)
    return change


def end_change(change: LearntChange, user: User | None) -> tuple[LearntChange, LearntChange | None]:
    """Take back what was taken, inside a transaction; return it and what stands again, None for what came first.

    Raises:
        Refused: it was not taken, was taken back already, or another answer stands in its place.
    """
    taken = _not_taken_back().select_for_update().filter(kind=change.kind, what=change.what)
    standing = list(taken.order_by("-decided_at", "-pk")[:2])
    if not standing or standing[0].pk != change.pk:
        raise refuse(
            "learning.not-standing", change.what, "This does not stand any more.", "Look at the newest answer to it."
        )
    ended = standing[0]
    ended.ended_at, ended.ended_by = timezone.now(), user
    ended.save(update_fields=["ended_at", "ended_by"])
    logger.info("Took back learnt what=%s value=%s", ended.what, ended.value)
    return ended, standing[1] if len(standing) > 1 else None


def newest_taken() -> list[LearntChange]:
    """Return what was taken last of each figure and not taken back."""
    return list(
        {(change.kind, change.what): change for change in _not_taken_back().order_by("decided_at", "pk")}.values()
    )


def _not_taken_back() -> QuerySet[LearntChange]:
    return LearntChange.objects.filter(state=State.TAKEN, ended_at__isnull=True)


def unrefused(kind: LearntChange.Kind, values: Mapping[str, float]) -> set[str]:
    """Return of which values the last answer was neither a refusal of about as much, nor took it back.

    Args:
        values: what is proposed, by what would change.
    """
    answers = LearntChange.objects.filter(kind=kind, what__in=values).exclude(state=State.OPEN)
    last = {answer.what: answer for answer in answers.order_by(Coalesce("ended_at", "decided_at"))}
    return {what for what, value in values.items() if what not in last or not _is_refused(value, last[what])}


def _is_refused(value: float, last: LearntChange) -> bool:
    if last.state == State.TAKEN and last.ended_at is None:
        return False
    return abs(value - last.value) <= studio_defaults().learning.moved_share * last.value


def taken_values(kind: LearntChange.Kind) -> dict[str, Dated]:
    """Return what was given which value when, the oldest first; what was taken back leaves what stood before it."""
    acts: dict[str, list[tuple[datetime, bool, float]]] = defaultdict(list)
    taken = LearntChange.objects.filter(kind=kind, state=State.TAKEN).order_by("decided_at")
    for what, at, ended_at, value in taken.values_list("what", "decided_at", "ended_at", "value"):
        assert at is not None
        acts[what].append((at, True, value))
        if ended_at is not None:
            acts[what].append((ended_at, False, value))
    return {what: _dated(sorted(acts_at_it, key=lambda act: act[0])) for what, acts_at_it in acts.items()}


def _dated(acts: Sequence[tuple[datetime, bool, float]]) -> Dated:
    """Values from each act on; only the newest is ever taken back."""
    stack: list[float] = []
    values: list[tuple[datetime, float | None]] = []
    for at, is_taken, value in acts:
        if is_taken:
            stack.append(value)
        else:
            stack.pop()
        values.append((at, stack[-1] if stack else None))
    return values


def value_at(dated: Dated, moment: datetime | None, default: float) -> float:
    """Return the value that stood when a quote was sealed; `default` where none was learnt by then."""
    learnt = next((value for at, value in reversed(dated) if moment is not None and at <= moment), None)
    return default if learnt is None else learnt
