"""Which way round was the pattern drawn? Turning and mirroring panels, and telling two halves apart.

Seams answer: laid the right way round, the back edge of each panel is as long as the front edge of the next.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from shapely import Polygon

from quotes.pattern.geometry import Point, Polyline, length_mm, mirrored
from quotes.pattern.model import EdgeName, Notch, Panel
from quotes.pattern.truing import seams

__all__ = ["halves_apart", "mirrored_panel", "misfit_mm", "turned", "widest_gap_mm"]

_SWAPPED = {EdgeName.FRONT: EdgeName.BACK, EdgeName.BACK: EdgeName.FRONT}


def turned(point: Point, quarter_turns: int) -> Point:
    """Return the point turned counter-clockwise about the origin by quarter turns (-1, 0, 1 or 2)."""
    x, y = point
    return {0: (x, y), 1: (-y, x), -1: (y, -x), 2: (-x, -y)}[quarter_turns]


def mirrored_panel(panel: Panel) -> Panel:
    """Return the panel seen in a mirror: what was its front edge is its back edge."""
    return replace(
        panel,
        front=mirrored(panel.back),
        back=mirrored(panel.front),
        top=tuple(reversed(mirrored(panel.top))),
        bottom=tuple(reversed(mirrored(panel.bottom))),
        grain_deg=180.0 - panel.grain_deg,
        notches=tuple(_mirrored_notch(notch, panel) for notch in panel.notches),
        cut_line=None if panel.cut_line is None else tuple(reversed(mirrored(panel.cut_line))),
    )


def misfit_mm(panels: Sequence[Panel]) -> float:
    """Return how badly the seams of a half fit: Σ of length differences and waist offsets, mm."""
    return math.fsum(abs(seam.difference_mm) + abs(seam.waist_offset_mm) for seam in seams(panels))


def halves_apart(pairs: Sequence[tuple[Panel, Panel]]) -> tuple[tuple[Panel, ...], tuple[Panel, ...]]:
    """Tell left from right where each number was drawn twice, once mirrored.

    Of each pair one panel belongs to the half that reads with its front edge to the left; the choice that lets the
    seams fit best is taken (over the chain of panels, two states each). Returns both halves, drawn as left halves.
    """
    costs: list[tuple[float, float]] = [(0.0, 0.0)]
    came_from: list[tuple[int, int]] = []
    for (a, b), (c, d) in pairwise(pairs):
        before = costs[-1]
        row, origin = [], []
        for following in (c, d):
            options = [before[state] + misfit_mm((panel, following)) for state, panel in enumerate((a, b))]
            best = 0 if options[0] <= options[1] else 1
            row.append(options[best])
            origin.append(best)
        costs.append((row[0], row[1]))
        came_from.append((origin[0], origin[1]))
    state = 0 if costs[-1][0] <= costs[-1][1] else 1
    states = [state]
    for origin_pair in reversed(came_from):
        state = origin_pair[state]
        states.append(state)
    states.reverse()
    left = tuple(pair[state] for pair, state in zip(pairs, states, strict=True))
    right = tuple(mirrored_panel(pair[1 - state]) for pair, state in zip(pairs, states, strict=True))
    return left, right


def widest_gap_mm(panel: Panel, other: Panel) -> float:
    """Return how far apart the outlines of two panels lie at most when laid on each other by their boxes."""
    return float(_centred(panel.outline).hausdorff_distance(_centred(other.outline)))


def _centred(outline: Polyline) -> Polygon:
    xs, ys = zip(*outline, strict=True)
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    return Polygon([(px - x, py - y) for px, py in outline])


def _mirrored_notch(notch: Notch, panel: Panel) -> Notch:
    if notch.edge in _SWAPPED:
        return replace(notch, edge=_SWAPPED[notch.edge])
    return replace(notch, along_mm=length_mm(panel.edge(notch.edge)) - notch.along_mm)
