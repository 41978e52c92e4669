"""A sheet of lines on the table: told apart once for each way in which its maker says that it is to be taken."""

from dataclasses import replace

from quotes.pattern.drawing import ReadOptions
from quotes.pattern.sheet import Sheet
from quotes.pattern.table.lying import scaled_sheet
from quotes.pattern.table.said import DrawnLine, Said
from quotes.pattern.taking.take import take
from quotes.pattern.taking.taken import Taken, TakenOutline

__all__ = ["Lines", "number_of"]

MOST_REMEMBERED = 8
_USUAL_ALLOWANCE_MM = 12.7
"""Tells `take` that lines hold an allowance while nobody has said how much; no line is moved by it."""

_Way = tuple[float | None, str, tuple[int, ...], float | None]


def number_of(outline: TakenOutline) -> int:
    """Return the number of the panel that an outline is; 0 for what is none."""
    return (outline.panel or 0) if outline.is_panel else 0


class Lines:
    """Remembers the latest ways in which a sheet was taken: a moved waist tells no line apart anew."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._remembered: dict[_Way, Taken] = {}

    def proposed(self, said: Said) -> Taken:
        """Return the sheet as it is taken where neither its unit nor its numbers are said."""
        return self._taken((None, said.size, (), _taken_allowance_mm(said)))

    def taken(self, said: Said) -> Taken:
        """Return the sheet as it is taken with the unit and the numbers that are said."""
        panels: tuple[int, ...] = ()
        if any(piece.number is not None for piece in said.pieces):
            panels = tuple(
                number_of(outline) if (number := said.of_piece(outline.index).number) is None else number
                for outline in self.proposed(said).outlines
                if outline.may_be_panel
            )
        return self._taken((said.mm_per_unit, said.size, panels, _taken_allowance_mm(said)))

    def _taken(self, way: _Way) -> Taken:
        if way not in self._remembered:
            if len(self._remembered) >= MOST_REMEMBERED:
                self._remembered.pop(next(iter(self._remembered)), None)
            self._remembered[way] = self._taken_anew(way)
        return self._remembered[way]

    def _taken_anew(self, way: _Way) -> Taken:
        mm_per_unit, size, panels, allowance_mm = way
        options = ReadOptions(size=size, panels=panels, seam_allowance_mm=allowance_mm)
        if mm_per_unit is None:
            return take(self._sheet, options)
        return take(scaled_sheet(self._sheet, mm_per_unit), replace(options, units="mm"))


def _taken_allowance_mm(said: Said) -> float | None:
    """What is said of lines that may hold the allowance: 0 of stitching lines, more of cut lines."""
    if said.line is DrawnLine.STITCHING:
        return 0.0
    if said.line is DrawnLine.CUT and said.allowance_mm is None:
        return said.edge_allowances.front_mm if said.edge_allowances else _USUAL_ALLOWANCE_MM
    return said.allowance_mm
