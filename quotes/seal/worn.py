"""The garment as an offer shows it: what is seen of each panel from the front and from the back, as outlines.

Points are mm in the picture's plane, x to the right and 0 at the middle, y upwards and 0 at the waist.
"""

from dataclasses import dataclass

__all__ = ["Outline", "WornGarment", "WornPanel", "WornView"]

Outline = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WornPanel:
    """What a view shows of a panel: its number, the code of the cloth outside, and rings without their first point repeated."""

    number: int
    cloth: str
    rings: tuple[Outline, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WornView:
    """The garment from one side.

    Attributes:
        silhouette: half the width by height, as (half width, height), from the lowest height up.
        seams, channels: lines of stitching, each from bottom to top.
        edges: top and bottom edges of each half, as far as they are seen.
        closing: from the back the edges beside the lacing; from the front the one line of centre front.
        grommets: middles of the grommets, a column on each side, lowest first; none from the front.
    """

    silhouette: Outline
    panels: tuple[WornPanel, ...]
    seams: tuple[Outline, ...]
    channels: tuple[Outline, ...]
    edges: tuple[Outline, ...]
    closing: tuple[Outline, ...]
    grommets: tuple[Outline, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WornGarment:
    """Both views of one option."""

    option: str
    front: WornView
    back: WornView
