"""Both edges of a seam unrolled over each other from the waist up and down: where along it does their difference arise?

Words: an edge is *unrolled* when each of its points stands at its length along the edge from the waist, positive upwards.
At one height both edges are compared; the *drift* there is the first edge's length from the waist less the second's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from quotes.pattern.geometry import Polyline
from quotes.pattern.panels import EdgeName, Panel
from quotes.pattern.truing import length_below_mm

__all__ = ["Step", "Stretch", "Unrolled", "unrolled_seams"]

STEP_MM = 5.0
"""Heights at which the edges are compared lie this far apart."""
STRETCHES = 3
"""Into so many equal parts each side of the waist is parted to say where a difference arises."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One height above the waist, and the length of both edges from the waist to it; mm, negative below."""

    level_mm: float
    first_mm: float
    second_mm: float

    @property
    def drift_mm(self) -> float:
        """First length less second."""
        return self.first_mm - self.second_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of a seam between two heights above the waist, and by how much more the first edge grows there; mm."""

    low_mm: float
    high_mm: float
    growth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unrolled:
    """Seam `number`: the back edge of that panel is the first edge, the front edge of the next the second.

    Attributes:
        steps: from the bottom end to the top end; the waist, where both are 0, is among them.
        notches, other_notches: where notches stand on either edge, mm from the waist.
    """

    number: int
    steps: tuple[Step, ...]
    notches: tuple[float, ...] = ()
    other_notches: tuple[float, ...] = ()

    @property
    def above_mm(self) -> float:
        """By how much the first edge is longer than the second above the waist."""
        return self.steps[-1].drift_mm

    @property
    def below_mm(self) -> float:
        """By how much the first edge is longer than the second below the waist."""
        return -self.steps[0].drift_mm

    @property
    def difference_mm(self) -> float:
        """By how much the first edge is longer in all."""
        return self.above_mm + self.below_mm

    @property
    def arises(self) -> Stretch:
        """The stretch in which the edges part most, either way; one without length where it is at an end of the seam."""
        (bottom, *inner, top) = self.steps
        ends = [
            Stretch(low_mm=end.level_mm, high_mm=end.level_mm, growth_mm=growth)
            for end, growth in (
                (bottom, inner[0].drift_mm - bottom.drift_mm if inner else 0.0),
                (top, top.drift_mm - inner[-1].drift_mm if inner else top.drift_mm - bottom.drift_mm),
            )
        ]
        places = [
            *np.linspace(bottom.level_mm, 0.0, STRETCHES + 1),
            *np.linspace(0.0, top.level_mm, STRETCHES + 1)[1:],
        ]
        levels, drifts = zip(*((step.level_mm, step.drift_mm) for step in inner or self.steps), strict=True)
        parts = [
            Stretch(
                low_mm=float(low),
                high_mm=float(high),
                growth_mm=float(np.interp(high, levels, drifts) - np.interp(low, levels, drifts)),
            )
            for low, high in pairwise(places)
        ]
        return max((*ends, *parts), key=lambda part: abs(part.growth_mm))


def unrolled_seams(panels: Sequence[Panel]) -> tuple[Unrolled, ...]:
    """Return the seams of one half in order, each unrolled."""
    return tuple(_unrolled(panel, following) for panel, following in pairwise(panels))


def _unrolled(panel: Panel, following: Panel) -> Unrolled:
    first, second = _Edge(panel.back, panel.waist_mm), _Edge(following.front, following.waist_mm)
    low, high = max(first.bottom_mm, second.bottom_mm), min(first.top_mm, second.top_mm)
    inner = np.arange(np.ceil(low / STEP_MM), np.floor(high / STEP_MM) + 1) * STEP_MM
    # The ends themselves stand for what comes close to them, at whatever height either edge has its own.
    levels = [level for level in inner.tolist() if low + 1 < level < high - 1]
    steps = [
        Step(
            level_mm=min((first.bottom_mm + second.bottom_mm) / 2, 0.0),
            first_mm=-first.below_mm,
            second_mm=-second.below_mm,
        ),
        *(Step(level_mm=level, first_mm=first.to_mm(level), second_mm=second.to_mm(level)) for level in levels),
        Step(level_mm=max((first.top_mm + second.top_mm) / 2, 0.0), first_mm=first.above_mm, second_mm=second.above_mm),
    ]
    return Unrolled(
        number=panel.number,
        steps=tuple(steps),
        notches=tuple(n.along_mm - first.below_mm for n in panel.notches if n.edge is EdgeName.BACK),
        other_notches=tuple(n.along_mm - second.below_mm for n in following.notches if n.edge is EdgeName.FRONT),
    )


class _Edge:
    """An edge by its heights above the waist and its length from the waist to each."""

    def __init__(self, edge: Polyline, waist_mm: float) -> None:
        points = np.asarray(edge)
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
        self.below_mm = length_below_mm(edge, waist_mm)
        self.above_mm = float(along[-1]) - self.below_mm
        heights = points[:, 1] - waist_mm
        # An edge reaches a height where it first comes to it; what dips below again is passed over.
        rising = np.concatenate(([True], heights[1:] > np.maximum.accumulate(heights)[:-1]))
        self._heights, self._along = heights[rising], along[rising] - self.below_mm
        self.bottom_mm, self.top_mm = float(heights[0]), float(heights[-1])

    def to_mm(self, level_mm: float) -> float:
        """The length from the waist to a height above it, negative below."""
        return float(np.interp(level_mm, self._heights, self._along))
