"""Drawings in PDF, own or bought: lines and words at true scale, tiled pages put together, never a picture of them.

Content is run by our own interpreter on operands that pikepdf reads (`pdf_content` says why); each page's measure comes
from its boxes, its UserUnit and its rotation (`pdf_document`).
"""

from inventory.ground.findings import Finding, refuse, warn
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.pdf_content import PageContent, read_page
from quotes.pattern.readers.pdf_document import Budget, broken, opened
from quotes.pattern.readers.pdf_tiles import Tile, put_together
from quotes.pattern.sheet import Sheet

__all__ = ["read_sheet"]

_UNIT_SAID = "the page's points, 1/72 in"
_SCANNED_SHARE = 0.4
"""A picture that covers this much of a page is what the page is about."""
_FEW_STROKES = 4


def read_sheet(data: bytes, _: ReadOptions) -> Sheet:
    """Return all lines and words of a PDF as one sheet in millimetres.

    Raises:
        Refused: what cannot be read safely, a scan, pages without a line, tiles of which one is missing or that don't fit.
    """
    pages, doubted = opened(data)
    budget = Budget()
    contents = [read_page(page, budget) for page in pages]
    if doubted and not any(content.strokes for content in contents):
        raise broken("no line of it can be read")
    findings = [*doubted, *_looked_through(contents)]
    tiles = [
        Tile(
            number=page.number,
            width_mm=page.width_mm,
            height_mm=page.height_mm,
            strokes=tuple(content.strokes),
            labels=content.labels,
        )
        for page, content in zip(pages, contents, strict=True)
        if not _is_scan(content)
    ]
    sheet = put_together(tiles)
    return Sheet(
        strokes=sheet.strokes,
        labels=sheet.labels,
        mm_per_unit=1.0,
        unit_said=_UNIT_SAID,
        findings=(*findings, *sheet.findings),
    )


def _is_scan(content: PageContent) -> bool:
    return content.picture_share >= _SCANNED_SHARE and len(content.strokes) < _FEW_STROKES


def _looked_through(contents: list[PageContent]) -> list[Finding]:
    """What is doubtful of the pages as they are. Raises Refused where no page draws a line."""
    scans = [number for number, content in enumerate(contents, start=1) if _is_scan(content)]
    if scans and not any(content.strokes for content in contents if not _is_scan(content)):
        raise refuse(
            "pdf.scan",
            "file",
            "The PDF holds a scan: pictures of a pattern, and no lines.",
            "Photograph the paper with the printed cards, or draw the panels over the scan and save those.",
        )
    if not any(content.strokes for content in contents):
        raise refuse(
            "pdf.no-lines",
            "file",
            "The PDF draws no line.",
            "Save the drawing as a PDF with its lines, not as text or a picture.",
        )
    findings = [
        warn(
            "pdf.scanned-page",
            f"page {number}",
            f"Page {number} is a scan, without lines; it is left out.",
            "If a panel is on it, photograph the paper with the printed cards.",
        )
        for number in scans
    ]
    unread = sum(content.unread for content in contents)
    if unread:
        findings.append(
            warn(
                "pdf.unread",
                "file",
                f"{unread} of the PDF's drawing instructions make no sense and were left out.",
                "Check that nothing is missing.",
            )
        )
    return findings
