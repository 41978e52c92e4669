"""The day's close in words: what was ticked without time, which entries may hold it, how long the day was."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid4

from django.contrib.auth.models import User

from inventory.ground.wording import day_text, minutes_text, named_text
from studio.bench.bench_page import RunningRow, running_row
from studio.bench.day_close import Unanswered, unanswered
from studio.bench.day_forms import QUICK_MINUTES
from studio.jobs.presence import logged_on
from studio.models import DayPresent, Job, TimeEntry

__all__ = ["Answer", "AskedGroup", "AskedOperation", "DayPage", "day_page", "too_short_text"]

MOST_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What was said of a job's day and could not be taken, with why."""

    job: int
    day: str
    checked: Collection[str]
    entry: str
    minutes: str
    faults: Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedOperation:
    """An operation that was ticked without time."""

    pk: int
    name: str
    planned: str
    is_checked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedGroup:
    """What was ticked at a job on a day; `entries` of that day, or all of a delivered piece, may hold its time, in words,
    the chosen one marked.

    `key` makes a double press count once.
    """

    job: Job
    day: date
    when: str
    operations: list[AskedOperation]
    entries: list[tuple[int, str, bool]]
    key: UUID
    minutes: str
    faults: Sequence[str]
    is_elsewhere: bool

    @property
    def slug(self) -> str:
        """What tells its fields from those of other groups."""
        return f"{self.job.pk}-{self.day:%Y%m%d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPage:
    """All of it. `faults` are those of an answer whose question does not stand any more.

    `logged` is what was logged today, `too_short` says that this is more than was said of the day.
    """

    running: RunningRow | None
    groups: list[AskedGroup]
    faults: Sequence[str]
    present_min: int | None
    logged: str
    too_short: str
    quick: Sequence[int] = QUICK_MINUTES


def day_page(*, user: User, on: date, answer: Answer | None = None) -> DayPage:
    """Return the close of a day for one person, with an answer that could not be taken."""
    asked = unanswered(user)
    entries = _entries(asked)
    groups = [_group(group, _near(group, entries[group.job.pk]), user=user, on=on, answer=answer) for group in asked]
    present = DayPresent.objects.filter(day=on, by=user).first()
    logged = logged_on(on, user)
    return DayPage(
        running=running_row(user),
        groups=groups,
        faults=answer.faults if answer is not None and not any(group.faults for group in groups) else (),
        present_min=present.minutes if present is not None else None,
        logged=minutes_text(logged) if logged else "",
        too_short=too_short_text(present.minutes, logged) if present is not None else "",
    )


def too_short_text(present_min: int, logged_min: int) -> str:
    """Return what is odd about a day that was shorter than its logged time; empty where it is not."""
    if present_min >= logged_min:
        return ""
    return f"{minutes_text(present_min)} is less than the {minutes_text(logged_min)} that were logged on that day."


def _entries(asked: Sequence[Unanswered]) -> dict[int, list[TimeEntry]]:
    """The entries that stand at those jobs, in one go; without those in which work was done again."""
    by_job: dict[int, list[TimeEntry]] = defaultdict(list)
    if asked:
        stands = TimeEntry.objects.standing().filter(cause="").exclude(minutes=0).with_operations().select_related("by")
        for entry in stands.filter(operation__job__in={group.job.pk for group in asked}):
            by_job[entry.operation.job_id].append(entry)
    return by_job


def _near(group: Unanswered, entries: Sequence[TimeEntry]) -> list[TimeEntry]:
    """Those of the day on which it was ticked; of a delivered piece all, as its day is that of the delivery."""
    return [entry for entry in entries if entry.day == group.day or not group.job.is_open]


def _group(
    group: Unanswered, entries: Sequence[TimeEntry], *, user: User, on: date, answer: Answer | None
) -> AskedGroup:
    said = answer if answer is not None and (answer.job, answer.day) == (group.job.pk, group.day.isoformat()) else None
    return AskedGroup(
        job=group.job,
        day=group.day,
        when=_when(group, on),
        operations=[
            AskedOperation(
                pk=operation.pk,
                name=operation.name,
                planned=minutes_text(operation.planned_min),
                is_checked=said is None or str(operation.pk) in said.checked,
            )
            for operation in group.operations
        ],
        entries=[
            (entry.pk, _entry_words(entry, group, user), said is not None and str(entry.pk) == said.entry)
            for entry in entries
        ],
        key=uuid4(),
        minutes=said.minutes if said is not None else "",
        faults=said.faults if said is not None else (),
        is_elsewhere=said is not None and bool(said.entry),
    )


def _when(group: Unanswered, on: date) -> str:
    if not group.job.is_open:
        return f"delivered on {day_text(group.day)}"
    return "" if group.day == on else day_text(group.day)


def _entry_words(entry: TimeEntry, group: Unanswered, user: User) -> str:
    at = named_text([operation.name for operation in entry.worked_operations()], most=MOST_NAMED)
    more = (
        day_text(entry.day) if entry.day != group.day else "",
        "runs" if entry.ended_at is None else "",
        str(entry.by) if entry.by_id != user.pk else "",
    )
    return ", ".join([f"{minutes_text(entry.so_far_min)} at {at}", *filter(None, more)])
