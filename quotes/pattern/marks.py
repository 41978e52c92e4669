"""The marks of a panel: notches on its edges, its waist level, its grain."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from inventory.ground.findings import Finding, stop, warn
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.geometry import Polyline, as_line
from quotes.pattern.orientation import Placement
from quotes.pattern.outline import clean_ring
from quotes.pattern.panels import EdgeName, Edges, Notch, Panel
from quotes.pattern.seam_fit import ToldPanel

__all__ = ["marked_panel"]

NOTCH_REACH_MM = 60.0
"""A notch is on the nearest edge; farther off it marks something else (a wide centre-back allowance is 50 mm)."""
PAIR_LEVEL_MM = 6.0
"""Two waist notches lie this much apart in height at most."""
_SAMPLES = 240
"""Levels at which the width is measured to find the narrowest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Waist:
    level_mm: float
    known: bool
    findings: tuple[Finding, ...] = ()


def marked_panel(
    drawn: DrawnPanel, edges: Edges, placement: Placement, *, named: bool, lying: bool
) -> tuple[ToldPanel, tuple[Finding, ...]]:
    """Return the panel with the marks that the drawing carries, and what is wrong with them."""
    front, back, top, bottom = edges
    notches = _notches(placement.line(drawn.notches), edges)
    waist = _waist(drawn, edges, notches, placement)
    grain_deg = 90.0
    if drawn.grain is not None:
        (x0, y0), (x1, y1) = placement.line(drawn.grain)
        grain_deg = round(math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0, 9) % 180.0
    panel = Panel(
        number=drawn.number or 0,
        front=front,
        back=back,
        top=top,
        bottom=bottom,
        waist_mm=waist.level_mm,
        grain_deg=grain_deg,
        notches=notches,
        name=drawn.name,
        quantity=drawn.quantity,
        cut_line=clean_ring(placement.line(drawn.cut)) if drawn.cut else None,
    )
    told = ToldPanel(
        panel=panel,
        where=drawn.where,
        named=named,
        drawn_right=named and placement.flipped,
        lying=lying,
        waist_known=waist.known,
    )
    return told, waist.findings


def _notches(points: Polyline, edges: Edges) -> tuple[Notch, ...]:
    if not points:
        return ()
    names = (EdgeName.FRONT, EdgeName.BACK, EdgeName.TOP, EdgeName.BOTTOM)
    lines = [np.asarray(edge) for edge in edges]
    legs = shapely.linestrings(np.concatenate([np.stack((line[:-1], line[1:]), axis=1) for line in lines]))
    owners = np.concatenate([np.full(len(line) - 1, index) for index, line in enumerate(lines)])
    before = np.concatenate([_lengths_before(line) for line in lines])
    spots = shapely.points(np.asarray(points))
    nearest = shapely.STRtree(legs).nearest(spots)
    gaps = shapely.distance(legs[nearest], spots)
    along = before[nearest] + shapely.line_locate_point(legs[nearest], spots)
    return tuple(
        Notch(edge=names[owner], along_mm=float(length))
        for owner, length, gap in zip(owners[nearest], along, gaps, strict=True)
        if gap <= NOTCH_REACH_MM
    )


def _lengths_before(line: NDArray[np.float64]) -> NDArray[np.float64]:
    """For each leg of a line, the length of those before it."""
    ways = np.cumsum(np.hypot(*np.diff(line, axis=0).T))
    return np.concatenate(([0.0], ways[:-1]))


def _waist(drawn: DrawnPanel, edges: Edges, notches: Sequence[Notch], placement: Placement) -> _Waist:
    """The waist's level: marked, given, by a pair of notches, or the narrowest level with a warning."""
    front, back, _, _ = edges
    low, high = max(front[0][1], back[0][1]), min(front[-1][1], back[-1][1])
    if not low < high:
        return _outside(drawn, (low + high) / 2, low, high)
    if drawn.waist is not None:
        level = _marked_level(placement.line(drawn.waist), front, back)
    elif drawn.waist_mm is not None:
        level = placement.level(drawn.waist_mm)
    else:
        narrowest = _narrowest_level(front, back, low, high)
        pair = _notch_pair(front, back, notches, narrowest)
        if pair is None:
            return _Waist(
                level_mm=narrowest,
                known=False,
                findings=(
                    warn(
                        "pattern.waist-missing",
                        drawn.where,
                        f"No waist is marked; the narrowest level is taken, {narrowest - low:.0f} mm above the bottom.",
                        "Mark the waist by a line or by a notch on the front and on the back edge.",
                    ),
                ),
            )
        level = pair
    return _Waist(level_mm=level, known=True) if low <= level <= high else _outside(drawn, level, low, high)


def _outside(drawn: DrawnPanel, level: float, low: float, high: float) -> _Waist:
    fault = stop(
        "pattern.waist-outside",
        drawn.where,
        f"The waist, at {level:.1f} mm, does not cross the panel, whose front and back edge both run from {low:.1f} "
        f"to {high:.1f} mm.",
        "Place the waist between the bottom and the top edge.",
    )
    return _Waist(level_mm=level, known=False, findings=(fault,))


def _marked_level(line: Polyline, front: Polyline, back: Polyline) -> float:
    """The mean height at which a marked line crosses the front and the back edge, or of its ends if it falls short."""
    crossings = [shapely.get_coordinates(as_line(line).intersection(as_line(edge))) for edge in (front, back)]
    if len(line) >= 2 and all(len(crossing) for crossing in crossings):
        return float(sum(crossing[:, 1].mean() for crossing in crossings) / 2)
    return (line[0][1] + line[-1][1]) / 2


def _narrowest_level(front: Polyline, back: Polyline, low: float, high: float) -> float:
    """The level at which the panel is narrowest, away from its ends; the middle one where several are alike."""
    margin = 0.05 * (high - low)
    samples = np.linspace(low + margin, high - margin, _SAMPLES)
    bends = np.array([y for _, y in (*front, *back) if low + margin < y < high - margin])
    levels = np.sort(np.concatenate((samples, bends[:: max(1, len(bends) // _SAMPLES)])))
    widths = _first_x(back, levels) - _first_x(front, levels)
    return float(np.median(levels[widths <= widths.min() + 0.01]))


def _first_x(edge: Polyline, levels: NDArray[np.float64]) -> NDArray[np.float64]:
    """x where an edge first reaches each level, counted from its bottom."""
    points = np.asarray(edge)
    # The highest point so far: what lies lower again is not reached first.
    heights = np.maximum.accumulate(points[:, 1])
    reached = np.searchsorted(heights, levels, side="left").clip(1, len(points) - 1)
    below, above = points[reached - 1], points[reached]
    rise = above[:, 1] - below[:, 1]
    share = np.divide(levels - below[:, 1], rise, out=np.zeros_like(levels), where=rise > 0)
    x: NDArray[np.float64] = below[:, 0] + share * (above[:, 0] - below[:, 0])
    return x


def _notch_pair(front: Polyline, back: Polyline, notches: Sequence[Notch], narrowest: float) -> float | None:
    """The level of a notch on the front and one on the back edge that face each other, nearest the narrowest level."""

    def heights(name: EdgeName, edge: Polyline) -> list[float]:
        return [float(as_line(edge).interpolate(n.along_mm).y) for n in notches if n.edge is name]

    pairs = [
        (a + b) / 2
        for a in heights(EdgeName.FRONT, front)
        for b in heights(EdgeName.BACK, back)
        if abs(a - b) <= PAIR_LEVEL_MM
    ]
    return min(pairs, key=lambda level: abs(level - narrowest)) if pairs else None
