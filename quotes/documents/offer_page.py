"""What the page of a private link says around the offer, in the client's language."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quotes.languages.catalogue import Catalogue

__all__ = ["OfferPageWords", "OfferStanding", "offer_page_words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferStanding:
    """How an offer stands with its client: `accepted` is the option's name, empty for none; else whether it still holds.

    `deposit` is the first payment of what was accepted, as text.
    """

    accepted: str = ""
    accepted_on: date | None = None
    deposit: str = ""
    is_open: bool = False
    valid_until: date | None = None
    is_replaced: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferPageWords:
    """Labels and sentences. `standing` says how the offer stands, `pay` what is paid first; both may be empty."""

    standing: str
    pay: str
    compare: str
    accept: str
    accept_button: str
    dated: str
    option: str
    name: str
    ask: str
    question: str
    ask_button: str
    asked: Sequence[tuple[str, str, str]]
    is_needed: str


def offer_page_words(
    standing: OfferStanding, asked: Sequence[tuple[date, str, str]], say: Catalogue, *, today: date
) -> OfferPageWords:
    """Return the page's words; `asked` are day, question and answer of each question, an answer empty until it is given."""
    return OfferPageWords(
        standing=_standing(standing, say),
        pay=say.text("To begin, please pay {amount}.", amount=standing.deposit) if standing.deposit else "",
        compare=say.text("The options side by side"),
        accept=say.text("Accept"),
        accept_button=say.text("I accept"),
        dated=say.text("Dated {day}.", day=say.day(today)),
        option=say.text("Option"),
        name=say.text("Your name"),
        ask=say.text("Ask"),
        question=say.text("Your question"),
        ask_button=say.text("Send the question"),
        asked=[(say.day(day), question, answer or say.text("Not answered yet.")) for day, question, answer in asked],
        is_needed=say.text("Please fill this in."),
    )


def _standing(standing: OfferStanding, say: Catalogue) -> str:
    if standing.accepted:
        return say.text(
            "Accepted on {day}: {option}. Thank you.", day=say.day(standing.accepted_on), option=standing.accepted
        )
    if standing.is_open:
        return ""
    if standing.is_replaced:
        return say.text("A newer offer has taken the place of this one; please ask for it.")
    return say.text(
        "This offer held until {day}; please ask whether it can be renewed.", day=say.day(standing.valid_until)
    )
