"""Use cases of the working days: hours at the table, days off, and what is really worked of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Sum

from inventory.ground.findings import refuse
from inventory.ground.wording import day_text
from quotes.workroom.settings import standard_times
from studio.calendar.endings import Ending
from studio.defaults import studio_defaults
from studio.models import DayOff, TimeEntry, WorkingHours
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.promise import PACE_SHARE
from studio.schedule.worked import DAYS_OF_A_WEEK, WorkedShare, worked_share, worked_weeks

__all__ = ["Days", "add_day_off", "days_known", "remove_day_off", "save_hours", "working_calendar"]

MOST_DAYS_OFF = 366


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """The working days with their days off, past ones too, and what is known of how much of them is worked.

    `pace_share` is how much of what makes jobs quick or slow they have in common, as far as that was learnt.
    """

    calendar: WorkingCalendar
    days_off: tuple[DayOff, ...]
    worked: WorkedShare
    pace_share: float


def days_known(endings: Sequence[Ending], on: date) -> Days:
    """Return the working days and how they really went up to a day; `endings` are those of all jobs."""
    hours, days_off = _working_hours(), list(DayOff.objects.all())
    since = on - timedelta(days=studio_defaults().calendar.weeks_remembered * DAYS_OF_A_WEEK + on.weekday())
    logged = dict(
        TimeEntry.objects.standing()
        .filter(day__gte=since, day__lt=on, minutes__isnull=False)
        .order_by()
        .values_list("day")
        .annotate(total=Sum("minutes"))
    )
    known_before = [row for row in days_off if row.noted_on is None or row.noted_on < row.first]
    weeks = worked_weeks(
        usual=lambda day: _minutes_then(hours, day),
        days_off=_days_of(known_before),
        logged=logged,
        open_spans=[ending.at_the_table for ending in endings if (ending.at_the_table[1] or on) > since],
        today=on,
    )
    learnt = standard_times().learnt_range
    return Days(
        calendar=_calendar(hours, days_off),
        days_off=tuple(days_off),
        worked=worked_share(weeks),
        pace_share=PACE_SHARE if learnt is None or learnt.common_share is None else learnt.common_share,
    )


def working_calendar() -> WorkingCalendar:
    """Return the studio's working days."""
    return _calendar(_working_hours(), DayOff.objects.all())


@transaction.atomic
def save_hours(minutes: Sequence[int], *, on: date) -> None:
    """Keep the minutes of work on Monday to Sunday from a day on; what held before is still known of the days before.

    Raises:
        Refused: minutes that no day has, or a week without any.
    """
    kept = list(WorkingCalendar(minutes_by_weekday=tuple(minutes)).minutes_by_weekday)
    row = WorkingHours.objects.select_for_update().filter(pk=1).first()
    if row is None:
        WorkingHours.objects.create(pk=1, minutes_by_weekday=kept)
    elif row.minutes_by_weekday != kept:
        until = (on - timedelta(days=1)).isoformat()
        earlier = list(row.earlier)
        if not earlier or earlier[-1][0] < until:
            earlier.append([until, row.minutes_by_weekday])
        WorkingHours.objects.filter(pk=1).update(minutes_by_weekday=kept, earlier=earlier)


@transaction.atomic
def add_day_off(*, first: date, last: date, words: str, on: date) -> DayOff:
    """Keep days without work, first and last included; the same days and words count once.

    Raises:
        Refused: a last day before the first, more than a year of them, or a year to come without a working day.
    """
    if last < first:
        raise refuse(
            "calendar.days-turned",
            "last",
            f"The last day, {day_text(last)}, is before the first, {day_text(first)}.",
            "Turn them round.",
        )
    if (last - first).days >= MOST_DAYS_OFF:
        raise refuse(
            "calendar.days-long",
            "last",
            f"From {day_text(first)} to {day_text(last)} is more than a year.",
            "Enter at most a year at once.",
        )
    kept = DayOff.objects.get_or_create(first=first, last=last, words=words, defaults={"noted_on": on})[0]
    # Walking past the new days meets a year without work, if there is one now.
    for day, _ in working_calendar().days_from(min(on, first)):
        if day > last + timedelta(days=MOST_DAYS_OFF):
            break
    return kept


def remove_day_off(day_off: DayOff) -> None:
    """Work on those days after all."""
    day_off.delete()


def _working_hours() -> WorkingHours:
    """The one row of working hours; the preset where none was kept."""
    preset = list(studio_defaults().calendar.minutes_by_weekday)
    return WorkingHours.objects.get_or_create(pk=1, defaults={"minutes_by_weekday": preset})[0]


def _minutes_then(hours: WorkingHours, day: date) -> int:
    """Minutes at the table on a day by the hours that held then."""
    then = next((minutes for until, minutes in hours.earlier if day.isoformat() <= until), hours.minutes_by_weekday)
    return int(then[day.weekday()])


def _calendar(hours: WorkingHours, days_off: Iterable[DayOff]) -> WorkingCalendar:
    return WorkingCalendar(minutes_by_weekday=tuple(hours.minutes_by_weekday), days_off=_days_of(days_off))


def _days_of(days_off: Iterable[DayOff]) -> frozenset[date]:
    return frozenset(
        row.first + timedelta(days=number) for row in days_off for number in range((row.last - row.first).days + 1)
    )
