"""Decimal comma or point: judged for a whole column by those of its cells that can be read in one way only.

Words: a *mark* is a comma or a point within a number. It is *open* in `1,500`: a decimal mark or one of thousands.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from inventory.ground.units import parse_number

__all__ = ["ColumnMarks", "Mark", "NumberCell", "OpenMark", "evidence_words", "judged_marks", "number_of"]

Mark = Literal[",", "."]

_NUMERAL = re.compile(r"\d[\d.,'’ ]*(?<![.,'’ ])")
_FRACTION = re.compile(r"\d\s*/\s*\d")
_SPACED = re.compile(r"\d{1,3}(?:[ '’]\d{3})+(?=[.,]|$)")
_GROUPS = {",": re.compile(r"\d{1,3}(?:,\d{3})+"), ".": re.compile(r"\d{1,3}(?:\.\d{3})+")}
_OPEN = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_NO_HUNDREDTHS = re.compile(r"(?<=\d)[.,]\s*[-–—]+$")


class NumberCell(str):
    """The text of a cell that holds a number in its workbook: its mark is a decimal point."""

    __slots__ = ()


class OpenMark(ValueError):
    """A number that may be read in two ways, and nobody has said which; the message is a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMarks:
    """What the cells of a column say of its decimal mark.

    Attributes:
        mark: the decimal mark, as told or as all evidence has it; None where that is not known.
        evidence: by mark, the first cell that shows it as row and text, and how many do.
        open: cells that can be read in two ways, as row and text.
        is_told: the maker said it.
    """

    mark: Mark | None
    evidence: tuple[tuple[Mark, int, str, int], ...]
    open: tuple[tuple[int, str], ...]
    is_told: bool = False

    @property
    def is_asked(self) -> bool:
        """Whether some cell waits for an answer."""
        return bool(self.open) and self.mark is None

    def readings(self) -> tuple[tuple[Mark, str], ...]:
        """What the first open cell is by either mark, in plain digits."""
        if not self.open:
            return ()
        text = self.open[0][1]
        both: tuple[Mark, Mark] = (",", ".")
        return tuple((mark, f"{float(number_of(text, mark)):.10g}") for mark in both)


def judged_marks(cells: Iterable[tuple[int, str]], told: Mark | None) -> ColumnMarks:
    """Return what a column's cells, by row, say of its decimal mark; cells with words around their number too."""
    shown: dict[Mark, list[tuple[int, str]]] = {",": [], ".": []}
    unclear: list[tuple[int, str]] = []
    for row, text in cells:
        if isinstance(text, NumberCell) or _FRACTION.search(text):
            continue
        numerals = _NUMERAL.findall(text)
        if len(numerals) != 1:
            continue
        found = _decimal_mark(numerals[0])
        if found == "open":
            unclear.append((row, numerals[0]))
        elif found is not None:
            shown[found].append((row, numerals[0]))
    sure = [mark for mark, found in shown.items() if found]
    return ColumnMarks(
        mark=told or (sure[0] if len(sure) == 1 else None),
        evidence=tuple((mark, *shown[mark][0], len(shown[mark])) for mark in sure),
        open=tuple(unclear),
        is_told=told is not None,
    )


def number_of(text: str, mark: Mark | None = None) -> Fraction:
    """Read a number with its marks of thousands: spaces, apostrophes, and the mark that is not the decimal one.

    Args:
        mark: the decimal mark of the column; it decides only what can be read in two ways.

    >>> number_of("1.049,60"), number_of("1,500", "."), number_of("1 049"), number_of("3 1/2"), number_of("45,-")
    (Fraction(5248, 5), Fraction(1500, 1), Fraction(1049, 1), Fraction(7, 2), Fraction(45, 1))

    Raises:
        OpenMark: it can be read in two ways and `mark` is None.
        ValueError: it is no number; the message is a sentence.
    """
    return _read_number(str(text), "." if isinstance(text, NumberCell) else mark, isinstance(text, NumberCell))


@lru_cache(maxsize=4000)
def _read_number(text: str, mark: Mark | None, is_plain: bool) -> Fraction:
    """A number of a cell; a column repeats itself."""
    plain = _NO_HUNDREDTHS.sub("", text.strip())
    if is_plain or plain.isdecimal():
        return parse_number(plain)
    sign, body = (plain[:1], plain[1:].lstrip()) if plain[:1] in ("-", "+", "−") else ("", plain)
    numeral = _NUMERAL.fullmatch(body)
    found = _decimal_mark(body) if numeral else None
    if found == "open":
        if mark is None:
            either = f"{body.replace(',', '.')} or {re.sub('[.,]', '', body)}"
            raise OpenMark(f"“{text[:40]}” may be {either}.")
        found = mark
    if numeral and _spaced(body) != body:
        body = _spaced(body)
    if found is not None:
        body = body.replace("." if found == "," else ",", "").replace(found, ".")
    return parse_number(sign + body)


def _decimal_mark(numeral: str) -> Mark | Literal["open"] | None:
    """The mark that must be the decimal one in a number; None where it has no mark or is none."""
    body = _spaced(numeral)
    commas, points = body.count(","), body.count(".")
    if not (commas or points) or not re.fullmatch(r"[\d.,]+", body):
        return None
    last: Mark = "," if body.rfind(",") > body.rfind(".") else "."
    other: Mark = "." if last == "," else ","
    if commas and points:
        whole = body.rpartition(last)[0]
        return last if _GROUPS[other].fullmatch(whole) else None
    if commas + points > 1:
        return other if _GROUPS[last].fullmatch(body) else None
    return "open" if body == numeral and _OPEN.fullmatch(body) else last


def _spaced(numeral: str) -> str:
    """A number without spaces and apostrophes between its thousands."""
    return _SPACED.sub(lambda found: re.sub(r"[ '’]", "", found[0]), numeral)


def evidence_words(marks: ColumnMarks) -> Sequence[str]:
    """Return what shows a column's decimal mark, a phrase a mark."""
    return [
        f"decimal {'comma' if mark == ',' else 'point'} by “{text}” in row {row}"
        + (f" and {count - 1} more" if count > 1 else "")
        for mark, row, text, count in marks.evidence
    ]
