"""Which outlines lie in or over each other, and why: a frame, a cut line round its stitching line, sizes of one panel?"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from quotes.pattern.geometry import Polyline, as_polygon
from quotes.pattern.sheet import Stroke
from quotes.pattern.taking.closing import Closed, area_inside
from quotes.pattern.taking.words import said

__all__ = [
    "Look",
    "Stack",
    "allowance_between",
    "frames",
    "is_rectangle",
    "looks_of",
    "shapes_of",
    "size_look",
    "stacks",
]

_RECTANGULAR_SHARE = 0.985
_COVERED_SHARE = 0.3
_STACKED_SHARE = 0.5
"""Two outlines that share this much of their joint area are one panel drawn twice over."""
_INSIDE_SHARE = 0.25
"""An outline inside another is of one panel with it from this share of its area on: a narrow panel with wide allowances."""
_EVEN_SHARE = 0.15
_EVENLY_MOST = 0.55
"""Two outlines are a stitching and a cut line where more than this share of the way round they lie evenly apart."""
_SAMPLES = 200

Look = Callable[[Stroke], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Outlines of one panel that lie in or over each other, by their places, the smallest first."""

    members: tuple[int, ...]


def shapes_of(closed: Sequence[Closed]) -> list[Polygon]:
    """The areas inside the outlines, mended where a line crosses itself."""
    return [area_inside(one.ring) for one in closed]


def is_rectangle(ring: Polyline) -> tuple[float, float] | None:
    """Return the sides of a rectangle, the shorter first; None for any other outline."""
    shape = as_polygon(ring)
    box = shape.minimum_rotated_rectangle
    if box.geom_type != "Polygon" or shape.area < _RECTANGULAR_SHARE * box.area:
        return None
    corners = shapely.get_coordinates(box)
    sides = sorted(float(np.hypot(*(corners[i + 1] - corners[i]))) for i in (0, 1))
    return sides[0], sides[1]


def frames(shapes: Sequence[Polygon], closed: Sequence[Closed]) -> set[int]:
    """Return the places of lines drawn round several pieces."""
    found: set[int] = set()
    for place, shape in enumerate(shapes):
        within = [other for other, inner in enumerate(shapes) if other != place and _is_within(inner, shape)]
        if len(within) < 2:
            continue
        largest = max(shapes[other].area for other in within)
        apart: list[int] = []
        for other in sorted(within, key=lambda one: -shapes[one].area):
            if shapes[other].area >= 0.2 * largest and not any(shapes[other].intersects(shapes[one]) for one in apart):
                apart.append(other)
        covered = sum(shapes[other].area for other in apart)
        is_wide = is_rectangle(closed[place].ring) is not None and largest >= 0.01 * shape.area
        if len(apart) >= 2 and (is_wide or covered >= _COVERED_SHARE * shape.area):
            found.add(place)
    return found


def stacks(shapes: Sequence[Polygon], without: set[int]) -> list[Stack]:
    """Return the outlines grouped by what panel they belong to, in the order of their first members."""
    leader = {place: place for place in range(len(shapes)) if place not in without}

    def root(place: int) -> int:
        while leader[place] != place:
            place = leader[place]
        return place

    boxes = [shape.bounds for shape in shapes]
    places = sorted(leader)
    for at, one in enumerate(places):
        for other in places[at + 1 :]:
            if _boxes_meet(boxes[one], boxes[other]) and _is_one_panel(shapes[one], shapes[other]):
                leader[max(root(one), root(other))] = min(root(one), root(other))
    groups: dict[int, list[int]] = defaultdict(list)
    for place in places:
        groups[root(place)].append(place)
    return [Stack(members=tuple(sorted(group, key=lambda place: shapes[place].area))) for group in groups.values()]


def allowance_between(inner: Polyline, outer: Polyline) -> float | None:
    """Return how far apart two outlines lie for most of the way round; None where they do not keep their distance."""
    around = shapely.linestrings(np.asarray((*outer, outer[0]), dtype=float))
    inside = shapely.linestrings(np.asarray((*inner, inner[0]), dtype=float))
    places = np.linspace(0, inside.length, _SAMPLES, endpoint=False)
    gaps = shapely.distance(shapely.line_interpolate_point(inside, places), around)
    usual = float(np.median(gaps))
    even = np.abs(gaps - usual) <= _EVEN_SHARE * usual
    return usual if usual > 0 and float(even.mean()) > _EVENLY_MOST and gaps.min() > 0.3 * usual else None


def looks_of() -> dict[str, Look]:
    """Return the ways in which sizes may be told apart, the surest first."""
    return {
        "layer": lambda stroke: next((name for name in reversed(stroke.layers) if said(name).size), ""),
        "layers": lambda stroke: " / ".join(stroke.layers),
        "colour": lambda stroke: stroke.colour,
        "dash": lambda stroke: (
            " ".join(("dashed", *(f"{length:g}" for length in stroke.dash))) if stroke.dash else "solid"
        ),
        "width": lambda stroke: "" if stroke.width is None else f"{stroke.width:g}",
    }


def size_look(groups: Sequence[Stack], closed: Sequence[Closed]) -> Look | None:
    """Return by what the sizes nested in every stack are told apart; None where nothing tells them."""
    many = [stack for stack in groups if len(stack.members) > 1]
    for look in looks_of().values():
        seen = [sorted({look(closed[place].stroke) for place in stack.members}) for stack in many]
        if seen and len(seen[0]) > 1 and all(names == seen[0] for names in seen):
            return look
    return None


def _is_within(inner: Polygon, outer: Polygon) -> bool:
    return inner.area < outer.area and bool(outer.contains(inner))


def _boxes_meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def _is_one_panel(one: Polygon, other: Polygon) -> bool:
    small, large = (one, other) if one.area <= other.area else (other, one)
    shared = small.intersection(large).area
    if shared >= 0.98 * small.area:
        return bool(small.area >= _INSIDE_SHARE * large.area)
    return bool(shared >= _STACKED_SHARE * (small.area + large.area - shared))
