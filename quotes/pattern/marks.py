"""The marks of a panel: notches on its edges, its waist level, its grain."""

import math
from collections.abc import Sequence
from statistics import median

import shapely
from shapely import LineString

from inventory.findings import Finding, stop, warn
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.edges import Edges
from quotes.pattern.geometry import Polyline, x_at
from quotes.pattern.model import EdgeName, Notch, Panel
from quotes.pattern.orientation import turned
from quotes.pattern.outline import clean_ring

__all__ = ["marked_panel"]

NOTCH_REACH_MM = 60.0
"""A notch is on the nearest edge; farther off it marks something else (a wide centre-back allowance is 50 mm)."""
PAIR_LEVEL_MM = 6.0
"""Two waist notches lie this much apart in height at most."""


def marked_panel(drawn: DrawnPanel, edges: Edges, quarter_turns: int) -> tuple[Panel, list[Finding]]:
    front, back, top, bottom = edges
    by_name = {EdgeName.FRONT: front, EdgeName.BACK: back, EdgeName.TOP: top, EdgeName.BOTTOM: bottom}
    notches = []
    for point in drawn.notches:
        spot = turned(point, quarter_turns)
        distances = {name: LineString(edge).distance(shapely.Point(spot)) for name, edge in by_name.items()}
        nearest = min(distances, key=lambda name: distances[name])
        if distances[nearest] <= NOTCH_REACH_MM:
            along = LineString(by_name[nearest]).project(shapely.Point(spot))
            notches.append(Notch(edge=nearest, along_mm=float(along)))
    waist, findings = _waist(drawn, edges, notches, quarter_turns)
    grain_deg = 90.0
    if drawn.grain is not None:
        (x0, y0), (x1, y1) = (turned(point, quarter_turns) for point in drawn.grain)
        grain_deg = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0
    cut = clean_ring([turned(point, quarter_turns) for point in drawn.cut]) if drawn.cut else None
    panel = Panel(
        number=drawn.number or 0,
        front=front,
        back=back,
        top=top,
        bottom=bottom,
        waist_mm=waist,
        grain_deg=grain_deg,
        notches=tuple(notches),
        name=drawn.name,
        quantity=drawn.quantity,
        cut_line=cut,
    )
    return panel, findings


def _waist(
    drawn: DrawnPanel, edges: Edges, notches: Sequence[Notch], quarter_turns: int
) -> tuple[float, list[Finding]]:
    """The waist's level: marked, given, by a pair of notches, or the narrowest level with a warning."""
    front, back, _, _ = edges
    low, high = max(front[0][1], back[0][1]), min(front[-1][1], back[-1][1])
    findings = []
    if drawn.waist is not None:
        level = sum(turned(point, quarter_turns)[1] for point in drawn.waist) / len(drawn.waist)
    elif drawn.waist_mm is not None:
        level = drawn.waist_mm
    else:
        narrowest = _narrowest_level(front, back, low, high)
        pair = _notch_pair(front, back, notches, narrowest)
        level = narrowest if pair is None else pair
        if pair is None:
            findings.append(
                warn(
                    "pattern.waist-missing",
                    drawn.where,
                    f"No waist is marked; the narrowest level is taken, {level - low:.0f} mm above the bottom.",
                    "Mark the waist by a line or by a notch on the front and on the back edge.",
                )
            )
    if not low <= level <= high:
        findings.append(
            stop(
                "pattern.waist-outside",
                drawn.where,
                f"The waist, at {level:.1f} mm, does not cross the panel, which runs from {low:.1f} to {high:.1f} mm.",
                "Place the waist between the bottom and the top edge.",
            )
        )
        level = min(max(level, low), high)
    return level, findings


def _narrowest_level(front: Polyline, back: Polyline, low: float, high: float) -> float:
    """The level at which the panel is narrowest; the middle one where several are alike."""
    levels = sorted(
        {low + (high - low) * step / 60 for step in range(3, 58)} | {y for _, y in (*front, *back) if low < y < high}
    )
    widths = [(x_at(back, y) or 0.0) - (x_at(front, y) or 0.0) for y in levels]
    least = min(widths)
    return float(median(level for level, width in zip(levels, widths, strict=True) if width <= least + 0.01))


def _notch_pair(front: Polyline, back: Polyline, notches: Sequence[Notch], narrowest: float) -> float | None:
    """The level of a notch on the front and one on the back edge that face each other, nearest the narrowest level."""
    heights: dict[EdgeName, list[float]] = {EdgeName.FRONT: [], EdgeName.BACK: []}
    for notch in notches:
        if notch.edge in heights:
            edge = front if notch.edge is EdgeName.FRONT else back
            heights[notch.edge].append(float(LineString(edge).interpolate(notch.along_mm).y))
    pairs = [
        (a + b) / 2 for a in heights[EdgeName.FRONT] for b in heights[EdgeName.BACK] if abs(a - b) <= PAIR_LEVEL_MM
    ]
    return min(pairs, key=lambda level: abs(level - narrowest)) if pairs else None
