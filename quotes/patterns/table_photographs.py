"""Photographs as the pattern table shows them: with the outlines over them, each with its panel and its ± mm."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.urls import reverse

from quotes.drawings.photographed import photographed_drawing
from quotes.pattern.geometry import Polyline
from quotes.photograph.shown import ShownPhoto, numbered, pieces_of_rings

__all__ = ["PhotoRow", "PhotosOnTable", "kept_photographs", "photographs_on_table"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRow:
    """A photograph: its name, the drawing, and its pieces in words."""

    name: str
    drawing: str
    pieces: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotosOnTable:
    """All photographs, and what is known of each outline by its index: `± 0.2 mm`."""

    rows: list[PhotoRow]
    plus_minus: dict[int, str]


def photographs_on_table(
    photographs: Sequence[tuple[int, ShownPhoto]], *, rings: Mapping[int, Polyline], numbers: Mapping[int, int]
) -> PhotosOnTable:
    """Return the photographs of a hand-in, by the numbers of their pictures.

    Args:
        rings: of the outlines on the table, by index.
        numbers: of the panels that they are; 0 for one that is left out.
    """
    indices, lines = list(rings), list(rings.values())
    rows, plus_minus = [], {}
    for pk, photo in photographs:
        for place, piece in zip(pieces_of_rings(photo, lines), photo.pieces, strict=True):
            if place is not None:
                plus_minus[indices[place]] = _plus_minus(piece.plus_minus_mm)
        rows.append(_row(pk, numbered(photo, lines, [numbers[index] for index in indices])))
    return PhotosOnTable(rows=rows, plus_minus=plus_minus)


def kept_photographs(photographs: Sequence[tuple[int, ShownPhoto]]) -> list[PhotoRow]:
    """Return photographs that were kept with a pattern, by the numbers of their pictures."""
    return [_row(pk, photo) for pk, photo in photographs]


def _row(pk: int, photo: ShownPhoto) -> PhotoRow:
    words = [
        f"{f'panel {piece.panel}' if piece.panel else 'left out'}, {_plus_minus(piece.plus_minus_mm)}"
        for piece in photo.pieces
    ]
    address = reverse("quotes:pattern-photograph", args=[pk])
    return PhotoRow(name=photo.photo, drawing=photographed_drawing(photo, address=address, words=words), pieces=words)


def _plus_minus(length_mm: float) -> str:
    return f"± {length_mm:.1f} mm"
