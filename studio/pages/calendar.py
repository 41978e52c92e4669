"""The calendar in words: by when each open job is finished, and which day is at risk."""

from dataclasses import dataclass
from datetime import date

from inventory.findings import Finding, Refused
from inventory.wording import day_text, minutes_text, named_text
from studio.models import Job
from studio.schedule.calendar import WorkingCalendar
from studio.schedule.outlook import Outlook
from studio.services.arrivals import Materials, ToOrder
from studio.services.calendar import Ahead, outlook_of, works_ahead

__all__ = ["CalendarPage", "CalendarRow", "calendar_page", "waits_of"]

MOST_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarRow:
    """An open job; `warning` is a sentence where its day is at risk, `is_late` where it is likely to be missed."""

    job: Job
    left: str
    likely: str
    sure: str
    waits: list[str]
    warning: str
    is_late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarPage:
    """All open jobs in the order of work, or why no plan can be made."""

    rows: list[CalendarRow]
    findings: tuple[Finding, ...]


def calendar_page(calendar: WorkingCalendar, *, on: date) -> CalendarPage:
    """Return the open jobs by the working calendar, as they stand on a day."""
    ahead = works_ahead(on)
    try:
        outlooks = outlook_of(ahead, calendar, on)
    except Refused as refusal:
        return CalendarPage(rows=[], findings=refusal.findings)
    return CalendarPage(rows=[_row(*pair) for pair in zip(ahead, outlooks, strict=True)], findings=())


def waits_of(materials: Materials) -> list[str]:
    """Return what materials keep a piece waiting for, as sentences."""
    said = []
    if materials.ordered_by is not None:
        said.append(f"Materials that are ordered come by {day_text(materials.ordered_by)}.")
    if materials.to_order:
        said.append(f"Short and not ordered: {', '.join(_once_ordered(row) for row in materials.to_order)}.")
    if materials.there_on is not None:
        said.append(f"The cloth is not touched before {day_text(materials.there_on)}.")
    if materials.offered_by_nobody:
        named = named_text(materials.offered_by_nobody, most=MOST_NAMED)
        said.append(f"Waits for material that nobody offers: {named}. The days count as if it were there.")
    return said


def _once_ordered(row: ToOrder) -> str:
    named = named_text(row.names, most=MOST_NAMED)
    return f"{named} (once ordered today, from {row.supplier}, by {day_text(row.there_on)})"


def _row(ahead: Ahead, found: Outlook) -> CalendarRow:
    job = ahead.job
    agreed = "promised" if job.promised else "wanted"
    day = ahead.work.promised
    warning = ""
    if day is not None and found.day_50 > day:
        warning = f"Likely to be late: {agreed} for {day_text(day)}."
    elif day is not None and found.day_90 > day:
        warning = (
            f"Not sure: {agreed} for {day_text(day)}, and nine times in ten finished only by {day_text(found.day_90)}."
        )
    return CalendarRow(
        job=job,
        left=minutes_text(sum(stage.minutes for stage in ahead.work.stages)),
        likely=day_text(found.day_50),
        sure=day_text(found.day_90),
        waits=waits_of(ahead.materials),
        warning=warning,
        is_late=day is not None and found.day_50 > day,
    )
