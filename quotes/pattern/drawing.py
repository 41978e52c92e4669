"""What a pattern file shows before its edges are told apart: the meeting point of readers and `assemble`.

A reader (DXF, SVG, table, JSON) resolves units, transforms and curves and returns a `Drawing` in millimetres, y
upwards, curves flattened to `FLATNESS_MM`. It tells nothing apart that the file does not say. Sources that name
their edges (table, JSON edges, block) fill `edges`; the others leave it None.
"""

from dataclasses import dataclass, field

from inventory.ground.findings import Finding
from quotes.pattern.cutline import EdgeAllowances
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.panels import EdgeName, Pattern

__all__ = ["FLATNESS_MM", "Drawing", "DrawnPanel", "ReadOptions", "Reading"]

FLATNESS_MM = 0.005
"""Farthest that a flattened curve may lie from the true one; keeps lengths within 0.1 mm and areas within 0.1 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPanel:
    """One panel as drawn.

    Attributes:
        number: the panel's number; None where the file gives none.
        where: the place in the file, for messages (`block "PANEL-3"`, `path "panel-3"`, `panels[2]`).
        stitching, cut: rings, first point not repeated; at least one of them is there.
        turn_points: corners that the file marks, any number.
        corners: positions in the stitching ring that the file or the maker names as bottom front, bottom back,
            top back, top front.
        edges: named edges, front and back from bottom to top, top and bottom from front to back.
        notches: marks on or within 2 mm of the stitching or cut line.
        waist: a marked waist line; `waist_mm` a given level in the drawing's y. One of them, or neither.
        grain: the marked grain line, two points.
    """

    number: int | None
    where: str
    stitching: Polyline | None = None
    cut: Polyline | None = None
    turn_points: tuple[Point, ...] = ()
    corners: tuple[int, int, int, int] | None = None
    edges: dict[EdgeName, Polyline] | None = None
    notches: tuple[Point, ...] = ()
    waist: Polyline | None = None
    waist_mm: float | None = None
    grain: tuple[Point, Point] | None = None
    name: str = ""
    quantity: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """All that a reader found. `findings` holds what it doubted or dropped; its stops are raised as `Refused`.

    `reduction_mm`, `gap_mm` and `estimating_only` are known to a printed estimating block only; `mm_per_unit` is what the
    file's own unit was taken for, so that a likelier one can be named.
    """

    name: str
    panels: tuple[DrawnPanel, ...]
    seam_allowance_mm: float | None = None
    ease: frozenset[int] = field(default_factory=frozenset)
    reduction_mm: float | None = None
    gap_mm: float | None = None
    estimating_only: bool = False
    mm_per_unit: float = 1.0
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOptions:
    """What a maker may say beside the file.

    Attributes:
        units: what a user unit is: mm, cm or in, in a drawing also pt or px; None leaves it to the file. Sizes that look like another unit are
            only warned of where it is said.
        seam_allowance_mm: for a file that draws only a cut line; 0 <= allowance.
        edge_allowances: in its place, for a cut line whose edges lie outside the stitching line each by its own.
        centre_front: the side of the drawing where centre front lies, "left" or "right"; None asks the seams.
        ease: seams whose difference is meant.
        corners: per panel number, four points near the corners bottom front, bottom back, top back, top front, picked
            by hand, in the file's drawing (mm, y upwards).
        panels: numbers for outlines that have none of their own, in the order of `TakenOutline.index`; 0 leaves out.
        size: which of several nested sizes is meant.
    """

    units: str | None = None
    seam_allowance_mm: float | None = None
    edge_allowances: EdgeAllowances | None = None
    centre_front: str | None = None
    ease: frozenset[int] = field(default_factory=frozenset)
    corners: dict[int, tuple[Point, Point, Point, Point]] = field(default_factory=dict)
    panels: tuple[int, ...] = ()
    size: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A pattern and what was noticed on the way; no stop among `findings`."""

    pattern: Pattern
    findings: tuple[Finding, ...] = ()
