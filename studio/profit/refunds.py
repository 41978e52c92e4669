"""What paying back took from a piece whose invoice stands: what the client had paid too much is theirs, the rest is lost.

A piece's account says what was invoiced, whatever was paid. A refund first gives back what came beyond the invoice; what
it gives beyond that is lost. A later payment first pays what is owed, then what was lost so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Paid", "losses_by_refunds"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Paid:
    """A payment in minor units, below zero where it went back; `is_refund` where the invoice stood before it went."""

    amount_minor: int
    is_refund: bool


def losses_by_refunds(invoiced_minor: int, payments: Sequence[Paid]) -> list[int]:
    """Return what each payment took from the invoice, in minor units, in their order; below zero what one made good.

    Args:
        invoiced_minor: with tax.

    >>> losses_by_refunds(500, [Paid(amount_minor=520, is_refund=False), Paid(amount_minor=-50, is_refund=True)])
    [0, 30]
    """
    losses, paid, lost = [], 0, 0
    for payment in payments:
        beyond = max(0, paid + lost - invoiced_minor)
        paid += payment.amount_minor
        if payment.is_refund:
            loss = max(0, -payment.amount_minor - beyond)
        else:
            loss = -min(lost, max(0, paid + lost - invoiced_minor))
        lost += loss
        losses.append(loss)
    return losses
