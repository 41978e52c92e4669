"""When something was last entered in the books: what the machine's clock is held against.

Moments that the clock gave, not days that somebody typed; closing a month is no entry of its own.
"""

from datetime import datetime, timedelta

from django.db.models import Max, Model

from inventory.models import Posting
from quotes.models import OfferAct, QuoteRevision
from studio.defaults import studio_defaults
from studio.models import Credit, JobNote, Payment, PromisedDay, TimeEntry

__all__ = ["far_past_last_entry", "last_entry"]

_MOMENTS: tuple[tuple[type[Model], str], ...] = (
    (Posting, "at"),
    (OfferAct, "at"),
    (QuoteRevision, "sent_at"),
    (TimeEntry, "written_at"),
    (JobNote, "at"),
    (Payment, "noted_at"),
    (Credit, "noted_at"),
    (PromisedDay, "made_at"),
)


def last_entry() -> datetime | None:
    """Return the latest moment of an entry; None in new books."""
    found = (kind._default_manager.aggregate(last=Max(name))["last"] for kind, name in _MOMENTS)
    return max((moment for moment in found if moment is not None), default=None)


def far_past_last_entry(now: datetime) -> datetime | None:
    """Return the last entry where the clock stands further past it than a workroom rests; None where it does not."""
    last = last_entry()
    return last if last and now - last > timedelta(days=studio_defaults().machine.far_ahead_days) else None
