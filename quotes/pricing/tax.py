"""Tax: what of a price is net and what is tax, by the rates of its quote. The only place that works tax out.

Words: the *anchor* is the figure that a studio says its prices in, gross where they are said with tax, else net. It is
rounded first, then the tax; the third follows. Source: common practice.
"""

import decimal
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.money import Currency
from quotes.pricing.costing import Rates

__all__ = ["Taxed", "tax_on", "taxed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxed:
    """An amount, rounded, as what is left of it and what is tax."""

    net: Decimal
    tax: Decimal

    @property
    def gross(self) -> Decimal:
        """With tax."""
        return self.net + self.tax


def taxed(anchor: Decimal, rates: Rates, currency: Currency) -> Taxed:
    """Return an anchor, already rounded, as net and tax."""
    if not rates.tax_included:
        return Taxed(net=anchor, tax=tax_on(anchor, rates, currency))
    with decimal.localcontext(prec=50):
        tax = currency.round(anchor * rates.tax_share / (1 + rates.tax_share), rates.rounding)
    return Taxed(net=anchor - tax, tax=tax)


def tax_on(net: Decimal, rates: Rates, currency: Currency) -> Decimal:
    """Return the tax on an amount that is said without it; below zero where the amount is."""
    with decimal.localcontext(prec=50):
        return currency.round(net * rates.tax_share, rates.rounding)
