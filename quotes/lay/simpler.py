"""Outlines with fewer corners, or with room around them, for what is reckoned many times; what is drawn and checked is the true one."""

from shapely import Polygon

from quotes.pattern.geometry import Polyline, as_polygon

__all__ = ["FEW_CORNERS", "SHARPEST", "simpler", "with_room"]

FEW_CORNERS = 12
"""An outline of so many corners stays as it is, so that exact fits of plain shapes are found."""
MITRE_LIMIT = 5.0
"""Tips of sharp corners lie so many times as far outside as edges do, at most, before corners are left out."""
ROOM_MITRE_LIMIT = 1.5
"""The same of room around a piece: square corners stay square, sharper ones are cut off beyond the arc around them."""
SIMPLIFIED_SHARES = (0.5, 0.45, 0.4)
"""Of the way outward, by which corners are left out; with half of it, curves can come to lie a last digit inside the true ones."""
SHARPEST = MITRE_LIMIT * (1 - SIMPLIFIED_SHARES[-1]) + SIMPLIFIED_SHARES[-1]
"""In all, tips lie so many times as far outside as is asked for, at most."""


def simpler(outline: Polyline, outward: float) -> Polyline:
    """Return a simple closed outline with fewer corners, nowhere inside the true one, its edges at most `outward` outside it.

    Where that cannot be done it is returned as it is.
    """
    if len(outline) <= FEW_CORNERS:
        return outline
    shape = as_polygon(outline)
    for share in SIMPLIFIED_SHARES:
        outer = shape.buffer(outward * (1 - share), join_style="mitre", mitre_limit=MITRE_LIMIT)
        outer = outer.simplify(outward * share)
        if outer.geom_type == "Polygon" and not outer.interiors and outer.contains(shape):
            return tuple((float(x), float(y)) for x, y in outer.exterior.coords[:-1])
    return outline


def with_room(outline: Polyline, room: float, outward: float) -> Polyline:
    """Return a simple closed outline that holds all that lies as near to the true one as `room`, and little more.

    Its corners are mitred, since arcs would have many. It is simpler where the true one has many corners, its edges then
    at most `outward` farther outside.
    """
    if not room:
        return simpler(outline, outward)
    is_plain = len(outline) <= FEW_CORNERS
    reach = room if is_plain else room + outward / 2
    outer = as_polygon(outline).buffer(reach, join_style="mitre", mitre_limit=ROOM_MITRE_LIMIT)
    # What a piece all but closes around is no place for another.
    ring = outer.exterior if is_plain else Polygon(outer.exterior).simplify(outward / 2).exterior
    return tuple((float(x), float(y)) for x, y in ring.coords[:-1])
