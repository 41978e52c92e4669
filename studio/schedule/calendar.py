"""The working calendar: how many minutes of work each day has."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from inventory.ground.findings import refuse

__all__ = ["WorkingCalendar"]

DAYS_OF_A_YEAR = 366
MINUTES_OF_A_DAY = 1440


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingCalendar:
    """When the studio works.

    Attributes:
        minutes_by_weekday: minutes of work on Monday to Sunday, each from 0 to 1440.
        days_off: days on which the maker does not work.
        holidays: days on which nobody does.

    Raises:
        Refused: another number of weekdays than seven, minutes that no day has, or no working minute at all.
    """

    minutes_by_weekday: tuple[int, ...]
    days_off: frozenset[date] = field(default_factory=frozenset)
    holidays: frozenset[date] = field(default_factory=frozenset)

    def __post_init__(self) -> None:
        if len(self.minutes_by_weekday) != 7:
            raise refuse(
                "calendar.weekdays",
                "working hours",
                f"Working hours are said for {len(self.minutes_by_weekday)} days; a week has 7.",
                "Give the hours of each day from Monday to Sunday, 0 for a free one.",
            )
        for minutes in self.minutes_by_weekday:
            if not 0 <= minutes <= MINUTES_OF_A_DAY:
                raise refuse(
                    "calendar.minutes",
                    "working hours",
                    f"A day of {minutes} minutes is not possible; a day has 0 to {MINUTES_OF_A_DAY}.",
                )
        if not any(self.minutes_by_weekday):
            raise refuse(
                "calendar.no-time",
                "working hours",
                "No weekday has any working time.",
                "Give at least one weekday some hours.",
            )

    def is_off(self, day: date) -> bool:
        """Whether a day was taken off, by the maker or by all."""
        return day in self.days_off or day in self.holidays

    def minutes_on(self, day: date) -> int:
        """Return the minutes of work that a day has.

        >>> WorkingCalendar(minutes_by_weekday=(360, 360, 360, 360, 240, 0, 0)).minutes_on(date(2027, 1, 1))
        240
        """
        return 0 if self.is_off(day) else self.minutes_by_weekday[day.weekday()]

    def days_from(self, start: date) -> Iterator[tuple[date, int]]:
        """Yield each day from `start` on, free ones too, with its minutes.

        Raises:
            Refused: a whole year without a working minute.
        """
        day, free_days = start, 0
        while free_days < DAYS_OF_A_YEAR:
            minutes = self.minutes_on(day)
            free_days = 0 if minutes else free_days + 1
            yield day, minutes
            day += timedelta(days=1)
        raise refuse(
            "calendar.no-time",
            "days off",
            f"The year up to {day.isoformat()} has no working day.",
            "Take out some of the days off.",
        )
