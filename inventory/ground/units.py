"""Lengths and counted units: read as makers write them, kept in millimetres, shown as makers read them.

Words: a *length unit* is what a bare number is taken for (mm, cm, in …); a *stock unit* is what a material is
counted and bought in (m, each, pair, set …), with its UN/CEFACT Recommendation 20 code. All factors are exact
(international yard and pound agreement of 1959: 1 in = 25.4 mm).
"""

import math
import re
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

__all__ = [
    "MAX_LENGTH_MM",
    "MM_PER_UNIT",
    "LengthUnit",
    "format_length",
    "inches_text",
    "parse_length",
    "parse_lengths",
    "parse_number",
]

MAX_LENGTH_MM = 100_000.0
"""Longest length that is believed: 100 m, twice the longest bolt. More is a slip of the unit."""


class LengthUnit(StrEnum):
    """A unit of length that a maker may write."""

    MM = "mm"
    CM = "cm"
    INCH = "in"
    METRE = "m"
    YARD = "yd"


MM_PER_UNIT: dict[LengthUnit, Fraction] = {
    LengthUnit.MM: Fraction(1),
    LengthUnit.CM: Fraction(10),
    LengthUnit.INCH: Fraction(254, 10),
    LengthUnit.METRE: Fraction(1000),
    LengthUnit.YARD: Fraction(9144, 10),
}

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_SUFFIX = {
    "mm": LengthUnit.MM,
    "cm": LengthUnit.CM,
    "in": LengthUnit.INCH,
    "inch": LengthUnit.INCH,
    "inches": LengthUnit.INCH,
    '"': LengthUnit.INCH,
    "″": LengthUnit.INCH,
    "”": LengthUnit.INCH,
    "''": LengthUnit.INCH,
    "m": LengthUnit.METRE,
    "yd": LengthUnit.YARD,
}
_NUMBER = re.compile(
    r"(?P<sign>[-+−]?)\s*(?:(?P<whole>\d{1,12})(?:[\s-]+(?=\d+\s*/)|(?=$)))?"
    r"(?:(?P<over>\d{1,6})\s*/\s*(?P<under>\d{1,6}))?"
)
# Programs write 17 significant digits, and zeros before them where the number is small.
_DECIMAL = re.compile(r"[-+−]?(?:\d{1,12}(?:[.,]\d{0,40})?|[.,]\d{1,40})")
# One length of several: a mixed fraction belongs together although there is a space in it.
_ONE_OF_SEVERAL = re.compile(
    r"((?:\d+\s+)?\d+\s*/\s*\d+|[^\s;a-zA-Z\"″”']+)\s*(mm|cm|inches|inch|in|yd|m|''|[\"″”])?(?=[\s;]|$)", re.IGNORECASE
)
_LENGTH = re.compile(r"(?P<number>.*?)\s*(?P<suffix>mm|cm|inches|inch|in|yd|m|''|[\"″”])?", re.IGNORECASE | re.DOTALL)


def parse_number(text: str) -> Fraction:
    """Read a decimal (`28.5`, `28,5`) or a mixed fraction (`28 1/2`, `28½`, `3/8`, `-1/4`), exactly.

    Raises:
        ValueError: anything else, an exponent, a thousands mark, a zero denominator; the message is a sentence.
    """
    plain = text.strip()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = plain.strip()
    if _DECIMAL.fullmatch(plain):
        return Fraction(plain.replace("−", "-").replace(",", "."))
    match = _NUMBER.fullmatch(plain)
    if not match or (match["whole"] is None and match["over"] is None):
        raise ValueError(f"{text.strip()[:40]!r} is not a number: write 28.5 or 28 1/2.")
    if match["over"] is not None and int(match["under"]) == 0:
        raise ValueError(f"{text.strip()[:40]!r} divides by zero.")
    value = Fraction(int(match["whole"] or 0))
    if match["over"] is not None:
        value += Fraction(int(match["over"]), int(match["under"]))
    return -value if match["sign"] in ("-", "−") and match["sign"] else value


def parse_length(text: str | int | float | Decimal, unit: LengthUnit, *, most_mm: float = MAX_LENGTH_MM) -> float:
    """Return the length in mm that `text` says; a bare number is taken in `unit`.

    >>> parse_length('28 1/2"', LengthUnit.CM)
    723.9
    >>> parse_length("54 in", LengthUnit.MM)
    1371.6

    Raises:
        ValueError: no number, not finite, or beyond `most_mm` either way; the message is a sentence.
    """
    if isinstance(text, bool):
        raise ValueError(f"{text} is not a length: write a number.")
    if isinstance(text, int | float | Decimal):
        if not math.isfinite(text):
            raise ValueError(f"{text} is not a length: write a number.")
        number, written = Fraction(str(text)), unit
    else:
        match = _LENGTH.fullmatch(text.strip())
        assert match is not None  # the pattern takes any text
        number = parse_number(match["number"])
        written = _SUFFIX[match["suffix"].lower()] if match["suffix"] else unit
    length = number * MM_PER_UNIT[written]
    if abs(length) > most_mm:
        raise ValueError(f"{str(text).strip()[:40]} is longer than {most_mm / 1000:.0f} m: check the unit.")
    return float(length)


def parse_lengths(text: str, unit: LengthUnit) -> list[float]:
    """Return the lengths in mm that `text` says, in their order; spaces or semicolons stand between them.

    >>> parse_lengths("200 9in 9 1/2in; 25 cm", LengthUnit.MM)
    [200.0, 228.6, 241.3, 250.0]

    Raises:
        ValueError: one that `parse_length` refuses; the message is a sentence.
    """
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    said, at = [], 0
    for match in _ONE_OF_SEVERAL.finditer(text):
        said += text[at : match.start()].replace(";", " ").split()
        said.append(match.group())
        at = match.end()
    said += text[at:].replace(";", " ").split()
    return [parse_length(part, unit) for part in said]


def inches_text(length_mm: float) -> str:
    """Return a length as inches to the nearest eighth, lowest terms.

    >>> inches_text(723.9)
    '28 1/2'
    """
    eighths = round(abs(length_mm) / 25.4 * 8)
    whole, rest = divmod(eighths, 8)
    sign = "−" if length_mm < 0 and eighths else ""
    if not rest:
        return f"{sign}{whole}"
    part = Fraction(rest, 8)
    lead = f"{whole} " if whole else ""
    return f"{sign}{lead}{part.numerator}/{part.denominator}"


def format_length(length_mm: float, unit: LengthUnit) -> str:
    """Return a length with its unit, as a maker reads it: inches to 1/8, cm and mm to 1 mm, m and yd to 0.01.

    >>> format_length(723.9, LengthUnit.INCH), format_length(723.9, LengthUnit.CM)
    ('28 1/2 in', '72.4 cm')
    """
    match unit:
        case LengthUnit.INCH:
            return f"{inches_text(length_mm)} in"
        case LengthUnit.CM:
            return f"{length_mm / 10:.1f} cm"
        case LengthUnit.MM:
            return f"{length_mm:.0f} mm"
        case _:
            return f"{length_mm / float(MM_PER_UNIT[unit]):.2f} {unit.value}"
