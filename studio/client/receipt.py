"""A payment on paper, for the client."""

from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from inventory.ground.typesetting import typeset
from inventory.ground.wording import day_text, minor_text
from inventory.shelf.settings import shelf
from studio.models import Payment

__all__ = ["Receipt", "receipt", "receipt_pdf"]

_TEMPLATE = Path(__file__).with_name("receipt.typ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """All that a receipt shows, as text; `reverses` and `reversed_by` name the other of a slip and what takes it back."""

    workroom: str
    address: list[str]
    number: int
    dated: str
    day: str
    client: str
    what: str
    title: str
    reference: str
    amount: str
    is_back: bool
    note: str
    reverses: str
    reversed_by: str


def receipt(payment: Payment) -> Receipt:
    """Return what a payment's receipt shows."""
    job, room = payment.job, shelf()
    return Receipt(
        workroom=room.name,
        address=room.address.splitlines(),
        number=payment.number,
        dated=day_text(payment.day),
        day=payment.day.isoformat(),
        client=job.client.name,
        what=payment.get_what_display(),
        title=job.title,
        reference=job.reference,
        amount=minor_text(abs(payment.amount_minor), job.currency.code),
        is_back=payment.amount_minor < 0,
        note=payment.note,
        reverses=str(payment.reverses or ""),
        reversed_by=str(getattr(payment, "reversed_by", "")),
    )


def receipt_pdf(facts: Receipt) -> bytes:
    """Return the receipt as a letter."""
    return typeset(_TEMPLATE.read_bytes(), asdict(facts), dated=date.fromisoformat(facts.day))
