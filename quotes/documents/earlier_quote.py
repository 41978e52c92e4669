"""The quote as clients read it until 2026-11, one page of plain facts: what was sealed then prints as it did."""

from dataclasses import asdict, dataclass
from pathlib import Path

from inventory.ground.typesetting import typeset
from inventory.ground.wording import day_text, money_text
from quotes.documents.wording import cautions, included
from quotes.seal.sealed import SealedOption
from quotes.seal.snapshot import Snapshot

__all__ = ["EarlierQuote", "OfferedOption", "earlier_quote", "earlier_quote_pdf"]

_TEMPLATE = Path(__file__).with_name("earlier_quote.typ")


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedOption:
    """One option with its price and parts, all amounts as text."""

    name: str
    price: str
    tax: str
    included: list[str]
    deposit: list[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierQuote:
    """All that the client's quote shows, as text."""

    workroom: str
    address: list[str]
    client: str
    title: str
    number: str
    quoted_on: str
    valid_until: str
    due: str
    options: list[OfferedOption]
    cautions: list[str]


def earlier_quote(snapshot: Snapshot) -> EarlierQuote:
    """Return what the client reads, from the snapshot alone."""
    head, rates, quotation = snapshot.letterhead, snapshot.rates, snapshot.quotation
    currency = quotation.currency
    reduction = snapshot.reduction_mm
    options = [
        OfferedOption(
            name=option.name,
            price=money_text(option.gross, currency),
            tax=_tax_words(option, currency),
            included=included(option, rates),
            deposit=[
                (_instalment_words(index, len(option.deposit)), money_text(part, currency))
                for index, part in enumerate(option.deposit)
            ],
        )
        for option in quotation.options
    ]
    applying: dict[str, None] = {}
    for option in quotation.options:
        applying.update(dict.fromkeys(cautions("client", option, reduction_mm=reduction)))
    return EarlierQuote(
        workroom=head.workroom,
        address=head.address.splitlines(),
        client=head.client,
        title=head.title,
        number="" if head.number is None else f"{head.number}, revision {head.revision}",
        quoted_on=day_text(head.quoted_on),
        valid_until=day_text(head.valid_until),
        due=day_text(head.due),
        options=options,
        cautions=list(applying),
    )


def earlier_quote_pdf(snapshot: Snapshot) -> bytes:
    """Return the client's quote as a PDF; the same snapshot gives the same bytes."""
    quoted_on = snapshot.letterhead.quoted_on
    return typeset(
        _TEMPLATE.read_bytes(),
        asdict(earlier_quote(snapshot)),
        dated=quoted_on,
    )


def _tax_words(option: SealedOption, currency: str) -> str:
    if not option.tax:
        return "No tax is charged."
    return f"{money_text(option.net, currency)} and {money_text(option.tax, currency)} tax"


def _instalment_words(index: int, count: int) -> str:
    if count == 1:
        return "When you accept"
    if index == 0:
        return "Deposit, when you accept"
    return "Balance, before hand-over" if index == count - 1 else f"Instalment {index + 1}"
