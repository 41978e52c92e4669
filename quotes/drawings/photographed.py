"""A photograph with the outlines that were measured in it drawn over it, each with its number."""

from collections.abc import Sequence

from inventory.ground.svg import Canvas
from quotes.photograph.shown import ShownPhoto

__all__ = ["photographed_drawing"]

LETTERS_SHARE = 1 / 18
"""Numbers are this high beside the longer side of the picture, so that they are read on a phone."""


def photographed_drawing(photo: ShownPhoto, *, address: str, words: Sequence[str]) -> str:
    """Return an SVG in the photograph's pixels.

    Args:
        address: of the picture, on this site.
        words: what each of its pieces is, for who points at it.
    """
    width, height = photo.size_px
    canvas = Canvas(
        title=f"{photo.photo} with the outlines that were measured",
        left=0.0,
        bottom=-float(height),
        width=float(width),
        height=float(height),
        classes="drawing drawing-photographed",
    )
    canvas.picture(address, left=0.0, bottom=-float(height), width=float(width), height=float(height))
    letters = LETTERS_SHARE * max(width, height)
    for piece, what in zip(photo.pieces, words, strict=True):
        ring = [(x, -y) for x, y in piece.outline_px]
        canvas.area(ring, "measured" if piece.panel else "measured measured-left-out", what)
        if piece.panel:
            xs, ys = zip(*ring, strict=True)
            middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2 - 0.35 * letters
            canvas.text(middle, str(piece.panel), "measured-number", size=letters)
    return canvas.markup()
