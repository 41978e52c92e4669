"""How long people were at the bench, beside what they logged: a witness of time that nobody wrote down."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User
from django.db.models import QuerySet

from studio.jobs.sittings import who_worked
from studio.models import DayPresent, TimeEntry

__all__ = ["Presence", "logged_on", "presence_seen"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Presence:
    """One person's day.

    Attributes:
        by: the person's row.
        present_min: how long they were at the bench, all in all, as they said.
        logged_min: what stands of their time on that day, at whatever job and for whatever cause.
    """

    day: date
    by: int
    present_min: int
    logged_min: int


def presence_seen() -> tuple[Presence, ...]:
    """Return the days of which somebody said how long they were there, the first day first."""
    said = DayPresent.objects.order_by("day", "by").values_list("day", "by", "minutes")
    logged = _logged(TimeEntry.objects.filter(day__in=DayPresent.objects.values("day")))
    return tuple(Presence(day=day, by=by, present_min=minutes, logged_min=logged[day, by]) for day, by, minutes in said)


def logged_on(day: date, user: User) -> int:
    """Return the minutes of a person's time that stand on a day; a timer that still runs is not among them."""
    return _logged(TimeEntry.objects.filter(day=day))[day, user.pk]


def _logged(entries: QuerySet[TimeEntry]) -> Counter[tuple[date, int]]:
    """Minutes by day and by who worked them."""
    worked_by = who_worked()
    logged: Counter[tuple[date, int]] = Counter()
    stands = entries.filter(replaced_by__isnull=True, minutes__gt=0)
    for day, minutes, replaces, by in stands.values_list("day", "minutes", "replaces", "by"):
        logged[day, worked_by(replaces, by)] += minutes or 0
    return logged
