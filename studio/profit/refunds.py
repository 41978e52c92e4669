"""What paying back took from a piece whose invoice stands: what the client had paid too much is theirs, the rest is lost.

A piece's account says what was invoiced, whatever was paid. A refund first gives back what came beyond the invoice; what
it gives beyond that is lost. A later payment first pays what is owed, then what was lost so. A lower price is lost in the
account, or in the month after it, and what was paid back for it is not lost once more.
"""

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Paid", "losses_by_refunds"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Paid:
    """A payment in minor units, below zero where it went back; `is_refund` where the invoice stood before it went.

    Or a price that was lowered by `credited_minor`, below zero where that was taken back, and no payment.
    """

    amount_minor: int = 0
    is_refund: bool = False
    credited_minor: int = 0


def losses_by_refunds(invoiced_minor: int, payments: Sequence[Paid]) -> list[int]:
    """Return what each payment took from the invoice, in minor units, in their order; below zero what one made good.

    Args:
        invoiced_minor: with tax.

    >>> losses_by_refunds(500, [Paid(amount_minor=520, is_refund=False), Paid(amount_minor=-50, is_refund=True)])
    [0, 30]

    A price that was lowered before took it already:

    >>> losses_by_refunds(500, [Paid(amount_minor=500), Paid(credited_minor=40), Paid(amount_minor=-50, is_refund=True)])
    [0, 0, 10]
    """
    losses, paid, lost = [], 0, 0
    for payment in payments:
        beyond = max(0, paid + lost - invoiced_minor)
        paid += payment.amount_minor
        invoiced_minor -= payment.credited_minor
        if payment.is_refund:
            loss = max(0, -payment.amount_minor - beyond)
        else:
            loss = -min(lost, max(0, paid + lost - invoiced_minor))
        lost += loss
        losses.append(loss)
    return losses
