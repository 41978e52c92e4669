"""What stays of a photograph once it was read: where its pieces are seen, and where they came to lie on the sheet."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Point as Place

from inventory.ground.codec import Codec
from quotes.pattern.geometry import Point, Polyline, as_polygon
from quotes.photograph.reading import PhotoReading
from quotes.photograph.sheet import laid_in_a_row

__all__ = ["SHOWN", "ShownPhoto", "ShownPiece", "numbered", "pieces_of_rings", "shown_photos"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPiece:
    """A piece: a point inside it on the sheet (`sheet.sheet_of`; mm, y up), and its outline as `PhotoPiece` has it.

    `panel` is the number of the panel that it was taken for; 0 for none.
    """

    inside: Point
    plus_minus_mm: float
    outline_px: Polyline
    panel: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPhoto:
    """A photograph of so many pixels."""

    photo: str
    size_px: tuple[int, int]
    pieces: tuple[ShownPiece, ...]


SHOWN = Codec(kind=ShownPhoto, version=1)


def shown_photos(readings: Sequence[PhotoReading]) -> tuple[ShownPhoto, ...]:
    """Return what is shown of photographs that were read together."""
    return tuple(
        ShownPhoto(
            photo=reading.photo,
            size_px=reading.size_px,
            pieces=tuple(
                ShownPiece(
                    inside=_inside(piece.outline), plus_minus_mm=piece.plus_minus_mm, outline_px=piece.outline_px
                )
                for piece in reading.pieces
            ),
        )
        for reading in laid_in_a_row(readings)
    )


def pieces_of_rings(photo: ShownPhoto, rings: Sequence[Polyline]) -> list[int | None]:
    """Return for each piece which ring on the sheet it is, by place in `rings`; None where it is none of them."""
    areas = [as_polygon(ring).buffer(0) for ring in rings]
    return [
        next((place for place, area in enumerate(areas) if area.intersects(Place(piece.inside))), None)
        for piece in photo.pieces
    ]


def numbered(photo: ShownPhoto, rings: Sequence[Polyline], numbers: Sequence[int]) -> ShownPhoto:
    """Return the photograph with the numbers of the rings that its pieces are."""
    found = pieces_of_rings(photo, rings)
    pieces = (
        replace(piece, panel=0 if place is None else numbers[place])
        for piece, place in zip(photo.pieces, found, strict=True)
    )
    return replace(photo, pieces=tuple(pieces))


def _inside(ring: Polyline) -> Point:
    point = as_polygon(ring).buffer(0).representative_point()
    return round(float(point.x), 3), round(float(point.y), 3)
