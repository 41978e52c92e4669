"""Searches for lays in tests: a worker that is said to be there, and plans that are made rather than searched for."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.nest import Search, lay
from quotes.searching.presence import present
from quotes.searching.worker import Worker

__all__ = ["Engine", "worker_by_hand", "worker_there"]


@contextmanager
def worker_there(settings: Any, folder: Path) -> Iterator[None]:
    """A worker is there, and does nothing."""
    settings.LAY_WORKER_LOCK = folder / "lay-worker.lock"
    with present(alone=lambda: None):
        yield


def worker_by_hand(*, works_in_idle_time: bool = True) -> Worker:
    """A worker that nothing ends, made to step by hand."""
    return Worker(wait=lambda _: False, is_over=lambda: False, works_in_idle_time=works_in_idle_time)


@dataclass(kw_only=True)
class Engine:
    """Stands for `laid`: lays in rows, so many times as long, and told of as the engine tells of its own.

    Attributes:
        times: how long the next lay is, in lengths of the rows.
        method: what the next lay says.
        meanwhile: what happens between two looks whether the search has to stop.
        asked: effort, time of the processor and search of each call.
    """

    times: float = 1.0
    method: str = "packed"
    meanwhile: Callable[[], object] = lambda: None
    asked: list[tuple[Effort, float | None, Search]] = field(default_factory=list)

    def __call__(self, problem: LayProblem, effort: Effort, *, seconds: float | None = None, search: Search) -> LayPlan:
        self.asked.append((effort, seconds, search))
        rows = lay(problem, Effort.NONE)
        length = rows.length * self.times
        assert search.stop
        assert search.on_progress
        search.on_progress(length)
        is_stopped = search.stop.is_set()
        self.meanwhile()
        is_stopped = is_stopped or search.stop.is_set()
        plan = replace(rows, effort=effort, method="stopped" if is_stopped else self.method)
        return replace(plan, length=length, density_share=rows.density_share / self.times)
