"""Time of the processor for a lay: what it may take, and what of that each part of the work may.

All is time of the processor, never of the clock: a busy machine draws the same lay, later.
"""

import time
from dataclasses import dataclass, replace
from typing import Protocol

__all__ = ["ENDLESS", "Budget", "OverError", "Stop", "Watch"]


class Stop(Protocol):
    """What can ask a search to end, such as a `threading.Event`."""

    def is_set(self) -> bool:
        """Whether it was asked."""


class OverError(Exception):
    """The time for a part of the work is over, or somebody asked to end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """Says to whoever works at a part whether to go on; asked often, since being asked to stop is a sign of life as well.

    Attributes:
        until: of the time that the thread had of the processor.
        stop: asks to end.
    """

    until: float = float("inf")
    stop: Stop | None = None

    def is_over(self) -> bool:
        """Whether to end."""
        return bool(self.stop and self.stop.is_set()) or time.thread_time() >= self.until

    def look(self) -> None:
        """Go on, or raise OverError."""
        if self.is_over():
            raise OverError

    def within(self, seconds: float) -> "Watch":
        """Return a watch that ends after so many seconds, or with this one."""
        return replace(self, until=min(self.until, time.thread_time() + seconds))


ENDLESS = Watch()


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """`seconds` for each lay that is tried on given cloth, or for all of them where `is_for_all`."""

    seconds: float
    is_for_all: bool = False

    def parted(self, share: float) -> "Budget":
        """Return a part of what is for all; what is for each is not parted."""
        return replace(self, seconds=self.seconds * share) if self.is_for_all else self

    def enough_for(self, tries: int, least: float) -> int:
        """Return how many of so many tries are worth beginning, where none is with less than `least` seconds."""
        return min(tries, int(self.seconds / least)) if self.is_for_all else tries
