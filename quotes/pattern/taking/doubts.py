"""Does anything on a drawing contradict how its panels were read: their unit, or which line they were drawn with?"""

from inventory.ground.findings import Finding, stop, stops
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.sheet import Sheet
from quotes.pattern.taking.closing import closed_outlines
from quotes.pattern.taking.judging import told_allowance
from quotes.pattern.taking.scale import NOT_AT_FULL_SIZE, read_scale
from quotes.pattern.taking.witnesses import bars, stated_waists, test_squares
from quotes.pattern.taking.words import said

__all__ = ["lines_are_cut", "scale_contradictions"]


def scale_contradictions(sheet: Sheet, closed_waist_mm: float) -> tuple[Finding, ...]:
    """Return the stops where squares, bars or words of a sheet say another unit than its own word, or another scale.

    `closed_waist_mm` is what its panels come to by that word. The page's size speaks too.
    """
    closed, lines = closed_outlines(sheet)
    witnesses = [witness for _, witness in test_squares(closed, sheet.labels).values() if witness is not None]
    witnesses += [witness for _, witness in bars(lines, sheet.labels, closed)]
    stated = stated_waists(sheet)
    if sheet.mm_per_unit is None:
        return ()
    findings = read_scale(sheet, ReadOptions(), witnesses, stated, closed_waist_mm / sheet.mm_per_unit).findings
    return stops(findings) or tuple(
        stop(found.code, found.where, found.message, "Save the drawing at its full size without those words.")
        for found in findings
        if found.code == NOT_AT_FULL_SIZE
    )


def lines_are_cut(sheet: Sheet) -> bool:
    """Tell whether a sheet says of its closed lines, by words or by their layers, that they hold the seam allowance."""
    names = [{said(name) for name in stroke.layers} for stroke in sheet.strokes if stroke.is_closed]
    if any(words.is_stitching for found in names for words in found):
        return False
    if any(words.is_cut for found in names for words in found):
        return True
    return bool(told_allowance(sheet.labels, ReadOptions()).holds)
