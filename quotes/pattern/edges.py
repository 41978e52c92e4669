"""Telling a panel's outline apart into front, back, top and bottom, top upwards and front to the left."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.ground.findings import Finding, stop
from quotes.pattern.corners import Ambiguous, Four, long_pair, nearest_vertices, sharpest_corners, sides_between
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.geometry import Point, Polyline, length_mm
from quotes.pattern.orientation import Placement
from quotes.pattern.outline import SAME_POINT_MM
from quotes.pattern.panels import EdgeName, Edges

__all__ = ["ToldEdges", "edges_of", "joined_edges"]

_MEET_MM = 0.5
"""Named edges that end this close to each other meet."""
_NAMES = (EdgeName.FRONT, EdgeName.BACK, EdgeName.TOP, EdgeName.BOTTOM)
_PICK = (
    'Mark exactly four turn points, add "corners" to the outline, name the edges, or pick the corners on the drawing.'
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldEdges:
    """Edges as placed, how the drawing was placed for it, and whether their names are the file's or the maker's."""

    edges: Edges
    placement: Placement
    named: bool
    lying: bool = False


def edges_of(drawn: DrawnPanel, ring: Polyline, picked: Sequence[Point] | None) -> ToldEdges | Finding:
    """Return the edges of a panel whose outline is the counter-clockwise `ring`, or the stop that says what to add.

    In this order count: named edges, corners `picked` by the maker, corners named by the file, exactly four marked
    turn points, the four sharpest turns.
    """
    if drawn.edges is not None:
        front, back, top, bottom = (_without_doubles(drawn.edges[name]) for name in _NAMES)
        # The edges meet exactly from here on; files round their points.
        front, back = (bottom[0], *front[1:-1], top[0]), (bottom[-1], *back[1:-1], top[-1])
        return _named((_without_doubles(front), _without_doubles(back), top, bottom), drawn)
    if picked is not None:
        return _between(nearest_vertices(ring, picked), ring, drawn)
    if drawn.corners is not None:
        outline = drawn.stitching or drawn.cut or ()
        if not all(0 <= position < len(outline) for position in drawn.corners):
            return stop(
                "pattern.corners-out-of-order",
                drawn.where,
                f"The corners {list(drawn.corners)} are not all positions in the outline, 0 to {len(outline) - 1}.",
            )
        return _between(nearest_vertices(ring, [outline[position] for position in drawn.corners]), ring, drawn)
    marked = sorted(set(nearest_vertices(ring, drawn.turn_points)))
    found = _four(marked) if len(marked) == 4 else sharpest_corners(ring, among=marked)
    if isinstance(found, Ambiguous):
        return _ambiguous(drawn, found.sentence, found.candidates)
    return _found(drawn, ring, found)


def joined_edges(drawn: DrawnPanel) -> tuple[Polyline, list[Finding]]:
    """Return named edges as one ring, and where they do not meet."""
    assert drawn.edges is not None
    faults = [
        stop(
            "pattern.too-few-corners",
            drawn.where,
            f"The {name} edge has no length; an edge runs through at least 2 different points.",
        )
        for name in _NAMES
        if len(_without_doubles(drawn.edges[name])) < 2
    ]
    if faults:
        return (), faults
    front, back, top, bottom = (drawn.edges[name] for name in _NAMES)
    for first, second, words in (
        (front[0], bottom[0], "front and bottom"),
        (back[0], bottom[-1], "back and bottom"),
        (front[-1], top[0], "front and top"),
        (back[-1], top[-1], "back and top"),
    ):
        gap = math.dist(first, second)
        if not gap <= _MEET_MM:
            faults.append(
                stop(
                    "pattern.edges-do-not-meet",
                    drawn.where,
                    f"The {words} edges lie {gap:.1f} mm apart where they should meet.",
                    "Front and back run from bottom to top, top and bottom from front to back.",
                )
            )
    return (*bottom, *back[1:-1], *reversed(top), *reversed(front[1:-1])), faults


def _without_doubles(line: Polyline) -> Polyline:
    """The line without points that lie on the one before; its last point stays."""
    kept = list(line[:1])
    kept += [point for before, point in pairwise(line) if not math.dist(before, point) <= SAME_POINT_MM]
    return (*kept[:-1], line[-1]) if kept else ()


def _four(positions: Sequence[int]) -> Four:
    a, b, c, d = positions
    return a, b, c, d


def _ambiguous(drawn: DrawnPanel, sentence: str, candidates: Sequence[Point]) -> Finding:
    places = "; ".join(f"({x:.0f}, {y:.0f})" for x, y in candidates)
    turns = f" Turns are at {places} mm." if places else ""
    return stop(
        "pattern.corners-ambiguous",
        drawn.where,
        f"The four corners cannot be told apart. {sentence}{turns}",
        _PICK,
    )


def _between(positions: Sequence[int], ring: Polyline, drawn: DrawnPanel) -> ToldEdges | Finding:
    """Edges from corners named bottom front, bottom back, top back, top front."""
    if len(set(positions)) < 4:
        return stop(
            "pattern.corners-fall-together",
            drawn.where,
            "Two of the four corners are the same point.",
            "Name four different points of the outline.",
        )
    bottom_front, bottom_back, top_back, top_front = positions
    order = sorted(positions)
    start = order.index(bottom_front)
    around = [order[(start + step) % 4] for step in range(4)]
    if around == [bottom_front, bottom_back, top_back, top_front]:
        bottom, back, top, front = sides_between(ring, around)
        return _named((tuple(reversed(front)), back, tuple(reversed(top)), bottom), drawn)
    if around == [bottom_front, top_front, top_back, bottom_back]:
        front, top, back, bottom = sides_between(ring, around)
        return _named((front, tuple(reversed(back)), top, tuple(reversed(bottom))), drawn)
    return stop(
        "pattern.corners-out-of-order",
        drawn.where,
        "The four corners do not follow each other round the outline.",
        "Name them bottom front, bottom back, top back, top front.",
    )


def _named(edges: Edges, drawn: DrawnPanel) -> ToldEdges:
    """Edges whose names count, turned and mirrored so that they lie as their names say."""
    front, back, _, _ = edges
    up_x = front[-1][0] - front[0][0] + back[-1][0] - back[0][0]
    up_y = front[-1][1] - front[0][1] + back[-1][1] - back[0][1]
    # A waist given as a height says that the edges run along y, whatever they do.
    along_y = abs(up_y) >= abs(up_x) or drawn.waist_mm is not None
    up = up_y if along_y else up_x
    quarter_turns = (0 if up >= 0 else 2) if along_y else (1 if up > 0 else -1)
    upright = Placement(quarter_turns=quarter_turns)
    flipped = _middle_x(upright.line(front)) > _middle_x(upright.line(back))
    placement = Placement(quarter_turns=quarter_turns, flipped=flipped)
    return ToldEdges(edges=_placed(edges, placement), placement=placement, named=True)


def _found(drawn: DrawnPanel, ring: Polyline, corners: Four) -> ToldEdges | Finding:
    """Edges between corners that have no names: the long ones are front and back, the left one of them front."""
    points = [ring[position] for position in corners]
    sides = sides_between(ring, corners)
    long = long_pair([length_mm(side) for side in sides])
    if long is None:
        return _ambiguous(
            drawn, "Its four sides are too much alike to tell front and back from top and bottom.", points
        )
    along_x = sum(abs(side[-1][0] - side[0][0]) for side in (sides[long], sides[long + 2]))
    along_y = sum(abs(side[-1][1] - side[0][1]) for side in (sides[long], sides[long + 2]))
    lying = along_x > along_y
    if lying and (drawn.waist_mm is not None or (drawn.grain is not None and not _runs_along_x(drawn.grain))):
        return _ambiguous(
            drawn, "Its long sides lie across the drawing, yet its grain or its waist stands upright.", points
        )
    if drawn.waist is not None and _runs_along_x((drawn.waist[0], drawn.waist[-1])) == lying:
        return _ambiguous(drawn, "Its waist line runs along its long sides instead of across.", points)
    placement = Placement(quarter_turns=1 if lying else 0)
    # Counter-clockwise, the back edge runs upwards with the panel to its left.
    first_x, third_x = (_middle_x(placement.line(side)) for side in (sides[long], sides[long + 2]))
    start = long if first_x > third_x else long + 2
    back, top, front, bottom = (sides[(start + step) % 4] for step in range(4))
    edges = (tuple(reversed(front)), back, tuple(reversed(top)), bottom)
    return ToldEdges(edges=_placed(edges, placement), placement=placement, named=False, lying=lying)


def _runs_along_x(line: tuple[Point, Point]) -> bool:
    (x0, y0), (x1, y1) = line
    return abs(x1 - x0) > abs(y1 - y0)


def _placed(edges: Edges, placement: Placement) -> Edges:
    front, back, top, bottom = (placement.line(edge) for edge in edges)
    return front, back, top, bottom


def _middle_x(line: Polyline) -> float:
    return (min(line)[0] + max(line)[0]) / 2
