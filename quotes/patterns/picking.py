"""Corners of a file that cannot be told apart, for its maker to pick on the page."""

from dataclasses import dataclass

from django.core.files.uploadedfile import UploadedFile

from inventory.ground.findings import Refused
from quotes.drawings.picking import panels_to_pick, picking_drawing
from quotes.pattern.drawing import ReadOptions
from quotes.patterns.kept_patterns import drawing_of_upload

__all__ = ["Picking", "pickings_of"]


@dataclass(frozen=True, slots=True)
class Picking:
    """A panel and the drawing on which its corners are picked."""

    number: int | None
    drawing: str


def pickings_of(upload: "UploadedFile[bytes]", options: ReadOptions, refusal: Refused) -> list[Picking]:
    """Return the panels of a refused file whose corners may be picked; none where corners were not the matter."""
    if not any(finding.code == "pattern.corners-ambiguous" for finding in refusal.findings):
        return []
    drawing = drawing_of_upload(upload, options)
    return [
        Picking(panel.number, picking_drawing(panel)) for panel in panels_to_pick(drawing.panels if drawing else ())
    ]
