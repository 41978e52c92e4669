"""What speaks against an appointment: it is past, the workroom is closed, or somebody else comes then."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from inventory.ground.findings import Finding, warn
from inventory.ground.wording import day_text, minutes_text
from studio.schedule.calendar import WorkingCalendar

__all__ = ["Appointment", "doubts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """When somebody comes and for how long; `name` says for what. Its moment is in the workroom's own time."""

    name: str
    at: datetime
    minutes: int

    @property
    def ends(self) -> datetime:
        """When the next may come."""
        return self.at + timedelta(minutes=self.minutes)


def doubts(
    wanted: Appointment, others: Iterable[Appointment], calendar: WorkingCalendar, *, today: date
) -> tuple[Finding, ...]:
    """Return a warning for each thing that speaks against an appointment; it may be wanted all the same."""
    day = wanted.at.date()
    found = []
    if day < today:
        found.append(warn("fitting.past", "at", f"{day_text(day)} is past."))
    if calendar.is_off(day):
        found.append(warn("fitting.day-off", "at", f"{day_text(day)} is a day off."))
    elif not calendar.minutes_on(day):
        found.append(warn("fitting.free-weekday", "at", f"{day:%A}s have no hours at the table."))
    found += [
        warn(
            "fitting.overlap",
            "at",
            f"{other.name} is planned for {other.at:%H:%M} on that day and takes {minutes_text(other.minutes)}.",
        )
        for other in others
        if other.at < wanted.ends and wanted.at < other.ends
    ]
    return tuple(found)
