"""What needs a hand today, of the quotes."""

from dataclasses import dataclass
from datetime import date, timedelta

from quotes.desk.tables import QuoteTable
from quotes.models import OfferAct, QuoteRevision

__all__ = ["TodayPage", "today_page"]

SOON_DAYS = 7
MOST_ROWS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayPage:
    """The home page's lists, each under its heading; empty ones are left out."""

    lists: list[tuple[str, QuoteTable]]


def today_page(*, on: date) -> TodayPage:
    """Return what waits: sent quotes that expire within a week, other sent ones, and drafts."""
    State = QuoteRevision.State
    revisions = QuoteRevision.objects.select_related("quote__client").order_by("valid_until", "-quote__number")
    soon = on + timedelta(days=SOON_DAYS)
    sent = revisions.standing(State.SENT, on=on)
    lists = (
        ("Expire within a week", sent.filter(valid_until__lte=soon)),
        ("Wait for an answer", sent.filter(valid_until__gt=soon)),
        (
            "The client asks",
            revisions.filter(
                offer_links__acts__kind=OfferAct.Kind.ASKED, offer_links__acts__answered_at=None
            ).distinct(),
        ),
        ("Being drafted", revisions.filter(state=State.DRAFT)),
    )
    tables = [(heading, QuoteTable(list(waiting[:MOST_ROWS]), on=on, orderable=False)) for heading, waiting in lists]
    return TodayPage(lists=[(heading, table) for heading, table in tables if len(table.rows)])
