"""What reads a pattern file in a process of its own (`inventory.ground.confined`): the reader for its kind, then the assembly.

A drawing is read twice at the most. The strict reader takes what names its panels; where it finds none, or none with a
number, the free reading sees lines and words (`quotes/pattern/sheet.py`) and says what they are (`taking/`).
"""

import contextlib
import importlib
import re
from collections import defaultdict
from dataclasses import replace

from shapely import Polygon

from inventory.ground.confined import confined
from inventory.ground.findings import Finding, Refused, refuse, stops
from quotes.pattern.assemble import assemble
from quotes.pattern.believable import MEASURED_UNITS
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.geometry import as_polygon
from quotes.pattern.sheet import Sheet
from quotes.pattern.taking.doubts import lines_are_cut, scale_contradictions
from quotes.pattern.taking.scale import NOT_AT_FULL_SIZE
from quotes.pattern.taking.take import take
from quotes.pattern.taking.taken import Role, Taken

__all__ = [
    "MEND",
    "READERS",
    "SHEETS",
    "read_as_taken",
    "read_here",
    "read_in_child",
    "sheet_here",
    "take_here",
]

READERS = {".dxf": "dxf", ".svg": "svg", ".csv": "table", ".xlsx": "table", ".json": "json_pattern"}
"""Which module of this room reads a kind of file, by the ending of its name."""
SHEETS = {".dxf": "dxf_sheet", ".svg": "svg_sheet", ".pdf": "pdf"}
"""Which module reads a kind of file freely."""
_UNNUMBERED = frozenset({"pattern.no-panels", "pattern.panel-without-number"})
"""Whatever else the strict reader says with these follows from what it does not know."""
_OF_LINES = ("pattern.", "file.units", NOT_AT_FULL_SIZE)
"""Begin the codes of refusals beside which it is worth telling what the lines were taken for."""
_SPEAKS_OF_LENGTH = re.compile(
    rb"\d[\s/\d.,]*(?:mm|cm|in\b|inch|[\"'])|waist|scale|stab|chelle|1\s?:\s?\d", re.IGNORECASE
)
"""Words without which no drawing has a witness of its unit or a scale; a large file is not read again in vain."""
_SPEAKS_OF_CUT = re.compile(rb"allowance|nahtzugabe|\bs\.?a\b|cut", re.IGNORECASE)
"""Words without which no drawing says that its only line is a cut line."""
_OVER_SHARE = 0.5
"""Outlines that share this much of the smaller one lie over each other; halves lie side by side."""
MEND = "Save only the pattern's panels, without copies of copies."
_OPEN = frozenset(
    {
        "file.no-units",
        "pattern.line-is-cut",
        "pattern.lines-over-each-other",
        "pattern.no-panels",
        "pattern.number-ambiguous",
        "pattern.outline-open",
        "pattern.panel-without-number",
        "svg.which-line",
    }
)
"""With these the strict reader knows too little: what the free reading says counts, a refusal too."""
_DOUBTED = frozenset(
    {
        "file.units-contradict",
        NOT_AT_FULL_SIZE,
        "pattern.cut-line-without-allowance",
        "pattern.panel-count",
        "pattern.panel-missing",
        "pattern.panel-twice",
        "pattern.waist-unbelievable",
    }
)
"""With these it may have taken words for numbers; the free reading counts where it comes to a pattern."""


def read_in_child(data: bytes, kind: str, name: str, options: ReadOptions, *, assembled: bool) -> Drawing | Reading:
    """Return what the reader for `kind` (".dxf", …) makes of `data`.

    Raises:
        Refused: the reader's findings, or that it took too much time or memory or broke down; beside them what the
            outlines of a drawing were taken for.
    """
    return confined(read_here, data, kind, name, options, assembled, name=name, mend=MEND)


def take_here(data: bytes, kind: str, options: ReadOptions) -> Taken:
    """Return what the lines of a drawing are taken for, its stops among the findings, without limits, in this process.

    Raises:
        Refused: the file cannot be read as a drawing.
    """
    return take(sheet_here(data, kind, options), options)


def sheet_here(data: bytes, kind: str, options: ReadOptions) -> Sheet:
    """Return the lines and words of a drawing of one of `SHEETS`, likewise. Raises Refused with the reader's findings."""
    reader = importlib.import_module(f"quotes.pattern.readers.{SHEETS[kind]}")
    sheet: Sheet = reader.read_sheet(data, options)
    return sheet


def read_here(data: bytes, kind: str, name: str, options: ReadOptions, assembled: bool) -> Drawing | Reading:
    """Return what `read_in_child` does, without limits, in this process. Raises Refused with the reader's findings."""
    if kind not in SHEETS and options.units not in (None, *MEASURED_UNITS):
        raise refuse("option.units", "--units", "Points and pixels are units of drawings.", "Say mm, cm or in.")
    if kind not in READERS or (options.size and kind in SHEETS):
        return _freely(data, kind, name, options, assembled)
    try:
        return _strictly(data, kind, name, options, assembled)
    except Refused as refusal:
        codes = {finding.code for finding in stops(refusal.findings)}
        if kind not in SHEETS or not any(code in _OPEN or code.startswith(_OF_LINES) for code in codes):
            raise
        try:
            read = _freely(data, kind, name, options, assembled)
        except Refused as free:
            is_drawn_small = any(finding.code == NOT_AT_FULL_SIZE for finding in free.findings)
            if codes <= _OPEN or codes & _UNNUMBERED or is_drawn_small:
                raise free from None
            raise Refused(refusal.findings, beside=free.beside) from None
        if not codes & (_OPEN | _DOUBTED):
            raise
        return read


def _strictly(data: bytes, kind: str, name: str, options: ReadOptions, assembled: bool) -> Drawing | Reading:
    # Each reader brings libraries that the others do without, so only the one that is needed is imported.
    reader = importlib.import_module(f"quotes.pattern.readers.{READERS[kind]}")
    drawn: Drawing | Reading = reader.read(data, options)
    if isinstance(drawn, Reading):
        return drawn
    drawn = drawn if drawn.name else replace(drawn, name=name)
    if kind in SHEETS:
        _must_lie_apart(drawn)
        _must_be_stitched(drawn, data, kind, options)
    if assembled:
        reading = assemble(drawn, options)
        if kind in SHEETS and (kind == ".svg" or _SPEAKS_OF_LENGTH.search(data)):
            contradictions = _contradictions(data, kind, options, drawn.mm_per_unit, reading)
            if contradictions:
                raise Refused(contradictions)
        return reading
    if kind in SHEETS and any(panel.number is None for panel in drawn.panels):
        # Whoever picks corners on a drawing needs its numbers; without any, the lines are still worth showing.
        with contextlib.suppress(Refused):
            return _freely(data, kind, name, options, assembled)
    return drawn


def _contradictions(
    data: bytes, kind: str, options: ReadOptions, mm_per_unit: float, reading: Reading
) -> tuple[Finding, ...]:
    """What on the drawing contradicts the unit that its panels were read in."""
    try:
        sheet = sheet_here(data, kind, options)
    except Refused:
        # Something beside the panels cannot be read; they could.
        return ()
    return scale_contradictions(replace(sheet, mm_per_unit=mm_per_unit), reading.pattern.closed_waist_mm)


def _must_lie_apart(drawn: Drawing) -> None:
    """Refuse two outlines of one number that lie over each other: sizes, or a line in its cut line, and no two halves."""
    shapes: dict[int, list[Polygon]] = defaultdict(list)
    for panel in drawn.panels:
        ring = panel.stitching or panel.cut or ()
        if panel.number is None or len(ring) < 3:
            continue
        shape = as_polygon(ring)
        if not shape.is_valid:
            continue
        for other in shapes[panel.number]:
            if shape.intersection(other).area > _OVER_SHARE * min(shape.area, other.area):
                raise refuse(
                    "pattern.lines-over-each-other",
                    panel.where,
                    f"Two outlines of panel {panel.number} lie over each other.",
                    "Draw each size in a colour or on a layer of its own, or leave one.",
                )
        shapes[panel.number].append(shape)


def _must_be_stitched(drawn: Drawing, data: bytes, kind: str, options: ReadOptions) -> None:
    """Refuse single lines that were taken for stitching lines where the drawing says that they are cut lines."""
    single = [panel for panel in drawn.panels if panel.stitching is not None and panel.cut is None]
    if not single or not _SPEAKS_OF_CUT.search(data):
        return
    try:
        sheet = sheet_here(data, kind, options)
    except Refused:
        # Something beside the panels cannot be read; they could.
        return
    if lines_are_cut(sheet):
        raise refuse(
            "pattern.line-is-cut",
            single[0].where,
            "The drawing says that its only line is the cut line.",
            "Say the allowance with --seam-allowance MM, or draw the stitching line.",
        )


def _freely(data: bytes, kind: str, name: str, options: ReadOptions, assembled: bool) -> Drawing | Reading:
    return read_as_taken(take_here(data, kind, options), name, options, assembled=assembled)


def read_as_taken(taken: Taken, name: str, options: ReadOptions, *, assembled: bool) -> Drawing | Reading:
    """Return what the lines of a sheet come to, once it is told what they are.

    Raises:
        Refused: what is wrong with them; beside it what each outline was taken for.
    """
    beside = {"taken_for": _taken_for(taken)}
    if taken.drawing is None:
        raise Refused(taken.findings, beside=beside)
    drawing = replace(taken.drawing, name=name)
    if not assembled:
        return drawing
    try:
        return assemble(drawing, options)
    except Refused as refusal:
        raise Refused(refusal.findings, beside=beside) from None


def _taken_for(taken: Taken) -> list[dict[str, object]]:
    """What each outline was taken for, in the words that commands promise."""
    rows: list[dict[str, object]] = []
    for outline in taken.outlines:
        as_words = "test square" if outline.role is Role.TEST_SQUARE else "left out"
        if outline.is_panel and outline.panel is not None:
            as_words = f"panel {outline.panel}"
        rows.append({"outline": outline.index, "as": as_words, "why": outline.why})
    return rows
