"""A pattern printed as the JSON pattern file says it, in millimetres; it reads back to the same pattern."""

from collections.abc import Mapping
from typing import Any

from inventory.ground.codec import Document
from quotes.pattern.assemble import assemble
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.geometry import Polyline, point_along
from quotes.pattern.orientation import flipped_panel
from quotes.pattern.panels import Panel, Pattern
from quotes.pattern.readers.json_pattern import drawing_of

__all__ = ["pattern_document", "pattern_from"]


def pattern_document(pattern: Pattern) -> Document:
    """Return the pattern as JSON data."""
    return {
        "name": pattern.name,
        "units": "mm",
        **({} if pattern.seam_allowance_mm is None else {"seam_allowance": pattern.seam_allowance_mm}),
        **({"ease": sorted(pattern.ease)} if pattern.ease else {}),
        **({} if pattern.reduction_mm is None else {"reduction": pattern.reduction_mm}),
        **({} if pattern.gap_mm is None else {"gap": pattern.gap_mm}),
        **({"estimating_only": True} if pattern.estimating_only else {}),
        # The other half stands as it would be drawn: in the mirror, each number a second time.
        "panels": [
            *map(_panel, pattern.panels),
            *(_panel(flipped_panel(panel)) for panel in pattern.right_panels or ()),
        ],
    }


def pattern_from(document: Mapping[str, Any]) -> Pattern:
    """Return the pattern that `pattern_document` printed. Raises Refused where somebody broke it."""
    options = ReadOptions(centre_front="left")
    drawn = drawing_of(document, options)
    return drawn.pattern if isinstance(drawn, Reading) else assemble(drawn, options).pattern


def _panel(panel: Panel) -> Document:
    return {
        "number": panel.number,
        "front": _points(panel.front),
        "back": _points(panel.back),
        "top": _points(panel.top),
        "bottom": _points(panel.bottom),
        "waist": panel.waist_mm,
        **({} if panel.grain_deg == 90.0 else {"grain": panel.grain_deg}),
        **(
            {"notches": _points(tuple(point_along(panel.edge(notch.edge), notch.along_mm) for notch in panel.notches))}
            if panel.notches
            else {}
        ),
        **({"title": panel.name} if panel.name else {}),
        **({} if panel.quantity is None else {"quantity": panel.quantity}),
    }


def _points(line: Polyline) -> list[list[float]]:
    return [[x, y] for x, y in line]
