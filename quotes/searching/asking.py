"""Asking the worker for lays, and asking it to stop. What is asked for stands in the books, whatever becomes of the worker."""

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from inventory.ground.codec import Codec
from quotes.defaults import desk_defaults
from quotes.desk.kept_lays import kept_by_key, may_be_shorter, with_numbers
from quotes.lay.lay_plan import Effort, LayProblem
from quotes.models import LaySearch
from quotes.searching.presence import is_worker_there

__all__ = ["PROBLEM", "SILENCE", "ask", "ask_in_idle_time", "ask_to_stop", "is_drawn_by_a_worker"]

PROBLEM = Codec(kind=LayProblem, version=1)
"""A problem as it stands in a search."""
SILENCE = timedelta(seconds=desk_defaults().lay.silent_seconds)
"""A search without a sign of life for so long was broken off."""
_State = LaySearch.State


def ask(problems: Mapping[str, LayProblem], effort: Effort, *, user: User) -> list[LaySearch]:
    """Ask for those lays that were never drawn, or that a search of that effort may make shorter.

    One that is searched for already is not asked for twice; from idle time it is taken over, and where it is searched with
    less effort, it is searched again with more when that is over.

    Args:
        problems: by the keys that their lays are kept by.

    Returns:
        The searches that are under way now for any of the lays.
    """
    kept = kept_by_key(problems)
    lacking = [key for key in problems if key not in kept or may_be_shorter(problems[key], kept[key], effort)]
    for key in lacking:
        under_way = LaySearch.objects.under_way().filter(key=key)
        # Whoever draws it in idle time finds that it is no longer theirs.
        is_taken_over = under_way.filter(asked_by=None).update(
            asked_by=user, effort=effort, state=_State.WAITING, attempt=F("attempt") + 1
        )
        if effort is Effort.THOROUGH:
            under_way.filter(state=_State.WAITING).update(effort=effort)
            under_way.filter(state=_State.RUNNING).exclude(effort=effort).update(wanted_effort=effort)
        if not is_taken_over:
            _add(key, problems[key], effort, user)
    return list(LaySearch.objects.under_way().filter(key__in=problems))


def ask_in_idle_time(key: str, problem: LayProblem) -> None:
    """Ask for a turn of idle time for a lay, where nobody asks for it already."""
    _add(key, problem, Effort.NORMAL, None)


def ask_to_stop(searches: Collection[int]) -> None:
    """Ask that searches end with the best that they have; one that waits is over at once."""
    under_way = LaySearch.objects.under_way().filter(pk__in=searches)
    under_way.filter(state=_State.WAITING).update(state=_State.STOPPED, problem=None, finished_at=timezone.now())
    under_way.update(is_stop_asked=True)


def is_drawn_by_a_worker(searches: Collection[LaySearch], *, at: datetime) -> bool:
    """Tell whether a worker is there for searches, or was a moment ago, so that nobody else need draw them."""
    signs = [search.heartbeat_at or search.created_at for search in searches if not search.is_over]
    return is_worker_there() or any(abs(at - sign) < SILENCE for sign in signs)


def _add(key: str, problem: LayProblem, effort: Effort, user: User | None) -> None:
    try:
        with transaction.atomic():
            LaySearch.objects.create(
                key=key, problem=PROBLEM.written(with_numbers(problem)), effort=effort, asked_by=user
            )
    except IntegrityError:
        # Another asked at the same moment: one search is enough.
        if not LaySearch.objects.under_way().filter(key=key).exists():
            raise
