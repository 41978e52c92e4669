"""What of a quote is still memory: prices that nobody said or paid, minutes that nobody set or learnt.

It is counted by what stands today, whatever the quote was made with, and only the workroom sees it.
"""

from dataclasses import dataclass

from inventory.stock import memory_prices
from quotes.labour import standard
from quotes.seal.sealed import SealedQuotation
from quotes.workroom.settings import standard_times

__all__ = ["Remembered", "remembered"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """How many of the materials and operations of all options together have price or minutes from memory."""

    prices: int
    all_prices: int
    minutes: int
    all_minutes: int


def remembered(quotation: SealedQuotation) -> Remembered:
    """Return what is still memory today of what a quotation is made of."""
    materials = {line.material for option in quotation.options for line in option.lines_of("material") if line.material}
    operations = {row.code for option in quotation.options for row in option.takeoff.labour.operations}
    return Remembered(
        prices=len(memory_prices.from_memory(materials)),
        all_prices=len(materials),
        minutes=len(operations & standard.from_memory(standard_times())),
        all_minutes=len(operations),
    )
