"""What was learnt, row by row: proposed, taken or refused, by whom and when; the same rules for minutes and materials."""

import logging
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.findings import refuse
from quotes.labour.learning import SetAside
from studio.models import LearntChange

__all__ = [
    "Dated",
    "aside_documents",
    "decide",
    "decided",
    "is_refused",
    "keep_proposed",
    "proposed",
    "taken",
    "value_at",
]

logger = logging.getLogger(__name__)

Kind = LearntChange.Kind
State = LearntChange.State
Dated = Sequence[tuple[datetime, float]]
"""Values in the order in which they were taken."""

MOVED_SHARE = 0.1
"""What was refused is proposed again only where its value has moved by more than this since."""


@transaction.atomic
def keep_proposed(kind: LearntChange.Kind, rows: Mapping[str, tuple[float, dict[str, Any]]]) -> None:
    """Keep what is proposed of a kind, one open row a figure; an open row that nothing speaks for any more goes.

    Args:
        rows: value and evidence, by what would change.
    """
    open_rows = LearntChange.objects.filter(kind=kind, state=State.OPEN)
    open_rows.exclude(what__in=rows).delete()
    for what, (value, evidence) in rows.items():
        defaults = {"value": value, "evidence": evidence}
        LearntChange.objects.update_or_create(kind=kind, what=what, state=State.OPEN, defaults=defaults)


def proposed() -> list[LearntChange]:
    """Return what waits for an answer, the most money of a piece first."""
    rows = LearntChange.objects.filter(state=State.OPEN)
    return sorted(rows, key=lambda row: -abs(float(row.evidence["effect_on_price"] or 0)))


def decided() -> list[LearntChange]:
    """Return what was taken or refused, the latest first."""
    return list(LearntChange.objects.exclude(state=State.OPEN).select_related("decided_by").order_by("-decided_at"))


def decide(proposal: LearntChange, state: LearntChange.State, user: User | None) -> LearntChange:
    """Answer a proposal, inside a transaction.

    Raises:
        Refused: it was answered already, or is gone.
    """
    # Locked, so that of two answers at once the second finds the first.
    found = LearntChange.objects.select_for_update().filter(pk=proposal.pk).first()
    if found is None:
        raise refuse("learning.gone", proposal.what, "The entries no longer speak for this change.")
    if found.state != State.OPEN:
        raise refuse("learning.decided", found.what, f"This was {found.get_state_display().lower()} already.")
    found.state, found.decided_at, found.decided_by = state, timezone.now(), user
    found.save(update_fields=["state", "decided_at", "decided_by"])
    logger.info("Learnt what=%s value=%s state=%s", found.what, found.value, state)
    return found


def is_refused(kind: LearntChange.Kind, what: str, value: float) -> bool:
    """Whether the last answer was a refusal of about as much."""
    answers = LearntChange.objects.filter(kind=kind, what=what).exclude(state=State.OPEN)
    last = answers.order_by("-decided_at").first()
    return last is not None and last.state == State.REFUSED and abs(value - last.value) <= MOVED_SHARE * last.value


def taken(kind: LearntChange.Kind) -> dict[str, list[tuple[datetime, float]]]:
    """Return when what was given which value, the oldest first."""
    found: dict[str, list[tuple[datetime, float]]] = defaultdict(list)
    rows = LearntChange.objects.filter(kind=kind, state=State.TAKEN).order_by("decided_at")
    for what, at, value in rows.values_list("what", "decided_at", "value"):
        assert at is not None
        found[what].append((at, value))
    return found


def value_at(dated: Dated, moment: datetime | None, default: float) -> float:
    """Return the value that stood when a quote was sealed."""
    return next((value for at, value in reversed(dated) if moment is not None and at <= moment), default)


def aside_documents(rows: Sequence[SetAside]) -> list[dict[str, str]]:
    """Return the entries that were set aside as evidence keeps them."""
    return [{"job": row.job, "day": row.day.isoformat(), "why": row.why} for row in rows]
