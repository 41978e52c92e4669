"""Both halves in one file: which of each pair belongs to the wearer's left, and do the halves differ?"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from inventory.ground.findings import Finding, stop, warn
from quotes.pattern.geometry import Point, Polyline, as_line, x_at
from quotes.pattern.orientation import half_turned_panel, mirrored_panel
from quotes.pattern.panels import EdgeName, Panel
from quotes.pattern.seam_fit import ToldPanel, misfit_mm

__all__ = ["UNEVEN_MM", "both_halves", "drawn_twice"]

UNEVEN_MM = 1.0
"""Halves that differ by more anywhere count each for itself."""
_SWAP_COST_MM = 0.01
"""Keeps to the file's order of the two halves where the seams do not care."""
_AGAINST_NAMES_MM = 1e6
_FINE_MM = 0.01
"""Points that lie this close to a straight run need not be measured."""

Pair = tuple[ToldPanel, ToldPanel]
"""A panel of the left half and its fellow of the right half, both laid as left panels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Halves:
    """A row of pairs grown panel by panel, how badly its seams fit, and the order taken last."""

    pairs: tuple[Pair, ...]
    misfit_mm: float
    second_first: bool


def drawn_twice(told: Sequence[ToldPanel]) -> bool:
    """Tell whether numbers stand twice, so that both halves are drawn."""
    numbers = [one.panel.number for one in told]
    return len(set(numbers)) < len(numbers)


def both_halves(
    told: Sequence[ToldPanel],
) -> tuple[tuple[Panel, ...], tuple[Panel, ...] | None, list[Finding]]:
    """Return the left half, the right half laid as a left one where it differs (else None), and what was found."""
    rows = [told]
    if any(one.lying for one in told):
        rows.append([replace(one, panel=half_turned_panel(one.panel)) if one.lying else one for one in told])
    best = min((_told_apart(row) for row in rows), key=lambda halves: halves.misfit_mm)
    uneven, faults = [], []
    for left, right in best.pairs:
        gap, place = _widest_gap_mm(left.panel, right.panel)
        if gap <= UNEVEN_MM:
            continue
        if not (left.named or right.named) and _widest_gap_mm(left.panel, mirrored_panel(right.panel))[0] <= UNEVEN_MM:
            faults.append(
                stop(
                    "pattern.panel-twice",
                    right.where,
                    f"Panel {left.panel.number} is there twice, and not as a mirror image: {left.where}, {right.where}.",
                    "Give each panel its own number, or draw the other half mirrored.",
                )
            )
        uneven.append((gap, place, left.panel.number))
    lefts = tuple(left.panel for left, _ in best.pairs)
    if not uneven:
        return lefts, None, faults
    words = "; ".join(f"panel {number} by {gap:.1f} mm at its {place}" for gap, place, number in uneven)
    found = warn(
        "pattern.halves-differ",
        f"panel {max(uneven)[2]}",
        f"The two halves differ: {words}. Each half counts for itself.",
        "If the body is even, draw one half only.",
    )
    return lefts, tuple(right.panel for _, right in best.pairs), [*faults, found]


def _told_apart(told: Sequence[ToldPanel]) -> _Halves:
    """The sides that let the seams of both halves fit best: two choices for each number, taken along the row."""
    by_number: dict[int, list[ToldPanel]] = defaultdict(list)
    for one in told:
        by_number[one.panel.number].append(one)
    ways = [_Halves(pairs=(), misfit_mm=0.0, second_first=False)]
    for number in sorted(by_number):
        if len(by_number[number]) < 2:
            continue
        first, second = by_number[number]
        ways = [
            min((_grown(way, *order, second_first=swap) for way in ways), key=lambda way: way.misfit_mm)
            for swap, order in ((False, (first, second)), (True, (second, first)))
        ]
    return min(ways, key=lambda way: way.misfit_mm)


def _grown(way: _Halves, left: ToldPanel, right: ToldPanel, *, second_first: bool) -> _Halves:
    pair = (left, right if right.named else replace(right, panel=mirrored_panel(right.panel)))
    added = 0.0
    if left.named and right.named and left.drawn_right and not right.drawn_right:
        added += _AGAINST_NAMES_MM
    if way.pairs:
        before = way.pairs[-1]
        if pair[0].panel.number == before[0].panel.number + 1:
            added += misfit_mm(before[0], pair[0]) + misfit_mm(before[1], pair[1])
        added += _SWAP_COST_MM if second_first != way.second_first else 0.0
    return _Halves(pairs=(*way.pairs, pair), misfit_mm=way.misfit_mm + added, second_first=second_first)


def _widest_gap_mm(panel: Panel, other: Panel) -> tuple[float, str]:
    """How far apart two outlines lie at most, laid together at the waist of their front edges, and at which edge."""
    mine, theirs = (_from_waist(one, (*one.outline, one.outline[0])) for one in (panel, other))
    widest = (0.0, "front edge")
    for name in EdgeName:
        for edge, outline in (
            (_from_waist(panel, panel.edge(name)), theirs),
            (_from_waist(other, other.edge(name)), mine),
        ):
            corners = shapely.points(shapely.get_coordinates(as_line(edge).simplify(_FINE_MM)))
            gap = float(shapely.distance(corners, as_line(outline).simplify(_FINE_MM)).max())
            # Corners belong to two edges; dust must not move the place from one run to the next.
            widest = (gap, f"{name.value} edge") if gap > widest[0] + 1e-9 else widest
    return widest


def _from_waist(panel: Panel, line: Polyline) -> Polyline:
    at = x_at(panel.front, panel.waist_mm)
    origin: Point = panel.front[0] if at is None else (at, panel.waist_mm)
    return tuple((x - origin[0], y - origin[1]) for x, y in line)
