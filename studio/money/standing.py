"""How the money of a piece stands: one place for every figure that a bill, a list, an export or the audit says.

Words: *invoiced* is what a delivered piece was billed, *credited* what of it was let go afterwards, *paid* what came and
*refunded* what went back; what was reversed counts in neither. All in minor units, with tax. Identities:

- price = invoiced − credited, and kept = paid − refunded
- of a delivered piece: due − too much = price − kept, one of them nothing
- of an open one: held = kept, and nothing is due; what it will cost is agreed, not invoiced
- of a cancelled one nothing is due and nothing held: what did not go back is the maker's, as the year's result counts it
"""

from dataclasses import dataclass
from enum import StrEnum

from inventory.ground.money import Currency
from quotes.pricing.costing import Rates
from quotes.pricing.tax import tax_on, taxed

__all__ = ["Bill", "Phase", "Standing", "credit_parts", "tax_of_invoice"]


class Phase(StrEnum):
    """Where a piece stands for its money."""

    OPEN = "open"
    INVOICED = "invoiced"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What was invoiced, credited, paid and refunded for a piece; every other figure follows."""

    phase: Phase
    invoiced_net_minor: int
    invoiced_tax_minor: int
    credited_net_minor: int
    credited_tax_minor: int
    paid_minor: int
    refunded_minor: int

    @property
    def invoiced_minor(self) -> int:
        """With tax; nothing until it is delivered."""
        return self.invoiced_net_minor + self.invoiced_tax_minor

    @property
    def credited_minor(self) -> int:
        """What of it is not owed any more."""
        return self.credited_net_minor + self.credited_tax_minor

    @property
    def net_minor(self) -> int:
        """What is left of the invoice without tax."""
        return self.invoiced_net_minor - self.credited_net_minor

    @property
    def tax_minor(self) -> int:
        """What is left of its tax."""
        return self.invoiced_tax_minor - self.credited_tax_minor

    @property
    def price_minor(self) -> int:
        """What a delivered piece costs the client."""
        return self.invoiced_minor - self.credited_minor

    @property
    def kept_minor(self) -> int:
        """What came and did not go back."""
        return self.paid_minor - self.refunded_minor

    @property
    def due_minor(self) -> int:
        """What is to be collected."""
        return max(0, self.price_minor - self.kept_minor) if self.phase is Phase.INVOICED else 0

    @property
    def too_much_minor(self) -> int:
        """What was paid for a delivered piece beyond its price."""
        return max(0, self.kept_minor - self.price_minor) if self.phase is Phase.INVOICED else 0

    @property
    def held_minor(self) -> int:
        """What is kept for a piece that is still to be delivered."""
        return self.kept_minor if self.phase is Phase.OPEN else 0

    @property
    def kept_of_cancelled_minor(self) -> int:
        """What came and did not go back of a piece that is not made."""
        return self.kept_minor if self.phase is Phase.CANCELLED else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """What a client owes for a piece: as invoiced, or as quoted and agreed until it is.

    Attributes:
        agreed_net_minor, agreed_tax_minor: the invoice, or what it would be today; before credits.
        deposit_minor: what is due before the cloth is cut.
    """

    standing: Standing
    agreed_net_minor: int
    agreed_tax_minor: int
    deposit_minor: int

    @property
    def agreed_minor(self) -> int:
        """With tax, before credits."""
        return self.agreed_net_minor + self.agreed_tax_minor

    @property
    def total_minor(self) -> int:
        """All that is to be paid."""
        return self.agreed_minor - self.standing.credited_minor

    @property
    def kept_minor(self) -> int:
        """What was paid of it and did not go back."""
        return self.standing.kept_minor

    @property
    def balance_minor(self) -> int:
        """What is still to come; below zero where too much came."""
        return self.total_minor - self.kept_minor

    @property
    def deposit_due_minor(self) -> int:
        """What lacks of the deposit."""
        return max(0, self.deposit_minor - self.kept_minor)


def tax_of_invoice(net: int, *, quoted_net: int, quoted_tax: int, rates: Rates, currency: Currency) -> int:
    """Return the tax on a net, in minor units: the quote's own and that on what differs from it, rounded once.

    Where all of the price is given away nothing is taxed: no rest of two roundings is left.
    """
    more = tax_on(currency.from_minor(net - quoted_net), rates, currency)
    return max(0, quoted_tax + currency.to_minor(more)) if net else 0


def credit_parts(said: int, *, standing: Standing, rates: Rates, currency: Currency) -> tuple[int, int]:
    """Return net and tax of a lower price, in minor units.

    Args:
        said: in the figure that the studio says its prices in (quotes.pricing.tax), at most what is left of it.

    All that is left of the price takes all that is left of its tax with it, so that no rest of two roundings stays.
    """
    left = standing.price_minor if rates.tax_included else standing.net_minor
    if said >= left:
        return standing.net_minor, standing.tax_minor
    parts = taxed(currency.from_minor(said), rates, currency)
    net, tax = currency.to_minor(parts.net), currency.to_minor(parts.tax)
    if rates.tax_included:
        net = min(net, standing.net_minor)
        return net, min(said - net, standing.tax_minor)
    return net, min(tax, standing.tax_minor)
