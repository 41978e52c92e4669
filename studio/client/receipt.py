"""A payment on paper, for the client, in their language."""

from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from inventory.ground.money import currency_of
from inventory.ground.typesetting import typeset
from quotes.languages.catalogue import Catalogue, catalogue
from quotes.workroom.settings import workroom
from studio.models import Payment

__all__ = ["Receipt", "receipt", "receipt_pdf"]

_TEMPLATE = Path(__file__).with_name("receipt.typ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """All that a receipt shows, as text; `reversed_by` is empty unless another row takes it back."""

    language: str
    workroom: str
    address: list[str]
    heading: str
    dated: str
    day: str
    reversed_by: str
    received: str
    what: str
    reference: str
    amount: str
    note: str


def receipt(payment: Payment) -> Receipt:
    """Return what a payment's receipt shows."""
    job, room = payment.job, workroom()
    say = catalogue(job.client.language or room.language)
    reversal: Payment | None = getattr(payment, "reversed_by", None)
    return Receipt(
        language=say.language,
        workroom=room.name,
        address=room.shelf.address.splitlines(),
        heading=say.text("Receipt {number}", number=payment.number),
        dated=say.day(payment.day),
        day=payment.day.isoformat(),
        reversed_by=say.text("Reversed by receipt {number}.", number=reversal.number) if reversal else "",
        received=_received(payment, say),
        what=say.text("{what} for {title}", what=_what(payment, say), title=job.title),
        reference=job.reference,
        amount=say.money(currency_of(job.currency.code).from_minor(abs(payment.amount_minor)), job.currency.code),
        note=payment.note,
    )


def receipt_pdf(facts: Receipt) -> bytes:
    """Return the receipt as a letter."""
    return typeset(_TEMPLATE.read_bytes(), asdict(facts), dated=date.fromisoformat(facts.day))


def _received(payment: Payment, say: Catalogue) -> str:
    if payment.reverses is not None:
        return say.text(
            "This takes back receipt {number}, which was entered wrongly; no money moved:",
            number=payment.reverses.number,
        )
    client = payment.job.client.name
    if payment.amount_minor < 0:
        return say.text("Paid back to {client}:", client=client)
    return say.text("Received from {client}, with thanks:", client=client)


def _what(payment: Payment, say: Catalogue) -> str:
    match Payment.What(payment.what):
        case Payment.What.DEPOSIT:
            return say.text("Deposit")
        case Payment.What.INSTALMENT:
            return say.text("Instalment")
        case Payment.What.BALANCE:
            return say.text("Balance")
        case Payment.What.REFUND:
            return say.text("Paid back")
