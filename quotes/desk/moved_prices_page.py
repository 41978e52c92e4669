"""What has moved of quotes whose materials cost something else today, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.wording import money_text, percent_text
from quotes.desk.moved_prices import MovedQuote
from quotes.models import QuoteRevision

__all__ = ["MovedRow", "moved_rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedRow:
    """A quote with what today's prices do to the materials of its options."""

    revision: QuoteRevision
    state: str
    options: list[tuple[str, str, str]]  # name, difference, share of the materials
    causes: list[str]


def moved_rows(quotes: Sequence[MovedQuote], *, on: date) -> list[MovedRow]:
    """Return the quotes for the page, with the state that each stands in on the day."""
    return [
        MovedRow(
            revision=quote.revision,
            state=quote.revision.standing(on=on).label,
            options=[
                (
                    option.name,
                    money_text(quote.currency.round(option.difference), quote.currency.code),
                    percent_text(round(option.share, 3)),
                )
                for option in quote.options
            ],
            causes=quote.causes,
        )
        for quote in quotes
    ]
