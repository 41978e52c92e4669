"""A search that stands back for other programs: in a thread of its own, since no thread may come forward again."""

import os
import threading
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TypeVar

from quotes.lay.budget import Stop
from quotes.lay.nest import Search

__all__ = ["standing_back"]

_LOOK_SECONDS = 0.1
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class _Messages:
    """What the searching thread tells and is told; whoever asked is spoken to in the thread that asked."""

    lengths: deque[float] = field(default_factory=deque)
    stop: threading.Event = field(default_factory=threading.Event)


def standing_back(search: Search, searched: Callable[[Search], Result]) -> Result:
    """Return what a search comes to, with all of its work as far back as its niceness says.

    `on_progress` and `stop` of the search are asked in the calling thread alone, which only waits.
    """
    if not search.niceness:
        return searched(search)
    messages = _Messages()
    within = replace(search, on_progress=messages.lengths.append, stop=messages.stop)
    with ThreadPoolExecutor(1, initializer=_stand_back, initargs=(search.niceness,)) as pool:
        result = pool.submit(searched, within)
        try:
            while not wait([result], timeout=_LOOK_SECONDS).done:
                _pass_on(messages, search.on_progress, search.stop)
        except BaseException:
            # Whoever asked is gone; the pool waits for the search, which has nobody to find anything for.
            messages.stop.set()
            raise
        _pass_on(messages, search.on_progress, None)
        return result.result()


def _pass_on(messages: _Messages, on_progress: Callable[[float], None] | None, stop: Stop | None) -> None:
    while messages.lengths:
        length = messages.lengths.popleft()
        if on_progress:
            on_progress(length)
    if stop and stop.is_set():
        messages.stop.set()


def _stand_back(niceness: int) -> None:
    # Linux counts it for each thread; elsewhere the engine alone stands back.
    with suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), niceness)
