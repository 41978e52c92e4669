"""Patterns in JSON: named edges, outlines with corners, or an estimating block.

```
{"name", "units": "mm"|"cm"|"in", "seam_allowance"?, "ease"?: [seam], "panels": [
    {"number", "front": [[x, y], …], "back": …, "top": …, "bottom": …, "waist"?, …}
 or {"number", "outline": [[x, y], …], "corners"?: [bottom_front, bottom_back, top_back, top_front], "waist"?, …}]}
or {"name", "units", "block": {…}}
```
Front and back run from bottom to top, top and bottom from front to back. A panel may also carry "grain" (degrees
counter-clockwise from x), "notches" (points), "title" and "quantity"; the file "reduction", "gap" and
"estimating_only", as `quotes.pattern.pattern_json` prints them.
"""

import math
from dataclasses import replace

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, Refused, refuse
from inventory.ground.reading import json_data
from inventory.ground.units import MM_PER_UNIT, LengthUnit
from quotes.pattern.block import draw_block
from quotes.pattern.block_json import read_block
from quotes.pattern.drawing import Drawing, DrawnPanel, Reading, ReadOptions
from quotes.pattern.geometry import Polyline
from quotes.pattern.panels import EdgeName
from quotes.pattern.readers.text import length_at, number_list, overruled_units

__all__ = ["drawing_of", "read"]

MOST_POINTS, MOST_PANELS = 200_000, 60
_FILE_KEYS = frozenset(
    {"name", "units", "seam_allowance", "ease", "panels", "block", "reduction", "gap", "estimating_only"}
)
_PANEL_KEYS = frozenset(
    {"number", "front", "back", "top", "bottom", "outline", "corners", "waist", "grain", "notches", "title", "quantity"}
)
_EDGES = ("front", "back", "top", "bottom")


def read(data: bytes, options: ReadOptions) -> Drawing | Reading:
    """Return the drawing of a JSON pattern, or the reading of an estimating block. Raises Refused."""
    return drawing_of(json_data(data), options)


def drawing_of(document: object, options: ReadOptions) -> Drawing | Reading:
    """The same for data that was parsed already."""
    if not isinstance(document, dict):
        raise refuse("file.not-a-pattern", "file", "The file must hold an object with name, units and panels or block.")
    for key in document:
        if key not in _FILE_KEYS:
            raise refuse(
                "file.unknown-key",
                key[:60],
                f"The key {key[:60]!r} is not known.",
                f"Known are {', '.join(sorted(_FILE_KEYS))}.",
            )
    unit = _unit(document.get("units"), options)
    overruled = overruled_units(document.get("units"), options.units, "units")
    name = document.get("name", "")
    if not isinstance(name, str):
        raise refuse("file.not-text", "name", "The name must be text.")
    if ("panels" in document) == ("block" in document):
        raise refuse("file.not-a-pattern", "file", "The file must hold either panels or a block.")
    if "block" in document:
        block = read_block(document["block"], unit=unit, where="block", name=name or "Estimating block")
        drawn = draw_block(block, where="block")
        return replace(drawn, findings=(*overruled, *drawn.findings))
    rows = document["panels"]
    if not isinstance(rows, list) or len(rows) > MOST_PANELS:
        raise refuse("file.not-a-list", "panels", f"panels must be a list of at most {MOST_PANELS} panels.")
    faults: list[Finding] = []
    panels = []
    for index, row in enumerate(rows):
        try:
            panels.append(_panel(row, f"panels[{index}]", unit))
        except Refused as refusal:
            faults += refusal.findings
    if faults:
        raise Refused(faults)
    if sum(len(panel.stitching or ()) for panel in panels) > MOST_POINTS:
        raise refuse("file.too-many-points", "panels", f"The outlines have more than {MOST_POINTS} points together.")
    return Drawing(
        name=name,
        panels=tuple(panels),
        seam_allowance_mm=_optional_length(document, "seam_allowance", unit),
        ease=_ease(document.get("ease", [])),
        reduction_mm=_optional_length(document, "reduction", unit),
        gap_mm=_optional_length(document, "gap", unit),
        estimating_only=document.get("estimating_only") is True,
        mm_per_unit=float(MM_PER_UNIT[unit]),
        findings=overruled,
    )


def _optional_length(document: Document, key: str, unit: LengthUnit) -> float | None:
    return length_at(document[key], key, unit) if key in document else None


def _unit(said: object, options: ReadOptions) -> LengthUnit:
    """The unit that the maker tells, else the file's."""
    known = {"mm": LengthUnit.MM, "cm": LengthUnit.CM, "in": LengthUnit.INCH}
    if said is not None and (not isinstance(said, str) or said not in known):
        raise refuse("file.unknown-units", "units", f"{str(said)[:40]!r} is no unit known here.", "Write mm, cm or in.")
    if said is None and options.units is None:
        raise refuse(
            "file.no-units", "units", "The file says no units.", 'Add "units": "mm" (or cm, in), or say --units.'
        )
    return known[options.units or str(said)]


def _ease(value: object) -> frozenset[int]:
    if not isinstance(value, list) or not all(isinstance(item, int) and not isinstance(item, bool) for item in value):
        raise refuse("file.not-a-list", "ease", "ease must be a list of seam numbers.")
    return frozenset(value)


def _panel(row: object, where: str, unit: LengthUnit) -> DrawnPanel:
    if not isinstance(row, dict):
        raise refuse("file.not-a-panel", where, "A panel must be an object.")
    for key in row:
        if key not in _PANEL_KEYS:
            raise refuse("file.unknown-key", f"{where}.{key[:60]}", f"The key {key[:60]!r} is not known in a panel.")
    number = row.get("number")
    if not isinstance(number, int) or isinstance(number, bool):
        raise refuse("pattern.panel-without-number", where, "A panel needs a whole number.", "Number them from 1.")
    named = [name for name in _EDGES if name in row]
    if ("outline" in row) == bool(named):
        raise refuse("file.not-a-panel", where, "A panel has either an outline or its four edges.")
    edges = None
    outline: Polyline | None = None
    corners = None
    if named:
        if len(named) < 4:
            missing = ", ".join(name for name in _EDGES if name not in row)
            raise refuse("file.missing-key", where, f"The edges {missing} are missing.")
        edges = {EdgeName(name): _points(row[name], f"{where}.{name}", unit, least=2) for name in _EDGES}
    else:
        outline = _points(row["outline"], f"{where}.outline", unit, least=3)
        corners = _corners(row.get("corners"), f"{where}.corners", len(outline))
    waist = row.get("waist")
    grain = row.get("grain")
    quantity = row.get("quantity")
    if grain is not None and (not isinstance(grain, int | float) or isinstance(grain, bool)):
        raise refuse("file.not-a-number", f"{where}.grain", "The grain is an angle in degrees.")
    if quantity is not None and (not isinstance(quantity, int) or isinstance(quantity, bool)):
        raise refuse("file.not-a-number", f"{where}.quantity", "The quantity is a whole number.")
    turn = math.radians(90.0 if grain is None else float(grain))
    return DrawnPanel(
        number=number,
        where=where,
        stitching=outline,
        corners=corners,
        edges=edges,
        waist_mm=None if waist is None else length_at(waist, f"{where}.waist", unit),
        grain=None if grain is None else ((0.0, 0.0), (math.cos(turn), math.sin(turn))),
        notches=_points(row.get("notches", []), f"{where}.notches", unit, least=0),
        name=str(row.get("title", ""))[:80],
        quantity=quantity,
    )


def _points(value: object, where: str, unit: LengthUnit, *, least: int) -> Polyline:
    if not isinstance(value, list) or len(value) < least:
        raise refuse("file.not-a-list", where, f"{where} must be a list of at least {least} points.")
    if len(value) > MOST_POINTS:
        raise refuse("file.too-many-points", where, f"{where} has more than {MOST_POINTS} points.")
    points = (number_list(item, f"{where}[{index}]", unit, count=2) for index, item in enumerate(value))
    return tuple((x, y) for x, y in points)


def _corners(value: object, where: str, count: int) -> tuple[int, int, int, int] | None:
    if value is None:
        return None
    if isinstance(value, list) and len(value) == 4:
        first, second, third, fourth = value
        if all(isinstance(item, int) and not isinstance(item, bool) and 0 <= item < count for item in value):
            return first, second, third, fourth
    raise refuse(
        "file.corners",
        where,
        f"{where} must be four positions in the outline, 0 to {count - 1}.",
        "In the order bottom front, bottom back, top back, top front.",
    )
