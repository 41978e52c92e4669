"""Overhead of a period: what it cost against what the pieces carried, and the losses that no piece bears.

absorbed = hours × overhead rate; difference = absorbed − incurred − usual losses. Where it is positive, overhead was
over-absorbed: the rate took more than there was to pay for.

The profit of the pieces and the period fit together: the sum of (net − fee − own cost) + difference − losses of the
period = the sum of the pieces' profit + absorbed − incurred.

Source: Garrison, Noreen and Brewer, Managerial Accounting, job-order costing.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.money import Currency
from inventory.ground.wording import money_text
from studio.profit.piece import Bearer, CauseCost

__all__ = ["Absorption", "absorption", "absorption_sentence"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Absorption:
    """Overhead of a period. `usual_losses` count as overhead; `losses` were no piece's and no overhead's."""

    incurred: Decimal
    usual_losses: Decimal
    absorbed: Decimal
    losses: Decimal

    @property
    def difference(self) -> Decimal:
        """Over-absorbed where > 0, under-absorbed where < 0."""
        return self.absorbed - self.incurred - self.usual_losses


def absorption(*, incurred: Decimal, absorbed: Decimal, cause_costs: Iterable[CauseCost]) -> Absorption:
    """Return how a period's overhead came out.

    Args:
        incurred: what rent, power, insurance and the like cost in the period.
        absorbed: what the period's hours carried at their rate.
        cause_costs: of the period's pieces; the cause of each decides where it goes.
    """
    borne = dict.fromkeys(Bearer, Decimal(0))
    for row in cause_costs:
        borne[row.bearer] += row.amount
    return Absorption(
        incurred=incurred, usual_losses=borne[Bearer.OVERHEAD], absorbed=absorbed, losses=borne[Bearer.PERIOD]
    )


def absorption_sentence(found: Absorption, currency: Currency) -> str:
    """Return the period's overhead in one sentence."""

    def money(amount: Decimal) -> str:
        return money_text(amount, currency.code)

    carried = (
        f"the hours carried {money(found.absorbed)}, overhead came to {money(found.incurred + found.usual_losses)}"
    )
    if not found.difference:
        return f"Overhead came out even: {carried}."
    sense = "over" if found.difference > 0 else "under"
    return f"Overhead was {sense}-absorbed by {money(abs(found.difference))}: {carried}."
