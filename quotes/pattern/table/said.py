"""What a maker says at the pattern table, where what the file says and what was proposed does not do."""

from dataclasses import dataclass, replace
from enum import StrEnum

from inventory.ground.codec import Codec
from quotes.pattern.cutline import EdgeAllowances
from quotes.pattern.geometry import Point

__all__ = ["SAID", "DrawnLine", "PieceSaid", "Said"]


class DrawnLine(StrEnum):
    """Which line of a panel the drawing shows, where it shows one only."""

    AS_FOUND = ""
    STITCHING = "stitching"
    CUT = "cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSaid:
    """What is said of one outline.

    Attributes:
        index: of the outline (`TakenOutline.index`).
        number: of the panel that it is; 0 for none, None as proposed.
        waist_mm: the waist's height above the lowest point of the panel; None as found.
        corners: points near the corners bottom front, bottom back, top back, top front, in the drawing's millimetres.
    """

    index: int
    number: int | None = None
    waist_mm: float | None = None
    corners: tuple[Point, Point, Point, Point] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """All that is said; everything as it was found and proposed to begin with.

    Attributes:
        mm_per_unit: how long the unit of the file is; None as the file says.
        size: which of several nested sizes is meant.
        line: what the outlines are where only one a panel is drawn.
        allowance_mm: of a cut line, the same at all edges; `edge_allowances` in its place where they differ.
        centre_front: where it lies in the drawing, "left" or "right"; empty as the seams show.
        ease: seams whose difference is meant, by number.
    """

    mm_per_unit: float | None = None
    size: str = ""
    line: DrawnLine = DrawnLine.AS_FOUND
    allowance_mm: float | None = None
    edge_allowances: EdgeAllowances | None = None
    centre_front: str = ""
    ease: tuple[int, ...] = ()
    pieces: tuple[PieceSaid, ...] = ()

    def of_piece(self, index: int) -> PieceSaid:
        """Return what is said of an outline."""
        return next((piece for piece in self.pieces if piece.index == index), PieceSaid(index=index))

    def at_scale(self, mm_per_unit: float | None, *, times: float) -> "Said":
        """Return the same said of a drawing that is `times` as large: what was said in millimetres grows with it."""
        pieces = tuple(
            replace(
                piece,
                waist_mm=None if piece.waist_mm is None else piece.waist_mm * times,
                corners=None if piece.corners is None else _grown(piece.corners, times),
            )
            for piece in self.pieces
        )
        return replace(self, mm_per_unit=mm_per_unit, pieces=pieces)


def _grown(corners: tuple[Point, Point, Point, Point], times: float) -> tuple[Point, Point, Point, Point]:
    first, second, third, fourth = ((x * times, y * times) for x, y in corners)
    return first, second, third, fourth


SAID = Codec(kind=Said, version=1)
