"""The worker: draws what is asked for, and in idle time what may come out shorter. It may be killed at any moment."""

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import chain
from time import monotonic

from django.db import Error, close_old_connections
from django.utils import timezone

from quotes.defaults import desk_defaults
from quotes.desk.kept_lays import better, keep, kept_by_key, may_be_shorter
from quotes.lay.beginnings import SEEDS
from quotes.lay.lay_plan import Effort, LayPlan
from quotes.lay.laying import laid
from quotes.lay.nest import SEED, Search
from quotes.models import LaySearch
from quotes.searching.asking import ask_in_idle_time
from quotes.searching.holding import Holding, put_back_orphans, take_up
from quotes.searching.idle_time import Candidate, candidates, turns_had
from quotes.searching.presence import present

__all__ = ["LOOK_SECONDS", "Worker"]

logger = logging.getLogger(__name__)

LOOK_SECONDS = 0.5
"""While nothing is asked for, it is looked so often."""
AFTER_FAULT_SECONDS = 10.0
LOWEST = 19
"""How far a search in idle time stands back for other programs: as far as it can."""
_State = LaySearch.State


@dataclass(kw_only=True)
class Worker:
    """Draws lays until it has to end.

    Attributes:
        wait: returns True once the worker has to end, else False after so many seconds.
        is_over: says that it has to end.
        beside: does what is to be done with lays that were drawn, and tells whether there was anything to do.
        works_in_idle_time: whether lays are made shorter while nobody asks for any.
        more: yields other lays that idle time is for, beside those of quotes, each time that it is looked for them.
    """

    wait: Callable[[float], bool]
    is_over: Callable[[], bool]
    beside: Callable[[], bool] = lambda: False
    works_in_idle_time: bool = True
    more: Callable[[], Iterator[Candidate]] = lambda: iter(())
    _left: Iterator[Candidate] = field(default_factory=lambda: iter(()))
    _next_look: float = 0.0

    def run(self) -> None:
        """Draw what waits, one lay after the other. Once it is at work nothing that fails ends it, and each failure is logged."""
        with present(alone=put_back_orphans):
            while not self.is_over():
                try:
                    pause = 0.0 if self.step() else LOOK_SECONDS
                except Exception as error:
                    logger.exception("A lay was not drawn")
                    pause = AFTER_FAULT_SECONDS
                    if isinstance(error, Error):
                        # The next look connects anew.
                        close_old_connections()
                if pause and self.wait(pause):
                    return

    def step(self) -> bool:
        """Draw the next lay, and tell whether there was anything to do."""
        is_moved_on = self.beside()
        holding = take_up(in_idle_time=self.works_in_idle_time)
        if holding is None:
            return is_moved_on or (self.works_in_idle_time and self._has_found_work())
        holding.is_over = self.is_over
        try:
            self._draw(holding)
        except Error:
            raise
        except Exception:
            holding.end(_State.FAILED)
            raise
        return True

    def _draw(self, holding: Holding) -> None:
        search, key = holding.search, holding.search.key
        effort, kept = Effort(search.effort), kept_by_key([key]).get(key)
        if kept is not None:
            holding.note_lay(kept)
            if not search.is_for_idle_time and not may_be_shorter(holding.problem, kept, effort):
                holding.end(_State.DONE)
                return
        plan = self._searched(holding, effort)
        keep(key, plan, holding.problem)
        if plan.method == "stopped" and not search.is_stop_asked:
            holding.put_back()
            return
        if not plan.has_failed:
            holding.note_lay(plan if kept is None else better(kept, plan, holding.problem))
        ended = _State.STOPPED if plan.method == "stopped" else _State.FAILED if plan.ended_early else _State.DONE
        holding.end(ended)

    def _searched(self, holding: Holding, effort: Effort) -> LayPlan:
        """The lay of a search; a turn of idle time is short, its engine stands back, and it starts elsewhere each time."""
        search = Search(on_progress=holding.note, stop=holding)
        if not holding.search.is_for_idle_time:
            plan = laid(holding.problem, effort, search=search)
            # What minds the cloth asks to stop at its own places, and may not say that it was cut short between them.
            is_cut_short = holding.was_stopped and not holding.problem.is_plain and not plan.has_failed
            return replace(plan, method="stopped") if is_cut_short else plan
        # Each lay begins from some seeds in a row, and so does the one of usual effort.
        seed = SEED + SEEDS * (1 + turns_had(holding.search.key))
        seconds = desk_defaults().lay.idle_cpu_seconds
        return laid(holding.problem, effort, seconds=seconds, search=replace(search, niceness=LOWEST, seed=seed))

    def _has_found_work(self) -> bool:
        """Look now and then which lays idle time is for, and ask for the next of them."""
        candidate = next(self._left, None)
        if candidate is not None:
            ask_in_idle_time(candidate.key, candidate.problem)
        elif monotonic() >= self._next_look:
            self._left = chain(candidates(on=timezone.localdate()), self.more())
            self._next_look = monotonic() + 60 * desk_defaults().lay.idle_look_minutes
        else:
            return False
        return True
