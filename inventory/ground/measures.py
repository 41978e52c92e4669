"""Quantities of stock: whole base units at rest, the unit that people count in at the edge.

What is sold by the metre is kept in whole millimetres, everything else in whole pieces (pairs, sets).
"""

from decimal import Decimal
from fractions import Fraction
from functools import cache

from inventory.ground.materials import StockUnit
from inventory.ground.rec20 import UNITS, converted

__all__ = [
    "BASES_PER_UNIT",
    "amount_of",
    "amount_text",
    "bases_of",
    "buying_units",
    "exact_bases",
    "pack_amount",
    "pack_bases",
    "pack_text",
    "quantity_of",
    "quantity_text",
    "signed_quantity_text",
]

BASES_PER_UNIT: dict[StockUnit, int] = {
    StockUnit.METRE: 1000,
    StockUnit.EACH: 1,
    StockUnit.PAIR: 1,
    StockUnit.SET: 1,
}


def quantity_of(amount: Decimal, unit: StockUnit) -> int:
    """Return an amount in whole base units.

    >>> quantity_of(Decimal("0.36"), StockUnit.METRE)
    360

    Raises:
        ValueError: it is finer than a base unit; the message is a sentence.
    """
    bases = amount * BASES_PER_UNIT[unit]
    if bases != int(bases):
        least = "a millimetre" if unit is StockUnit.METRE else "one"
        raise ValueError(f"{amount.normalize():f} {unit.value} is finer than {least}.")
    return int(bases)


def amount_of(quantity: int, unit: StockUnit) -> Decimal:
    """Return base units in the unit that people count in, without needless zeros."""
    return (Decimal(quantity) / BASES_PER_UNIT[unit]).normalize()


def quantity_text(quantity: int, unit: StockUnit) -> str:
    """Return base units as people read them.

    >>> quantity_text(5480, StockUnit.METRE), quantity_text(24, StockUnit.SET), quantity_text(1, StockUnit.EACH)
    ('5.48 m', '24 sets', '1')
    """
    return amount_text(amount_of(quantity, unit), unit)


def amount_text(amount: Decimal, unit: StockUnit) -> str:
    """Return an amount in the unit that people count in as they read it, without needless zeros.

    >>> amount_text(Decimal("-0.120"), StockUnit.METRE), amount_text(Decimal(2), StockUnit.PAIR)
    ('−0.12 m', '2 pairs')
    """
    if amount < 0:
        return f"−{amount_text(-amount, unit)}"
    words = f"{amount.normalize():f}"
    match unit:
        case StockUnit.EACH:
            return words
        case StockUnit.METRE:
            return f"{words} m"
        case _:
            return f"{words} {unit.value}" if amount == 1 else f"{words} {unit.value}s"


def signed_quantity_text(quantity: int, unit: StockUnit) -> str:
    """Return what was moved or differs, as people read it, with its sign.

    >>> signed_quantity_text(250, StockUnit.METRE), signed_quantity_text(-3, StockUnit.EACH)
    ('+0.25 m', '−3')
    """
    return f"{'+' if quantity > 0 else ''}{quantity_text(quantity, unit)}"


def buying_units(unit: StockUnit) -> tuple[str, ...]:
    """Return the Recommendation 20 codes that a supplier may sell the unit by."""
    if unit is StockUnit.METRE:
        return ("MTR", "CMT", "YRD", "FOT", "INH")
    if unit is StockUnit.EACH:
        return ("EA", "PR", "DZN", "GRO")
    return (unit.rec20_code, "DZN", "GRO")


@cache
def bases_of(code: str, unit: StockUnit) -> Fraction:
    """Return how many base units one of a unit of length or number is, exactly.

    A pair or a set is the piece that it is counted by; a dozen or a gross of pairs are 12 or 144 of them.

    >>> bases_of("INH", StockUnit.METRE), bases_of("PR", StockUnit.PAIR), bases_of("PR", StockUnit.EACH)
    (Fraction(127, 5), Fraction(1, 1), Fraction(2, 1))
    """
    if unit is StockUnit.METRE:
        return converted(Fraction(1), code, "MMT")
    return Fraction(1) if code == unit.rec20_code else UNITS[code].factor


def exact_bases(thousandths: int, code: str, unit: StockUnit) -> Fraction:
    """Return what a pack of `thousandths` / 1000 of a buying unit holds, in base units, exactly.

    Raises:
        ValueError: a code that this unit is not sold by; the message is a sentence.
    """
    if code not in buying_units(unit):
        raise ValueError(f"{code[:10]!r} is not a unit that something counted by {unit.value} is sold in.")
    return Fraction(thousandths, 1000) * bases_of(code, unit)


def pack_amount(thousandths: int) -> Decimal:
    """Return how much a pack holds, in its buying unit, without needless zeros."""
    return (Decimal(thousandths) / 1000).normalize()


def pack_text(thousandths: int, code: str) -> str:
    """Return a pack as people read it.

    >>> pack_text(2500, "MTR")
    '2.5 metre'
    """
    return f"{pack_amount(thousandths):f} {UNITS[code].name}"


def pack_bases(thousandths: int, code: str, unit: StockUnit, *, packs: int = 1) -> int:
    """Return what so many packs hold, in whole base units, rounded down once, so that ten packs of a yard are 9144 mm.

    >>> pack_bases(1000, "YRD", StockUnit.METRE), pack_bases(1000, "YRD", StockUnit.METRE, packs=10)
    (914, 9144)
    """
    return int(exact_bases(thousandths, code, unit) * packs)
