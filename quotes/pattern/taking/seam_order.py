"""How long are the sides of a piece, how wide is its waist, and in which orders do pieces true?

The back edge of each panel is as long as the front edge of the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from quotes.defaults import desk_defaults
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.edges import ToldEdges, edges_of
from quotes.pattern.geometry import length_mm, turned
from quotes.pattern.marks import marked_panel
from quotes.pattern.outline import clean_ring, outline_faults
from quotes.pattern.upright import askew_deg, turned_panel

__all__ = ["Measured", "measured", "trues", "truing_orders"]

MOST_ORDERS = 20
_MOST_STEPS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Long edges of a piece as drawn, the left one (front, where centre front lies to the left) first, and its waist."""

    left_mm: float
    right_mm: float
    waist_mm: float


def measured(drawn: DrawnPanel) -> Measured | None:
    """Return the lengths of a piece; None where its corners or its waist cannot be told."""
    ring = clean_ring(drawn.stitching or drawn.cut or ())
    if len(ring) < 4 or outline_faults(ring, drawn.where):
        return None
    askew = askew_deg(drawn, ring)
    if askew:
        drawn, ring = turned_panel(drawn, askew), turned(ring, askew)
    told = edges_of(drawn, ring, None)
    if not isinstance(told, ToldEdges):
        return None
    front, back, _, _ = told.edges
    panel, _ = marked_panel(drawn, told.edges, told.placement, named=told.named, lying=told.lying)
    width = panel.panel.width_at(panel.panel.waist_mm)
    if width is None:
        return None
    return Measured(left_mm=length_mm(front), right_mm=length_mm(back), waist_mm=width)


def trues(one_mm: float, other_mm: float) -> bool:
    """Tell whether two edges can be sewn together as they are."""
    return abs(one_mm - other_mm) <= desk_defaults().pattern.seam_tolerance_mm


def truing_orders(sides: Sequence[Measured]) -> list[tuple[int, ...]]:
    """Return orders of the pieces, by their places, in which every seam trues, at most `MOST_ORDERS`.

    Each order runs from left edges to right edges; read backwards it is the same garment seen in a mirror.
    """
    following = [
        {other for other in range(len(sides)) if other != one and trues(sides[one].right_mm, sides[other].left_mm)}
        for one in range(len(sides))
    ]
    found: list[tuple[int, ...]] = []
    steps = 0

    def grow(order: list[int], left: set[int]) -> None:
        nonlocal steps
        steps += 1
        if len(found) >= MOST_ORDERS or steps > _MOST_STEPS:
            return
        if not left:
            found.append(tuple(order))
            return
        for other in sorted(left & following[order[-1]]):
            grow([*order, other], left - {other})

    for first in range(len(sides)):
        grow([first], set(range(len(sides))) - {first})
    return found
