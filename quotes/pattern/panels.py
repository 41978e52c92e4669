"""The pattern as every later room takes it: panels with named edges, and what the file said besides."""

from dataclasses import dataclass, field
from enum import StrEnum

from quotes.pattern.geometry import Point, Polyline, length_mm, ring_area_mm2, x_at

__all__ = ["FEWEST_PANELS", "MOST_PANELS", "EdgeName", "Edges", "Notch", "Panel", "Pattern", "Seam"]

FEWEST_PANELS, MOST_PANELS = 2, 24
"""How many panels one half may have."""

Edges = tuple[Polyline, Polyline, Polyline, Polyline]
"""Front and back from bottom to top, top and bottom from front to back; neighbours meet in a corner."""


class EdgeName(StrEnum):
    """The four edges of a panel."""

    FRONT = "front"
    BACK = "back"
    TOP = "top"
    BOTTOM = "bottom"


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A mark on an edge, `along_mm` from the edge's first point."""

    edge: EdgeName
    along_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One panel's stitching line, mm, x from front to back, y upwards.

    Attributes:
        number: 1 at centre front.
        front, back: from bottom to top; at least two points.
        top, bottom: from front to back; at least two points. Edges meet: front[0] == bottom[0],
            front[-1] == top[0], back[0] == bottom[-1], back[-1] == top[-1].
        waist_mm: the level of the waist, in the panel's own y.
        grain_deg: direction of the warp, counter-clockwise from x; 90 is upright.
        quantity: how many the file wants cut, None where it is silent.
        cut_line: the ring that the file drew outside, None where it drew none.
    """

    number: int
    front: Polyline
    back: Polyline
    top: Polyline
    bottom: Polyline
    waist_mm: float
    grain_deg: float = 90.0
    notches: tuple[Notch, ...] = ()
    name: str = ""
    quantity: int | None = None
    cut_line: Polyline | None = None

    @property
    def outline(self) -> Polyline:
        """The stitching line as a counter-clockwise ring, first point (bottom front) not repeated."""
        return (*self.bottom[:-1], *self.back[:-1], *self.top[:0:-1], *self.front[:0:-1])

    @property
    def net_area_mm2(self) -> float:
        """The area inside the stitching line."""
        return ring_area_mm2(self.outline)

    def edge(self, name: EdgeName) -> Polyline:
        """Return the named edge."""
        return {
            EdgeName.FRONT: self.front,
            EdgeName.BACK: self.back,
            EdgeName.TOP: self.top,
            EdgeName.BOTTOM: self.bottom,
        }[name]

    def edge_mm(self, name: EdgeName) -> float:
        """Return the length of the named edge, as drawn."""
        return length_mm(self.edge(name))

    def width_at(self, y_mm: float) -> float | None:
        """Return the distance from front to back edge at a level, along x; None above or below the edges."""
        front, back = x_at(self.front, y_mm), x_at(self.back, y_mm)
        return None if front is None or back is None else back - front

    @property
    def waist_width_mm(self) -> float:
        """The width at the waist level. Raises ValueError where the waist does not cross both edges."""
        width = self.width_at(self.waist_mm)
        if width is None:
            raise ValueError(f"The waist of panel {self.number} lies outside the panel.")
        return width

    @property
    def bounds(self) -> tuple[Point, Point]:
        """The lower left and upper right corner of the stitching line's box."""
        xs, ys = zip(*self.outline, strict=True)
        return (min(xs), min(ys)), (max(xs), max(ys))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """Seam `number` joins the back edge of panel `number` to the front edge of the next.

    Lengths in mm; `waist_offset_mm` is how far apart the waist notches lie when both edges are laid together
    from the waist down (length below the waist, first less second).
    """

    number: int
    length_mm: float
    other_length_mm: float
    waist_offset_mm: float = 0.0

    @property
    def difference_mm(self) -> float:
        """First length less second."""
        return self.length_mm - self.other_length_mm

    @property
    def mean_mm(self) -> float:
        """The length that is sewn: the mean of both edges."""
        return (self.length_mm + self.other_length_mm) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """One garment's panels.

    Attributes:
        panels: the wearer's left half, in order of number.
        right_panels: the other half where it differs, drawn as a left half; None where it mirrors the left.
        ease: numbers of seams whose difference is meant.
        seam_allowance_mm: what the file says; None leaves it to the construction.
        reduction_mm, gap_mm: taken in at the waist and left open at the lacing; only an estimating block and the
            commission know them.
        estimating_only: drawn from measurements to price a piece, never to sew from.
    """

    name: str
    panels: tuple[Panel, ...]
    right_panels: tuple[Panel, ...] | None = None
    ease: frozenset[int] = field(default_factory=frozenset)
    seam_allowance_mm: float | None = None
    reduction_mm: float | None = None
    gap_mm: float | None = None
    estimating_only: bool = False

    @property
    def halves(self) -> tuple[tuple[Panel, ...], tuple[Panel, ...]]:
        """Left and right half, each as drawn for the left."""
        return self.panels, self.right_panels or self.panels

    @property
    def panels_per_half(self) -> int:
        """How many panels a half has."""
        return len(self.panels)

    @property
    def closed_waist_mm(self) -> float:
        """The girth of the closed garment at the waist: both halves' widths."""
        return sum(panel.waist_width_mm for half in self.halves for panel in half)

    @property
    def worn_waist_mm(self) -> float | None:
        """The waist as worn, with the gap at the lacing; None where the gap is not known."""
        return None if self.gap_mm is None else self.closed_waist_mm + self.gap_mm

    @property
    def body_waist_mm(self) -> float | None:
        """The body's own waist, before any is taken in; None where gap or reduction is not known."""
        worn = self.worn_waist_mm
        return None if worn is None or self.reduction_mm is None else worn + self.reduction_mm
