"""Units of measure by their UN/CEFACT Recommendation 20 codes, with exact factors.

Source: UN/CEFACT Recommendation 20, Revision 17 (2021); international yard and pound agreement of 1959.
"""

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["RETIRED", "UNITS", "Unit", "converted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A unit: how many bases of its kind it is (m, m², g, g/m², piece, s)."""

    code: str
    name: str
    kind: str
    factor: Fraction


_INCH, _FOOT, _YARD = Fraction(254, 10000), Fraction(3048, 10000), Fraction(9144, 10000)
_OUNCE = Fraction(28349523125, 10**9)

UNITS: dict[str, Unit] = {
    code: Unit(code=code, name=name, kind=kind, factor=Fraction(factor))
    for code, name, kind, factor in (
        ("MTR", "metre", "length", 1),
        ("CMT", "centimetre", "length", Fraction(1, 100)),
        ("MMT", "millimetre", "length", Fraction(1, 1000)),
        ("INH", "inch", "length", _INCH),
        ("FOT", "foot", "length", _FOOT),
        ("YRD", "yard", "length", _YARD),
        ("MTK", "square metre", "area", 1),
        ("CMK", "square centimetre", "area", Fraction(1, 10000)),
        ("INK", "square inch", "area", _INCH**2),
        ("FTK", "square foot", "area", _FOOT**2),
        ("YDK", "square yard", "area", _YARD**2),
        ("GRM", "gram", "mass", 1),
        ("KGM", "kilogram", "mass", 1000),
        ("ONZ", "ounce", "mass", _OUNCE),
        ("LBR", "pound", "mass", 16 * _OUNCE),
        ("GM", "gram per square metre", "mass per area", 1),
        ("ON", "ounce per square yard", "mass per area", _OUNCE / _YARD**2),
        ("C62", "one", "count", 1),
        ("H87", "piece", "count", 1),
        ("EA", "each", "count", 1),
        ("PR", "pair", "count", 2),
        ("SET", "set", "count", 1),
        ("DZN", "dozen", "count", 12),
        ("GRO", "gross", "count", 144),
        ("SEC", "second", "time", 1),
        ("MIN", "minute", "time", 60),
        ("HUR", "hour", "time", 3600),
        ("DAY", "day", "time", 86400),
    )
}
RETIRED = {
    "NPR": "NPR is deprecated; use PR, pair.",
    "RO": "RO, roll, is withdrawn; packaging belongs to Recommendation 21.",
    "BO": "BO, bottle, is withdrawn; packaging belongs to Recommendation 21.",
    "NRL": "NRL, number of rolls, is withdrawn; packaging belongs to Recommendation 21.",
}


def converted(quantity: Fraction, code: str, into: str) -> Fraction:
    """Return a quantity of one unit in another of the same kind, exactly.

    >>> converted(Fraction(1), "YRD", "MTR")
    Fraction(1143, 1250)

    Raises:
        ValueError: an unknown or retired code, or units of different kinds; the message is a sentence.
    """
    for wanted in (code, into):
        if wanted in RETIRED:
            raise ValueError(RETIRED[wanted])
        if wanted not in UNITS:
            raise ValueError(f"{wanted[:10]!r} is no unit code known here.")
    if UNITS[code].kind != UNITS[into].kind:
        raise ValueError(f"{UNITS[code].name} and {UNITS[into].name} measure different things.")
    return quantity * UNITS[code].factor / UNITS[into].factor
