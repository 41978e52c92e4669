"""The estimating block: panels from body girths and a panel count, good for pricing a piece, never to sew from.

Source: calc; take-ins and weights are common practice.

Words: a *level* is a height with the body's girth there and what is taken in; the *shortfall* is what each half
lacks at a level against the widest level; *seam line* j lies between panels j and j + 1, 0 is centre front.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from inventory.ground.findings import Finding, Refused, stop, warn
from inventory.ground.wording import percent_text
from quotes.pattern.drawing import Reading
from quotes.pattern.fit import fit_findings, proposal_note, proposed_reduction_mm, take_in_findings
from quotes.pattern.geometry import Polyline, x_at
from quotes.pattern.panels import FEWEST_PANELS, MOST_PANELS, Panel, Pattern
from quotes.pattern.truing import truing_findings

__all__ = ["Block", "Level", "draw_block", "with_proposed_reduction"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A girth of the body: `height_mm` above the waist (the waist is 0), `girth_mm` round it, `take_in_mm` less.

    None where nobody said what is taken in; nothing is, then.
    """

    height_mm: float
    girth_mm: float
    take_in_mm: float | None = None

    @property
    def corset_mm(self) -> float:
        """The girth of the corset as worn."""
        return self.girth_mm - (self.take_in_mm or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What the draft needs; lengths in mm.

    Attributes:
        levels: from top to bottom, at least two, one of them at height 0.
        top, bottom: heights of the edges at centre front, side and centre back.
    """

    panels_per_half: int
    lacing_gap_mm: float
    levels: tuple[Level, ...]
    top: tuple[float, float, float]
    bottom: tuple[float, float, float]
    name: str = "Estimating block"

    @property
    def reduction_mm(self) -> float:
        """What is taken in at the waist as worn."""
        return self._waist.take_in_mm or 0.0

    @property
    def is_reduction_said(self) -> bool:
        """Whether somebody said how much is taken in at the waist, be it nothing."""
        return self._waist.take_in_mm is not None

    @property
    def body_waist_mm(self) -> float:
        """The body's waist."""
        return self._waist.girth_mm

    @property
    def _waist(self) -> Level:
        return next(level for level in self.levels if level.height_mm == 0)


def with_proposed_reduction(block: Block) -> tuple[Block, tuple[Finding, ...]]:
    """Return the block with a reduction where nobody said one, and the sentence that marks it as proposed."""
    if not any(level.height_mm == 0 for level in block.levels) or block.is_reduction_said:
        return block, ()
    proposed = proposed_reduction_mm(block.body_waist_mm)
    levels = tuple(replace(level, take_in_mm=proposed) if level.height_mm == 0 else level for level in block.levels)
    return replace(block, levels=levels), (proposal_note(proposed, body_waist_mm=block.body_waist_mm),)


def draw_block(block: Block, *, where: str = "") -> Reading:
    """Return the pattern that the measurements give.

    Panel i at height y has width h*/n − D(y)(a[i−1] + a[i])/2, with h* the widest half width, D the shortfall and a
    the seam weights sin(πj/n) scaled to add up to 1; so the widths at each level add up to the half width, and both
    edges of a seam are alike.

    Args:
        where: path of the block in its file, for findings.

    Raises:
        Refused: levels, counts or heights that no garment can have; every fault is named.
    """
    faults = _faults(block)
    if faults:
        raise Refused(replace(found, where=f"{where}.{found.where}".lstrip(".")) for found in faults)
    n = block.panels_per_half
    heights = [level.height_mm for level in block.levels]
    halves = [(level.corset_mm - block.lacing_gap_mm) / 2 for level in block.levels]
    widest = max(halves)
    shortfalls = [widest - half for half in halves]
    sines = [math.sin(math.pi * j / n) for j in range(1, n)]
    weights = [0.0, *(sine / math.fsum(sines) for sine in sines), 0.0]

    def shortfall(height: float) -> float:
        """Linear between levels, held constant beyond the ends."""
        if height >= heights[0]:
            return shortfalls[0]
        for (y0, d0), (y1, d1) in pairwise(zip(heights, shortfalls, strict=True)):
            if y0 >= height >= y1:
                return d0 + (d1 - d0) * (y0 - height) / (y0 - y1)
        return shortfalls[-1]

    tops = [_along_style_line(block.top, j / n) for j in range(n + 1)]
    bottoms = [_along_style_line(block.bottom, j / n) for j in range(n + 1)]

    def edge(j: int, *, base_x: float, sign: int) -> Polyline:
        """Seam line j from bottom to top, nipped to the side that `sign` says."""
        between = [height for height in reversed(heights) if bottoms[j] < height < tops[j]]
        return tuple((base_x + sign * shortfall(y) * weights[j] / 2, y) for y in [bottoms[j], *between, tops[j]])

    panels = []
    for number in range(1, n + 1):
        front = edge(number - 1, base_x=0.0, sign=1)
        back = edge(number, base_x=widest / n, sign=-1)
        panels.append(
            Panel(
                number=number,
                front=front,
                back=back,
                top=(front[-1], back[-1]),
                bottom=(front[0], back[0]),
                waist_mm=0.0,
            )
        )
    too_narrow = [
        stop(
            "pattern.panel-vanishes",
            f"panel {panel.number}",
            "The panel has no width left at some level: too much is taken in for this number of panels.",
            "Take fewer panels or take in less.",
        )
        for panel in panels
        if any(
            b[0] - f[0] < 4
            for f, b in zip(_at_levels(panel.front, heights), _at_levels(panel.back, heights), strict=True)
        )
    ]
    if too_narrow:
        raise Refused(too_narrow)
    pattern = Pattern(
        name=block.name,
        panels=tuple(panels),
        reduction_mm=block.reduction_mm,
        gap_mm=block.lacing_gap_mm,
        estimating_only=True,
    )
    return Reading(pattern=pattern, findings=_doubts(block, pattern))


def _along_style_line(at: tuple[float, float, float], u: float) -> float:
    """Height of an edge at u from 0 (centre front) over 0.5 (side) to 1 (centre back), straight between."""
    front, side, back = at
    return front + (side - front) * 2 * u if u <= 0.5 else side + (back - side) * (2 * u - 1)


def _at_levels(edge: Polyline, heights: list[float]) -> list[tuple[float, float]]:
    """The edge's points with its x held straight up and down beyond its ends, one per level."""
    points = []
    for height in heights:
        x = x_at(edge, height)
        points.append(((edge[-1][0] if height > edge[-1][1] else edge[0][0]) if x is None else x, height))
    return points


def _faults(block: Block) -> list[Finding]:
    faults = []
    if not FEWEST_PANELS <= block.panels_per_half <= MOST_PANELS:
        faults.append(
            stop(
                "block.panel-count",
                "panels_per_half",
                f"{block.panels_per_half} panels per half is outside {FEWEST_PANELS} to {MOST_PANELS}.",
                "Six are usual.",
            )
        )
    if not 0 <= block.lacing_gap_mm <= 300:
        faults.append(
            stop(
                "block.lacing-gap", "lacing_gap", f"A lacing gap of {block.lacing_gap_mm:g} mm is outside 0 to 300 mm."
            )
        )
    if len(block.levels) < 2:
        faults.append(
            stop("block.levels", "levels", "At least two levels are needed.", "Add the hip or the underbust.")
        )
    if not any(level.height_mm == 0 for level in block.levels):
        faults.append(
            stop(
                "block.waist-missing",
                "levels",
                "No level lies at height 0, the waist.",
                "Give the waist's girth at height 0.",
            )
        )
    for index, (upper, lower) in enumerate(pairwise(block.levels), start=1):
        if lower.height_mm >= upper.height_mm:
            faults.append(
                stop(
                    "block.level-order",
                    f"levels[{index}].height",
                    f"The level at {lower.height_mm:g} mm does not lie below the one before, {upper.height_mm:g} mm.",
                    "List the levels from top to bottom.",
                )
            )
    for index, level in enumerate(block.levels):
        half = (level.corset_mm - block.lacing_gap_mm) / 2
        if not 100 <= level.girth_mm <= 3000:
            faults.append(
                stop(
                    "block.girth",
                    f"levels[{index}].girth",
                    f"A girth of {level.girth_mm:g} mm is outside 100 to 3000 mm.",
                    "Check the unit of the measurements.",
                )
            )
        elif half <= 0:
            faults.append(
                stop(
                    "block.nothing-left",
                    f"levels[{index}]",
                    f"Taking {level.take_in_mm or 0:g} mm in and leaving {block.lacing_gap_mm:g} mm open leaves nothing of "
                    f"{level.girth_mm:g} mm.",
                )
            )
    places = ("centre front", "side", "centre back")
    for index, (place, upper_mm, lower_mm) in enumerate(zip(places, block.top, block.bottom, strict=True)):
        if not 40 <= upper_mm - lower_mm <= 1500:
            faults.append(
                stop(
                    "block.height",
                    f"top[{index}]",
                    f"The garment would be {upper_mm - lower_mm:g} mm tall at {place}; 40 to 1500 mm can be drawn.",
                    "The top lies above the bottom; heights below the waist are negative.",
                )
            )
        elif upper_mm <= 0 or lower_mm >= 0:
            faults.append(
                stop(
                    "block.waist-outside",
                    f"top[{index}]",
                    f"The waist does not lie between top ({upper_mm:g} mm) and bottom ({lower_mm:g} mm) at {place}.",
                    "Heights are measured from the waist: up positive, down negative.",
                )
            )
    return faults


def _doubts(block: Block, pattern: Pattern) -> tuple[Finding, ...]:
    doubts = [*fit_findings(block.reduction_mm, body_waist_mm=block.body_waist_mm, where="levels")]
    for level in block.levels:
        doubts += take_in_findings(level.take_in_mm or 0.0, height_mm=level.height_mm, girth_mm=level.girth_mm)
    if not block.is_reduction_said:
        proposed = proposed_reduction_mm(block.body_waist_mm)
        doubts.append(
            warn(
                "pattern.reduction-not-said",
                "levels",
                "Nobody said how much is taken in at the waist, and nothing is.",
                f"Say take_in at height 0; {proposed:.0f} mm, {percent_text(proposed / block.body_waist_mm)} of the "
                "waist, is what a draft starts from.",
            )
        )
    return (*doubts, *truing_findings(pattern))
