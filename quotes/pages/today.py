"""What needs a hand today, of the quotes."""

from dataclasses import dataclass
from datetime import date, timedelta

from quotes.documents.wording import day_text, money_text
from quotes.models import QuoteRevision

__all__ = ["QuoteRow", "TodayPage", "quote_rows", "today_page"]

SOON_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteRow:
    """A quote in a list; `price` the range of its options."""

    quote_pk: int
    revision: int
    number: int
    title: str
    client: str
    state: str
    state_words: str
    price: str
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayPage:
    """The home page's lists."""

    expiring: list[QuoteRow]
    waiting: list[QuoteRow]
    drafts: list[QuoteRow]


def today_page(*, on: date) -> TodayPage:
    """Return what waits: sent quotes that expire within a week, other sent ones, and drafts."""
    State = QuoteRevision.State
    rows = QuoteRevision.objects.select_related("quote__client").order_by("valid_until", "-quote__number")
    soon = on + timedelta(days=SOON_DAYS)
    sent = rows.standing(State.SENT, on=on)
    return TodayPage(
        expiring=quote_rows(sent.filter(valid_until__lte=soon)[:20], on=on),
        waiting=quote_rows(sent.filter(valid_until__gt=soon)[:20], on=on),
        drafts=quote_rows(rows.filter(state=State.DRAFT)[:20], on=on),
    )


def quote_rows(revisions: "list[QuoteRevision] | object", *, on: date) -> list[QuoteRow]:
    """Return rows for a list of revisions with their quotes and clients loaded."""
    return [_row(revision, on) for revision in revisions]  # type: ignore[attr-defined]


def _row(revision: QuoteRevision, on: date) -> QuoteRow:
    quotation = revision.figures["quotation"]
    prices = [money_text(option["gross"], quotation["currency"]) for option in quotation["options"]]
    state = revision.standing(on=on)
    return QuoteRow(
        quote_pk=revision.quote.pk,
        revision=revision.number,
        number=revision.quote.number,
        title=revision.quote.title,
        client=revision.quote.client.name,
        state=state.value,
        state_words=str(state.label),
        price=prices[0] if len(prices) == 1 else f"{prices[0]} and {len(prices) - 1} more",
        until=day_text(revision.valid_until),
    )
