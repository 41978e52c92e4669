"""The diary of the demo: acts of the past, each done on its own day through the use cases that the pages call."""

import heapq
import itertools
import random
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from unittest import mock
from uuid import UUID

from django.contrib.auth.models import User
from django.db import connection
from django.utils import timezone

from inventory.stock.ledger import Act

__all__ = ["Diary"]

FRIDAY = 4
ACTS_BETWEEN_STATISTICS = 100


class Diary:
    """Acts to come, by day. Days are counted back from today, draws come from a fixed seed: the story stays the same.

    Attributes:
        maker: who does it all.
        chance: every draw of the story, in the order in which it is told.
    """

    def __init__(self, maker: User) -> None:
        self.maker = maker
        self.chance = random.Random(1911)
        self._now = timezone.now()
        self._acts: list[tuple[datetime, int, Callable[[], None]]] = []
        self._numbers = itertools.count()

    def day(self, days_ago: int) -> date:
        """The day so many days before the one on which the demo is loaded."""
        return timezone.localdate(self._now) - timedelta(days=days_ago)

    def plan(self, day: date, act: Callable[[], None], *, hour: int = 9) -> None:
        """Do `act` on a day; acts of one hour in the order in which they were planned."""
        at = timezone.make_aware(datetime.combine(day, time(hour)))
        heapq.heappush(self._acts, (at, next(self._numbers), act))

    def live(self) -> None:
        """Do what was planned up to now, day by day; an act may plan others. What is still to come stays undone."""
        for done in itertools.count(1):
            if not self._acts or self._acts[0][0] > self._now:
                return
            at, _, act = heapq.heappop(self._acts)
            with mock.patch.object(timezone, "now", return_value=at):
                act()
            if done % ACTS_BETWEEN_STATISTICS == 0 and connection.vendor == "postgresql":
                # Within one transaction the server does not notice that tables are no longer empty, and plans badly.
                connection.cursor().execute("ANALYZE")

    def key(self) -> UUID:
        """A key as a form would carry it."""
        return UUID(int=self.chance.getrandbits(128), version=4)

    def act(self, why: str = "") -> Act:
        """An act of the ledger, of the day that is lived."""
        return Act(key=self.key(), by=self.maker, why=why)


def workday(day: date) -> date:
    """Return a day, or the Monday after it where it falls on a weekend."""
    return day + timedelta(days=7 - day.weekday()) if day.weekday() > FRIDAY else day
