"""Proof that closed months, what may be booked, and the accounts that stand say the same."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import pairwise

from inventory.shelf.settings import shelf
from inventory.stock.audit import Audit, Difference
from studio.books.months import last_day
from studio.models import ClosedMonth, PieceAccount

__all__ = ["audit_months"]


def audit_months() -> Audit:
    """Return how the closed months agree with the shelf and with the accounts of pieces."""
    closed = list(ClosedMonth.objects.order_by("first_day"))
    return Audit(checked={"closed months": len(closed)}, differences=(*_in_order(closed), *_until(closed)))


def _in_order(closed: Sequence[ClosedMonth]) -> Iterator[Difference]:
    """Months are closed without a gap, so that only the last can be opened again."""
    for before, after in pairwise(closed):
        follows = last_day(before.first_day) + timedelta(days=1)
        if after.first_day != follows:
            yield _difference("studio_closedmonth", after.pk, f"{follows}", f"{after.first_day}")


def _until(closed: Sequence[ClosedMonth]) -> Iterator[Difference]:
    """The shelf refuses days of closed months and no others; the accounts of exactly their pieces stand."""
    until = last_day(closed[-1].first_day) if closed else None
    if shelf().closed_until != until:
        yield _difference("inventory_shelf", 1, f"closed until {until}", f"{shelf().closed_until}")
    for pk, delivered_on, frozen_at in PieceAccount.objects.values_list("pk", "delivered_on", "frozen_at"):
        should_stand = until is not None and delivered_on <= until
        if should_stand != (frozen_at is not None):
            expected, found = ("stands", "open") if should_stand else ("open", "stands")
            yield _difference("studio_pieceaccount", pk, expected, found)


def _difference(table: str, row: int, expected: str, found: str) -> Difference:
    return Difference(table=table, row=str(row), expected=expected, found=found)
