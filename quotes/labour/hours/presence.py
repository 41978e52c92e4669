"""Hours present: the witness for what no log can show, the share of every minute that is never written."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from inventory.ground.findings import Finding, note, warn
from inventory.ground.wording import percent_text
from quotes.labour.hours.assumptions import assumptions
from quotes.labour.hours.interval import range_of_next

__all__ = ["PresentDay", "presence_finding"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PresentDay:
    """A day on which somebody noted how long they were at the bench, minutes > 0, and what they logged of it, >= 0."""

    day: date
    present_min: float
    logged_min: float


def presence_finding(days: Sequence[PresentDay]) -> Finding:
    """Return what hours present say of the log; or that nobody noted them, or on few days."""
    beliefs = assumptions()
    if len(days) < beliefs.few_days:
        known = f"; hours present are known of {len(days)}" if days else ""
        return note(
            "hours.unseen-share",
            "jobs",
            "No log can show a share of every minute that is never written.",
            f"Note the hours present on {beliefs.few_days} days and hold them against those days’ log{known}.",
        )
    shares = [min(1.0, day.logged_min / day.present_min) for day in days]
    mean = fmean(shares)
    low, high = range_of_next(shares, beliefs.range_share)
    words = (
        f"On {len(days)} days with hours present noted, {_percent(mean)} of them was logged, 8 days in 10 between "
        f"{_percent(max(low, 0.0))} and {_percent(min(high, 1.0))}."
    )
    if mean >= 1 - beliefs.much_unlogged:
        return note("hours.present", "jobs", words, "The rest may be breaks and work for no piece.")
    return warn(
        "hours.present",
        "jobs",
        words,
        "Log what of the rest was work at pieces: learnt minutes and earnings by the hour leave it out.",
    )


def _percent(share: float) -> str:
    return percent_text(round(share, 2))
