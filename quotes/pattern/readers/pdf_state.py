"""The graphics state of a page being run (ISO 32000-2, 8.4), and operands as what they mean."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import pikepdf
from pikepdf import Name

from quotes.pattern.readers.pdf_colour import colour_in
from quotes.pattern.readers.pdf_matrix import Matrix
from quotes.pattern.readers.pdf_path import Clip
from quotes.pattern.readers.pdf_text import Font

__all__ = ["State", "colour_of", "dash_of", "matrix_of", "numbers_of"]


@dataclass(frozen=True, slots=True)
class State:
    """The graphics state, as far as lines and words need it; a colour is empty where it cannot be said."""

    matrix: Matrix
    clip: Clip
    pen: str = "#000000"
    ink: str = "#000000"
    pen_space: Any = Name.DeviceGray
    ink_space: Any = Name.DeviceGray
    pen_seen: bool = True
    ink_seen: bool = True
    width: float = 1.0
    dash: tuple[float, ...] = ()
    font: Font = field(default_factory=Font)
    size: float = 0.0
    letter_space: float = 0.0
    word_space: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    mode: int = 0


def numbers_of(operands: Any) -> list[float]:
    """Return operands as numbers. Raises TypeError or ValueError for what is none."""
    return [float(operand) for operand in operands]


def matrix_of(operands: Any) -> Matrix:
    """Return six operands as a matrix. Raises TypeError or ValueError for what is none."""
    a, b, c, d, e, f = numbers_of(operands)
    return a, b, c, d, e, f


def dash_of(said: Any) -> tuple[float, ...]:
    """Return the lengths drawn and left out; empty for a line without gaps."""
    parts = tuple(numbers_of(said))
    return parts if sum(parts) > 0 and any(parts[1::2] or parts) else ()


def colour_of(space: Any, operands: Sequence[Any]) -> str:
    """Return the colour that operands choose in a colour space; empty for a pattern."""
    if operands and isinstance(operands[-1], pikepdf.Name):
        return ""
    return colour_in(space, numbers_of(operands))
