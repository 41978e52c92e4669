"""From what is written down at a count to whole base units: an amount as makers write it, or a weight.

Words: *gross* is what the scales show, *empty* the reel, cone or box alone, *net* what lies on it. Weights are grams.
"""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from inventory.ground.materials import StockUnit
from inventory.ground.measures import BASES_PER_UNIT, quantity_text
from inventory.ground.money import nearest
from inventory.ground.units import parse_number

__all__ = [
    "counted_quantity",
    "grams_of",
    "how_weighed",
    "length_of",
    "net_grams",
    "pieces_of",
    "unit_weight",
    "weighed_quantity",
]

MOST_BASES = 10**9
"""The largest count that is believed: a thousand kilometres, a thousand million pieces."""

MOST_GRAMS = 100_000
"""The largest weight that is believed: 100 kg."""


def counted_quantity(text: str, unit: StockUnit) -> int:
    """Return an amount in `unit` as whole base units: metres to the millimetre, pieces whole.

    >>> counted_quantity("5,48", StockUnit.METRE), counted_quantity("12", StockUnit.PAIR)
    (5480, 12)

    Raises:
        ValueError: no number, below zero, finer than a base unit or more than is believed; the message is a sentence.
    """
    quantity = parse_number(text) * BASES_PER_UNIT[unit]
    written = text.strip()[:40]
    if quantity < 0:
        raise ValueError(f"{written} is less than zero.")
    if quantity.denominator != 1:
        raise ValueError(f"{written} is {'finer than a millimetre' if unit is StockUnit.METRE else 'no whole number'}.")
    if quantity > MOST_BASES:
        raise ValueError(f"{written} is more than {quantity_text(MOST_BASES, unit)}: check the number.")
    return int(quantity)


def grams_of(text: str) -> Decimal:
    """Return a weight in grams, to the milligram.

    Raises:
        ValueError: no number, below zero, finer or more than scales show; the message is a sentence.
    """
    milligrams = parse_number(text) * 1000
    written = text.strip()[:40]
    if milligrams < 0:
        raise ValueError(f"{written} g is less than nothing.")
    if milligrams.denominator != 1:
        raise ValueError(f"{written} g is finer than a milligram.")
    if milligrams > MOST_GRAMS * 1000:
        raise ValueError(f"{written} g is more than {MOST_GRAMS // 1000} kg: check the number.")
    return Decimal(int(milligrams)).scaleb(-3)


def net_grams(gross_g: Decimal, empty_g: Decimal) -> Decimal:
    """Return what lies on the reel. Raises ValueError, in a sentence, where the empty reel would weigh more than all."""
    if empty_g > gross_g:
        raise ValueError(
            f"The empty reel at {_plain(empty_g)} g weighs more than the {_plain(gross_g)} g with all on it."
        )
    return gross_g - empty_g


def length_of(net_g: Decimal, grams_per_metre: Decimal) -> int:
    """Return the length in mm, half up, of what weighs `net_g`: net grams ÷ grams a metre.

    >>> length_of(Decimal(165), Decimal(33))
    5000

    Raises:
        ValueError: a weight below zero, or a metre that weighs nothing; the message is a sentence.
    """
    return _share(net_g, grams_per_metre, of=1000, words="A metre")


def pieces_of(net_g: Decimal, grams_per_hundred: Decimal) -> int:
    """Return the number of pieces, half up, that weigh `net_g`: net grams ÷ grams a hundred × 100.

    >>> pieces_of(Decimal(46), Decimal("18.4"))
    250

    Raises:
        ValueError: a weight below zero, or a hundred that weigh nothing; the message is a sentence.
    """
    return _share(net_g, grams_per_hundred, of=100, words="A hundred")


def unit_weight(facts: Mapping[str, str], unit: StockUnit) -> Decimal | None:
    """Return what a metre or a hundred pieces weigh by the material's facts; None where they do not say."""
    grams = Decimal(facts.get("grams_per_metre" if unit is StockUnit.METRE else "grams_per_hundred") or 0)
    return grams if grams > 0 else None


def weighed_quantity(net_g: Decimal, grams: Decimal, unit: StockUnit) -> int:
    """Return the base units that weigh `net_g`, by what `unit_weight` returned for the unit."""
    return length_of(net_g, grams) if unit is StockUnit.METRE else pieces_of(net_g, grams)


def how_weighed(net_g: Decimal, grams: Decimal, unit: StockUnit) -> str:
    """Return the weighing in words with its numbers.

    >>> how_weighed(Decimal("165.0"), Decimal(33), StockUnit.METRE)
    '165 g net at 33 g/m'
    >>> how_weighed(Decimal(46), Decimal("18.4"), StockUnit.SET)
    '46 g net at 18.4 g per 100'
    """
    rate = "g/m" if unit is StockUnit.METRE else "g per 100"
    return f"{_plain(net_g)} g net at {_plain(grams)} {rate}"


def _share(net_g: Decimal, grams: Decimal, *, of: int, words: str) -> int:
    if not net_g.is_finite() or net_g < 0:
        raise ValueError(f"{net_g} g is no weight.")
    if not grams.is_finite() or grams <= 0:
        raise ValueError(f"{words} must weigh more than nothing, not {grams} g.")
    exact = Fraction(net_g) * of / Fraction(grams)
    return nearest(exact.numerator, exact.denominator)


def _plain(grams: Decimal) -> str:
    return f"{grams.normalize():f}"
