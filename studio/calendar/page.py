"""The calendar in words: by when each open job is finished, which day is at risk, what has its day, how days were kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.findings import Finding, Refused
from inventory.ground.wording import day_text, late_text, minutes_text, named_text
from studio.calendar.agenda import AgendaRow, agenda
from studio.calendar.arrivals import LateOrder, Materials, ToOrder
from studio.calendar.days import Days
from studio.calendar.endings import Ending
from studio.calendar.evidence import how_days_are_found, turn_text
from studio.calendar.kept_page import KeptPage, kept_page
from studio.calendar.promised_days import judged_jobs
from studio.calendar.work_ahead import Ahead, outlook_of, works_ahead
from studio.jobs.wording import moment_text
from studio.models import Fitting, Job
from studio.schedule.outlook import Outlook

__all__ = ["CalendarPage", "CalendarRow", "calendar_page", "waits_of"]

MOST_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarRow:
    """An open job; `warning` is a sentence where its day is at risk, `is_late` where it is likely to be missed.

    `reasons` say what its minutes and its days rest on.
    """

    job: Job
    left: str
    likely: str
    sure: str
    waits: list[str]
    warning: str
    is_late: bool
    reasons: list[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarPage:
    """All open jobs in the order of work, or why no plan can be made; fittings and days off; how days were kept."""

    rows: list[CalendarRow]
    findings: tuple[Finding, ...]
    agenda: list[AgendaRow]
    kept: KeptPage


def calendar_page(days: Days, ended: Sequence[Ending], *, on: date) -> CalendarPage:
    """Return the open jobs by the working calendar, as they stand on a day; `ended` are the endings of all jobs."""
    ahead = works_ahead(on)
    rows: list[CalendarRow] = []
    findings: tuple[Finding, ...] = ()
    try:
        outlooks = outlook_of(ahead, days, on)
    except Refused as refusal:
        findings = refusal.findings
    else:
        references = [open_job.work.job for open_job in ahead]
        how = how_days_are_found(days.worked)
        rows = [
            _calendar_row(open_job, outlook, references[:place], how)
            for place, (open_job, outlook) in enumerate(zip(ahead, outlooks, strict=True))
        ]
    return CalendarPage(
        rows=rows,
        findings=findings,
        agenda=agenda(ahead, days.days_off, on=on),
        kept=kept_page(judged_jobs(ended)),
    )


def waits_of(materials: Materials) -> list[str]:
    """Return what materials keep a piece waiting for, as sentences."""
    waits = []
    if materials.ordered_by is not None:
        waits.append(f"Materials that are ordered come by {day_text(materials.ordered_by)}.")
    waits += [_late(late) for late in materials.late]
    if materials.to_order:
        waits.append(f"Short and not ordered: {'; '.join(_once_ordered(to_order) for to_order in materials.to_order)}.")
    if materials.there_on is not None:
        waits.append(f"The cloth is not touched before {day_text(materials.there_on)}.")
    if materials.offered_by_nobody:
        named = named_text(materials.offered_by_nobody, most=MOST_NAMED)
        waits.append(f"Waits for material that nobody offers: {named}. The days count as if it were there.")
    return waits


def _late(late: LateOrder) -> str:
    named = named_text(late.names, most=MOST_NAMED)
    uncounted = "" if late.is_counted_on else " It is not counted on."
    return f"Order {late.order}: {late_text(late.days)} ({named}).{uncounted}"


def _once_ordered(to_order: ToOrder) -> str:
    named = named_text(to_order.names, most=MOST_NAMED)
    return f"{named} (once ordered today, from {to_order.supplier}, by {day_text(to_order.there_on)})"


def _reasons(ahead: Ahead, before: Sequence[str], how: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    parts = [f"{minutes_text(ahead.bench_min)} planned for what is not done, less what was worked at it"]
    if ahead.change_min:
        parts.append(f"{minutes_text(ahead.change_min)} for agreed changes")
    if ahead.fittings:
        parts.append(f"{minutes_text(sum(fitting.minutes for fitting in ahead.fittings))} for fittings")
    return [
        ("Still needs", f"{', '.join(parts)}."),
        ("Its turn", turn_text(before)),
        *(("Fitting", _fitting_words(fitting)) for fitting in ahead.fittings),
        *how,
    ]


def _fitting_words(fitting: Fitting) -> str:
    return (
        f"{fitting.get_kind_display()}: {moment_text(fitting.at)}, or the first working day on which the piece is ready "
        "for it. It is worked on again the day after."
    )


def _calendar_row(ahead: Ahead, outlook: Outlook, before: Sequence[str], how: Sequence[tuple[str, str]]) -> CalendarRow:
    job = ahead.job
    agreed = "promised" if job.promised else "wanted"
    day = ahead.work.promised
    warning = ""
    if day is not None and outlook.day_50 > day:
        warning = f"Likely to be late: {agreed} for {day_text(day)}."
    elif day is not None and outlook.day_90 > day:
        sure = day_text(outlook.day_90)
        warning = f"Not sure: {agreed} for {day_text(day)}, and nine times in ten finished only by {sure}."
    return CalendarRow(
        job=job,
        left=minutes_text(sum(stage.minutes for stage in ahead.work.stages)),
        likely=day_text(outlook.day_50),
        sure=day_text(outlook.day_90),
        waits=waits_of(ahead.materials),
        warning=warning,
        is_late=day is not None and outlook.day_50 > day,
        reasons=_reasons(ahead, before, how),
    )
