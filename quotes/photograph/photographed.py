"""A pattern from photographs of its paper pieces: their outlines measured, then told apart as those of any free drawing."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_as_taken
from quotes.pattern.taking.take import take
from quotes.photograph.cards import PrintScale
from quotes.photograph.photographs import read_photographs
from quotes.photograph.sheet import sheet_of

__all__ = ["read_photographed"]


def read_photographed(paths: Sequence[Path], options: ReadOptions, scale: PrintScale) -> Reading:
    """Return the pattern whose pieces are seen in one or several photographs, numbered by `options.panels`.

    Raises:
        Refused: photographs that cannot be used, or pieces that make no pattern, with what each was taken for.
    """
    sheet = sheet_of(read_photographs(paths, scale))
    # Photographs are measured in mm, whatever unit is said for drawings.
    options = replace(options, units=None)
    reading = read_as_taken(take(sheet, options), paths[0].stem, options, assembled=True)
    assert isinstance(reading, Reading)
    return reading
