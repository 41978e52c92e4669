"""What lies on the pattern table: a drawing whose panels the file names itself, or a sheet of lines and words.

A file is read once, in the limited child process; what it holds is kept as a document, which every look is taken at.
"""

import importlib
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

from inventory.ground.codec import Codec
from inventory.ground.confined import confined
from inventory.ground.findings import Refused, refuse, stops
from quotes.pattern.assemble import assemble
from quotes.pattern.drawing import Drawing, DrawnPanel, Reading, ReadOptions
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.pattern_json import pattern_document
from quotes.pattern.readers.child import MEND, READERS, SHEETS, sheet_here
from quotes.pattern.readers.json_pattern import drawing_of
from quotes.pattern.sheet import Sheet
from quotes.pattern.taking.doubts import scale_contradictions
from quotes.pattern.taking.take import take

__all__ = ["LYING", "MOST_POINTS", "Lying", "lay_down", "scaled_drawing", "scaled_sheet"]

MOST_POINTS = 120_000
MOST_PIECES = 100
MOST_SECONDS = 3.0
"""A drawing with more points or pieces, or whose lines take longer to tell apart, cannot be shown anew at each press."""
_MENDED_HERE = frozenset(
    {
        "pattern.corners-ambiguous",
        "pattern.cut-line-without-allowance",
        "pattern.seam-does-not-true",
        "pattern.waist-outside",
        "pattern.centre-front-unclear",
        "pattern.looks-like-other-units",
        "pattern.waist-unbelievable",
    }
)
"""Stops that a maker mends on the table, with the names that the file gives its panels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """What a file holds: one of `drawing` and `sheet`. `name` is the file's, without its ending."""

    name: str
    drawing: Drawing | None = None
    sheet: Sheet | None = None


LYING = Codec(kind=Lying, version=1)


def lay_down(data: bytes, kind: str, name: str) -> Lying:
    """Return what a file of `kind` (".dxf", …) holds, read within the limits.

    Raises:
        Refused: the readers' findings, or that it took too much.
    """
    return confined(laid_down_here, data, kind, name, name=name, mend=MEND)


def laid_down_here(data: bytes, kind: str, name: str) -> Lying:
    """Return the same, without limits, in this process. Raises Refused."""
    lying = _lying(data, kind, name)
    points = sum(map(len, _lines(lying)))
    if points > MOST_POINTS:
        raise refuse(
            "drawing.too-many-points",
            name,
            f"The drawing has {points} points; {MOST_POINTS} can be laid on the table.",
            MEND,
        )
    if lying.sheet is not None:
        began = time.process_time()
        taken = take(lying.sheet, ReadOptions())
        if time.process_time() - began > MOST_SECONDS:
            raise refuse(
                "drawing.too-much",
                name,
                f"It takes more than {MOST_SECONDS:g} seconds to tell the lines of the drawing apart.",
                MEND,
            )
        pieces = sum(1 for outline in taken.outlines if outline.may_be_panel)
        if pieces > MOST_PIECES:
            raise refuse(
                "drawing.too-many-pieces",
                name,
                f"The drawing has {pieces} outlines that could be panels; {MOST_PIECES} can be laid on the table.",
                MEND,
            )
    return lying


def _lying(data: bytes, kind: str, name: str) -> Lying:
    """The drawing whose panels the file names, where that is whole or can be mended here; else all of its lines."""
    if kind not in READERS:
        return Lying(name=name, sheet=_sheet(data, kind))
    try:
        named = Lying(name=name, drawing=_named(data, kind, name))
    except Refused as refusal:
        try:
            return Lying(name=name, sheet=_sheet(data, kind))
        except Refused:
            raise refusal from None
    if kind not in SHEETS:
        return named
    try:
        lines = Lying(name=name, sheet=_sheet(data, kind))
    except Refused:
        return named
    return lines if _is_for_lines(named, lines) else named


def _named(data: bytes, kind: str, name: str) -> Drawing:
    reader = importlib.import_module(f"quotes.pattern.readers.{READERS[kind]}")
    drawn: Drawing | Reading = reader.read(data, ReadOptions())
    if isinstance(drawn, Drawing):
        return drawn if drawn.name else replace(drawn, name=name)
    # An estimating block is drawn here already: the pattern it came to, with its edges named.
    whole = drawing_of(pattern_document(drawn.pattern), ReadOptions())
    assert isinstance(whole, Drawing)
    return replace(whole, findings=drawn.findings)


def _sheet(data: bytes, kind: str) -> Sheet:
    """All lines of a file. Raises Refused, for a kind that has none too."""
    if kind not in SHEETS:
        raise refuse("file.no-lines", "file", f"A file that ends in {kind} shows no lines.")
    return sheet_here(data, kind, ReadOptions())


def _is_for_lines(named: Lying, lines: Lying) -> bool:
    """Whether the lines of a file say more than the panels that it names: on its unit, or where those come to no pattern."""
    assert named.drawing is not None
    assert lines.sheet is not None
    try:
        pattern = assemble(named.drawing, ReadOptions()).pattern
    except Refused as refusal:
        is_mended_here = {found.code for found in stops(refusal.findings)} <= _MENDED_HERE
        return not is_mended_here or not stops(take(lines.sheet, ReadOptions()).findings)
    sheet = replace(lines.sheet, mm_per_unit=named.drawing.mm_per_unit)
    return bool(scale_contradictions(sheet, pattern.closed_waist_mm))


def _lines(lying: Lying) -> Iterator[Polyline]:
    if lying.sheet is not None:
        yield from (stroke.line for stroke in lying.sheet.strokes)
    if lying.drawing is not None:
        for panel in lying.drawing.panels:
            yield from (line for line in (panel.stitching, panel.cut, *(panel.edges or {}).values()) if line)


def scaled_sheet(sheet: Sheet, mm_per_unit: float) -> Sheet:
    """Return a sheet whose unit is the millimetre, where one of its units is `mm_per_unit` long."""
    return replace(
        sheet,
        strokes=tuple(replace(stroke, line=_scaled(stroke.line, mm_per_unit)) for stroke in sheet.strokes),
        labels=tuple(
            replace(label, at=_moved(label.at, mm_per_unit), height=label.height * mm_per_unit)
            for label in sheet.labels
        ),
        notches=_scaled(sheet.notches, mm_per_unit),
        mm_per_unit=1.0,
    )


def scaled_drawing(drawing: Drawing, times: float) -> Drawing:
    """Return a drawing that is `times` as large."""
    return replace(drawing, panels=tuple(_scaled_panel(panel, times) for panel in drawing.panels))


def _scaled_panel(panel: DrawnPanel, times: float) -> DrawnPanel:
    def line(points: Polyline | None) -> Polyline | None:
        return None if points is None else _scaled(points, times)

    return replace(
        panel,
        stitching=line(panel.stitching),
        cut=line(panel.cut),
        turn_points=_scaled(panel.turn_points, times),
        edges=None if panel.edges is None else {name: _scaled(edge, times) for name, edge in panel.edges.items()},
        notches=_scaled(panel.notches, times),
        waist=line(panel.waist),
        waist_mm=None if panel.waist_mm is None else panel.waist_mm * times,
        grain=None if panel.grain is None else (_moved(panel.grain[0], times), _moved(panel.grain[1], times)),
    )


def _scaled(line: Polyline, times: float) -> Polyline:
    return tuple((x * times, y * times) for x, y in line)


def _moved(point: Point, times: float) -> Point:
    return point[0] * times, point[1] * times
