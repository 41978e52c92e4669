"""What every foretold day rests on, in words: for a job, for a quote, and for days that were foretold in the past."""

from collections.abc import Sequence

from inventory.ground.wording import day_text, minutes_text, named_text, percent_text
from studio.schedule.day_reasons import DayReasons
from studio.schedule.promise import DRAWS
from studio.schedule.worked import WorkedShare

__all__ = ["how_days_are_found", "reasons_text", "turn_text", "worked_text"]

MOST_NAMED = 3
MOSTLY, HARDLY = 0.5, 0.02
"""The part of default weeks above which they are most of what is known, and below which they are not spoken of."""
DEFAULT_WEEKS = "stated weeks (common practice, no source; days lost to sickness are in them)"


def how_days_are_found(worked: WorkedShare) -> list[tuple[str, str]]:
    """Return what every day of the plan rests on."""
    return [
        (
            "Days",
            "The working hours and days off of the calendar; fittings that are planned take their time of the day.",
        ),
        ("Worked", worked_text(worked)),
        (
            "How sure",
            f"The plan is walked through {DRAWS} times, each with other durations from the range of every estimate and "
            "with other weeks; the likely day holds about half of the times, the other one nine times in ten.",
        ),
    ]


def worked_text(worked: WorkedShare) -> str:
    """Return how much of the planned hours is worked, and how that is known."""
    share, part = _percent(worked.mean), worked.default_part
    default = f"{len(worked.weeks) - worked.observed} {DEFAULT_WEEKS}"
    if not worked.observed:
        return (
            f"Of planned hours {share} are taken to be worked, by {default}. No whole week of your own is logged yet, so "
            "the days are as rough as that."
        )
    own = "1 week of your own" if worked.observed == 1 else f"{worked.observed} weeks of your own"
    if part > MOSTLY:
        return (
            f"Of planned hours {share} are taken to be worked. Only {own} tell of it yet, which is too little: most of it "
            f"rests on {default}."
        )
    known = f"Of planned hours {share} are worked, by what was logged in {own}"
    return f"{known}." if part < HARDLY else f"{known}; {default} still count for {_percent(part)} of it."


def turn_text(before: Sequence[str]) -> str:
    """Return after which jobs a piece has its turn, as a sentence."""
    return f"After {', '.join(before)}." if before else "First of all."


def reasons_text(reasons: DayReasons) -> str:
    """Return what a day of the past rested on, as sentences."""
    parts = [
        f"It needed {minutes_text(reasons.minutes)} "
        f"({minutes_text(reasons.low_minutes)} to {minutes_text(reasons.high_minutes)}).",
        turn_text(reasons.before),
    ]
    if reasons.materials_by is not None:
        parts.append(f"Materials by {day_text(reasons.materials_by)}.")
    if reasons.not_offered:
        parts.append(f"Nobody offered {named_text(reasons.not_offered, most=MOST_NAMED)}.")
    share = _percent(reasons.worked_share)
    parts.append(
        f"{minutes_text(reasons.minutes_a_week)} a week, of which {share} worked, "
        f"by {reasons.own_weeks or 'no'} week{'' if reasons.own_weeks == 1 else 's'} of your own."
    )
    return " ".join(parts)


def _percent(share: float) -> str:
    return percent_text(round(share, 2))
