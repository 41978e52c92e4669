"""What has its day in the calendar: fittings that are planned and not held, and days off."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from inventory.ground.wording import day_text, minutes_text
from studio.calendar.work_ahead import Ahead
from studio.models import DayOff, Job

__all__ = ["AgendaRow", "agenda"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AgendaRow:
    """A fitting with its job, or days off without one; `has_passed` where a fitting's day went by and it was not held."""

    when: str
    what: str
    job: Job | None
    has_passed: bool


def agenda(ahead: Sequence[Ahead], days_off: Iterable[DayOff], *, on: date) -> list[AgendaRow]:
    """Return open fittings and the days off that are not over, in the order of their days; on one day, days off first."""
    rows = [
        ((row.first, ""), AgendaRow(when=_days(row), what=row.words or "Day off", job=None, has_passed=False))
        for row in days_off
        if row.last >= on
    ]
    for open_job in ahead:
        for fitting in open_job.fittings:
            local = timezone.localtime(fitting.at)
            clock = f"{local:%H:%M}"
            rows.append(
                (
                    (local.date(), clock),
                    AgendaRow(
                        when=f"{local:%A}, {day_text(local.date())}, {clock}",
                        what=f"{fitting.get_kind_display()}, {minutes_text(fitting.minutes)}",
                        job=open_job.job,
                        has_passed=local.date() < on,
                    ),
                )
            )
    return [row for _, row in sorted(rows, key=lambda entry: entry[0])]


def _days(row: DayOff) -> str:
    return day_text(row.first) if row.first == row.last else f"{day_text(row.first)} to {day_text(row.last)}"
