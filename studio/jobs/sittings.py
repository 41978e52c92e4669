"""Sittings at the bench, as every room reads them: what each operation took of the time that was logged."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import itemgetter
from typing import Any, NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from quotes.labour.sitting import shares
from studio.models import JobOperation, TimeEntry

__all__ = ["Worked", "who_worked", "without_time", "worked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """An operation's part of an entry: all of it, or its share of a sitting over several.

    Attributes:
        operation: its row; `place`, `code` and `name` are that operation's.
        minutes: whole minutes, up to now where it still runs; the parts of an entry add up to it.
        cause: empty for planned work, else why it was done again.
    """

    entry: int
    operation: int
    place: int
    code: str
    name: str
    by: int
    day: date
    cause: str
    minutes: int
    is_running: bool


class _Operation(NamedTuple):
    """An operation of a sitting; they sort in the order of the work."""

    place: int
    pk: int
    code: str
    name: str
    planned_min: float


_ENTRY = ("pk", "by_id", "day", "cause", "minutes", "started_at")


def worked(entries: QuerySet[TimeEntry]) -> list[Worked]:
    """Return the entries' time by operation, in the order in which they were begun; in one query."""
    first = (f"operation__{name}" for name in _Operation._fields)
    others = (f"also__operation__{name}" for name in _Operation._fields)
    rows = entries.order_by("started_at", "pk").values_list(*_ENTRY, *first, *others)
    return [part for _, sitting in groupby(rows, key=itemgetter(0)) for part in _parts(list(sitting))]


def who_worked() -> Callable[[int | None, int], int]:
    """Return what tells, of the entry that one replaces (None for none) and who wrote it, who worked: whoever logged it
    first, not who corrected it. In one query.
    """
    replaced = TimeEntry.objects.filter(replaced_by__isnull=False)
    before = {pk: (replaces, by) for pk, replaces, by in replaced.values_list("pk", "replaces", "by")}

    def first_of(replaces: int | None, by: int) -> int:
        while replaces is not None:
            replaces, by = before[replaces]
        return by

    return first_of


def without_time(operations: QuerySet[JobOperation]) -> QuerySet[JobOperation]:
    """Return those at which no time stands and no timer runs, of their own or in a sitting with others.

    Time in which work was done again says nothing of how long it took at first.
    """
    timed = TimeEntry.objects.standing().filter(Q(minutes__gt=0) | Q(ended_at__isnull=True), cause="")
    return operations.exclude(Exists(timed.filter(operation=OuterRef("pk")))).exclude(
        Exists(timed.filter(also__operation=OuterRef("pk")))
    )


def _parts(rows: Sequence[Sequence[Any]]) -> Iterator[Worked]:
    """The parts of one entry; it has a row for each further operation, or one alone."""
    known, many = len(_ENTRY), len(_Operation._fields)
    pk, by, day, cause, minutes, started_at = rows[0][:known]
    others = [_Operation(*row[known + many :]) for row in rows if row[-1] is not None]
    operations = sorted([_Operation(*rows[0][known : known + many]), *others])
    is_running = minutes is None
    whole = round((timezone.now() - started_at).total_seconds() / 60) if is_running else minutes
    for operation, share in zip(
        operations, shares(whole, [operation.planned_min for operation in operations]), strict=True
    ):
        yield Worked(
            entry=pk,
            operation=operation.pk,
            place=operation.place,
            code=operation.code,
            name=operation.name,
            by=by,
            day=day,
            cause=cause,
            minutes=share,
            is_running=is_running,
        )
