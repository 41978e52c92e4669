"""A search in the hands of a worker: taken up by one at a time, its progress written down, put back or ended."""

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic
from typing import Any

from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.utils import timezone

from quotes.defaults import desk_defaults
from quotes.lay.bounds import least_length, pieces_area
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.models import LaySearch
from quotes.searching.asking import PROBLEM, SILENCE

__all__ = ["Holding", "put_back_orphans", "take_up"]

BEAT_SECONDS = 1.0
"""Signs of life are so far apart at the least."""
_State = LaySearch.State


def put_back_orphans() -> None:
    """Let searches wait that seem to run; for a worker that knows that no other is there."""
    LaySearch.objects.filter(state=_State.RUNNING).update(state=_State.WAITING)


def take_up(*, in_idle_time: bool = True) -> "Holding | None":
    """Take up the search whose turn it is: one that waits, or that another worker left without a sign of life.

    Args:
        in_idle_time: whether also one that nobody asked for.
    """
    now = timezone.now()
    broken_off = Q(state=_State.RUNNING) & (Q(heartbeat_at__lt=now - SILENCE) | Q(heartbeat_at__gt=now + SILENCE))
    searches = LaySearch.objects.filter(Q(state=_State.WAITING) | broken_off)
    for search in (searches if in_idle_time else searches.exclude(asked_by=None)).in_turn():
        held = LaySearch.objects.filter(pk=search.pk, state=search.state, attempt=search.attempt)
        if search.attempt >= desk_defaults().lay.search_attempts:
            held.update(state=_State.FAILED, problem=None, finished_at=now)
        elif held.update(
            state=_State.RUNNING,
            attempt=F("attempt") + 1,
            heartbeat_at=now,
            started_at=Coalesce("started_at", now),
        ):
            search.refresh_from_db()
            # It stands there while the search is under way.
            assert search.problem is not None
            return Holding(search=search, problem=PROBLEM.read(search.problem))
    return None


@dataclass(kw_only=True)
class Holding:
    """A search that was taken up. It asks the engine to stop where it has to, and so is its `Stop`.

    Attributes:
        is_over: says that the worker has to end.
        gave_way: whether it was stopped for what somebody waits for, or since the worker ends.
        is_lost: whether it is in other hands now.
    """

    search: LaySearch
    problem: LayProblem
    is_over: Callable[[], bool] = lambda: False
    best_mm: float | None = None
    shares: dict[str, float] = field(default_factory=dict)
    gave_way: bool = False
    is_lost: bool = False
    _last_beat: float = 0.0

    def note(self, length: float) -> None:
        """Take notice of a lay of that length; it is written down with the next sign of life."""
        if self.best_mm is None or length < self.best_mm:
            self.best_mm = length
            self.shares = {
                "utilisation_share": pieces_area(self.problem) / (length * self.problem.width),
                "above_bound_share": max(0.0, length / least_length(self.problem) - 1),
            }

    def note_lay(self, plan: LayPlan) -> None:
        """Take notice of a lay that is kept; where remnants may be used, a longer one on the roll may be the better one."""
        if self.problem.remnants:
            self.best_mm, self.shares = plan.length, {"utilisation_share": plan.density_share}
        else:
            self.note(plan.length)

    def is_set(self) -> bool:
        """Give a sign of life where it is time for one, and tell whether the search has to end."""
        if self.was_stopped:
            return True
        if self.is_over():
            self.gave_way = True
        elif monotonic() - self._last_beat >= BEAT_SECONDS:
            self._beat()
        return self.was_stopped

    @property
    def was_stopped(self) -> bool:
        """Whether the search was asked to end before it was over."""
        return self.is_lost or self.gave_way or self.search.is_stop_asked

    def put_back(self) -> None:
        """Let it wait for its next turn; it begins anew, and what was kept of it stands. It was not broken off."""
        self._write(state=_State.WAITING, attempt=self.search.attempt - 1)

    def end(self, state: LaySearch.State) -> None:
        """Write down how it ended; where more was asked for meanwhile, and nobody stopped it, it waits to be searched with that."""
        over: dict[str, Any] = {"state": state, "problem": None, "finished_at": timezone.now(), "wanted_effort": ""}
        if state == _State.STOPPED:
            self._write(**over)
        elif not self._write(only=Q(wanted_effort=""), **over):
            self._write(state=_State.WAITING, effort=F("wanted_effort"), wanted_effort="")

    def _beat(self) -> None:
        self._last_beat = monotonic()
        if not self._write(heartbeat_at=timezone.now()):
            self.is_lost = True
            return
        self.search.refresh_from_db(fields=["is_stop_asked"])
        if self.search.is_for_idle_time:
            self.gave_way = LaySearch.objects.filter(state=_State.WAITING).exclude(asked_by=None).exists()

    def _write(self, *, only: Q | None = None, **columns: Any) -> bool:
        """Write on the search while it is still in these hands, and `only` so, and tell whether it is."""
        held = LaySearch.objects.filter(
            only or Q(), pk=self.search.pk, state=_State.RUNNING, attempt=self.search.attempt
        )
        reached = {} if self.best_mm is None else {"best_mm": self.best_mm, **self.shares}
        return bool(held.update(**reached, **columns))
