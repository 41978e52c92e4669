"""What a photograph is read to, as plain values that cross from the child process; no library for pictures is needed for them."""

from dataclasses import dataclass

from inventory.ground.findings import Finding
from quotes.pattern.geometry import Point, Polyline
from quotes.photograph.solve import LensPrior

__all__ = ["Look", "PhotoPiece", "PhotoReading", "SameAs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SameAs:
    """Where another photograph shows a piece too: which of that one, from the left, and by how much both outlines differ."""

    photo: str
    piece: int
    difference_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoPiece:
    """A paper piece: `outline` a ring without its notches, `notches` the middles of their mouths; mm, y up, seen from above.

    `plus_minus_mm` is how far the outline may be off: nineteen of twenty of its points lie nearer to the true one.
    `outline_px` is the same outline where the picture shows it, point by point, in pixels from its upper left corner, y down.
    `same_as` are those of other photographs that were left out, because they are this piece.
    """

    photo: str
    outline: Polyline
    notches: tuple[Point, ...]
    plus_minus_mm: float
    outline_px: Polyline
    same_as: tuple[SameAs, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoReading:
    """One photograph: how large a millimetre is seen at its pieces, how many cards, how far their corners are from the solve.

    `size_px` is its width and height upright, which `outline_px` of its pieces is measured in; `shown` a JPEG of it, smaller,
    with nothing of the file but what is seen.
    """

    photo: str
    px_per_mm: float
    cards: int
    residual_px: float
    size_px: tuple[int, int]
    shown: bytes
    pieces: tuple[PhotoPiece, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A first look at one of several photographs: what is known of the lens before and after it.

    `camera` is the same for photographs that may share a lens: width, height, focal length as far as known.
    """

    camera: tuple[int, int, float]
    before: LensPrior
    after: LensPrior
