"""May a photograph be used, and how far may its outlines be off? Each refusal says what to do."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from inventory.ground.findings import Finding, Refused, refuse, stop, warn
from quotes.defaults import desk_defaults
from quotes.photograph.edge import EdgeSamples
from quotes.photograph.lower_edges import InnerLine
from quotes.photograph.notches import Notch
from quotes.photograph.outline import Rebuilt
from quotes.photograph.pieces import Found
from quotes.photograph.seeing import Sighting
from quotes.photograph.solve import table_of_pixels
from quotes.photograph.view import View

__all__ = [
    "cards_refused",
    "cut_in_faults",
    "inner_line_faults",
    "kept_pieces",
    "laid_faults",
    "left_over_faults",
    "light_faults",
    "piece_faults",
    "plus_minus_mm",
]

Array = NDArray[np.float64]
_NEXT_TO_CARD_MM, _APART_MM = 3.0, 4.0
"""Nearer to a card, or to each other, the ground between is not seen clearly."""
_NECK_MM = 6.0
"""Half of a bridge between two pieces that touch."""
_MOST_INNER_CORNERS = 2
"""One inner corner may be meant (a heart-shaped top edge); two are where two papers lie across each other."""
_LEAST_STEP_MM = 1.0
"""Where an edge steps aside by more and goes on the same way, one paper ends upon another: scissors seldom leave that."""
_ALIKE = 30.0
"""Colours nearer than this, in CIE L*a*b* of 8 bits, may be of one paper in other light."""
_LEAST_BELIEVED, _LONGEST_GAP_MM = 0.85, 15.0
"""Of an outline that must be seen clearly, and the longest run of it that may be guessed."""
_LEVEL_SHARE = 0.12
"""Of the blur: how far the half-way level may stand off where a camera sharpens or a shadow lies along the edge."""
_MODEL = 2.0
"""The solve's residual, on the table, stands for what a lens does beyond the solver's terms, this many times."""
_LEAST_MM = 0.03
_SHARPER = "Hold the camera still or lean it on something, tap on a card to focus, and use more light."
_CROSSED = math.radians(12.0)
"""By so much an outline turns inward, at the least, where one sheet's edge goes on inside upon another; curved waists turn by half of it."""
_WAIST = math.radians(30.0)
"""A waist drawn in pencil turns inward at both of its ends, and by less than this; papers that overlap seldom do."""
_SAME_PLACE_MM = 6.0
_DEEPEST_NOTCH_MM = 12.0
_CORNER_MM = (7.0, 3.5)
"""A place that is cut in wider and deeper than this, across which the outline runs, is the corner where one paper ends upon another."""
_LONG_LINE_MM = 120.0
"""A line along the edge that is longer and runs from edge to edge is told: seam lines seldom do, the edge of a like piece does."""


def cards_refused(sighting: Sighting, dark: float, name: str) -> None:
    """Raise Refused where the cards in a picture do not do. `dark` is the light of its brightest parts."""
    figures = desk_defaults().photograph
    count = len(sighting.cards)
    if sighting.mirrored:
        raise refuse(
            "photograph.mirrored",
            name,
            "The picture is mirrored: its cards are seen the wrong way round, and so would be the pieces.",
            "Hand in the photograph as the rear camera takes it, not a mirrored one.",
        )
    if dark < figures.least_white or (count >= figures.fewest_cards and sighting.white < figures.least_white):
        raise refuse(
            "photograph.too-dark",
            name,
            "The picture is too dark for its edges to be measured.",
            "Photograph the pieces by daylight or with more lamps, without flash.",
        )
    if count < figures.fewest_cards and sighting.smeared:
        raise refuse(
            "photograph.blurred",
            name,
            "Nothing in the picture is sharp, so that the printed cards cannot be read.",
            _SHARPER,
        )
    if count < figures.fewest_cards and 0 < sighting.px_per_mm < figures.least_resolution:
        raise Refused([_too_far(sighting.px_per_mm, name)])
    if count < figures.fewest_cards:
        found = {0: "None of the printed cards", 1: "One of the printed cards", 2: "Two of the printed cards"}[count]
        raise refuse(
            "photograph.too-few-cards",
            name,
            f"{found} can be read; {figures.fewest_cards} are needed.",
            "Lay three or four of them flat round the pieces, all of each in the picture, and photograph them sharply.",
        )


def light_faults(view: View, sighting: Sighting, name: str) -> list[Finding]:
    """Return what is wrong with the whole picture once it is solved: smeared, or from too far away."""
    figures = desk_defaults().photograph
    px_per_mm = float(
        np.min(view.px_per_mm_at(np.concatenate([one.mean(axis=0)[None] for one in view.card_outlines()])))
    )
    faults = []
    if px_per_mm < figures.least_resolution:
        faults.append(_too_far(px_per_mm, name))
    blur_mm = sighting.blur_px / px_per_mm
    if blur_mm > figures.most_blur_mm:
        faults.append(
            stop(
                "photograph.blurred",
                name,
                f"Edges are smeared by {blur_mm:.1f} mm; {figures.most_blur_mm:g} are the most.",
                _SHARPER,
            )
        )
    return faults


def _too_far(px_per_mm: float, name: str) -> Finding:
    return stop(
        "photograph.too-far",
        name,
        f"A millimetre takes {px_per_mm:.1f} pixels; {desk_defaults().photograph.least_resolution:g} are the least.",
        "Go nearer, or photograph fewer pieces at a time, at the camera's full size.",
    )


def laid_faults(found: Sequence[Found], view: View, name: str) -> list[Finding]:
    """Return what is wrong with how pieces lie: cut off, on a card, against each other, or none there."""
    if not found:
        return [
            stop(
                "photograph.no-piece",
                name,
                "No paper piece is seen between the cards that stands out from the ground.",
                "Lay the pieces on a plain ground of another colour, between the cards.",
            )
        ]
    faults = []
    outlines = [Polygon(outline) for outline in view.card_outlines()]
    for number, piece in enumerate(found, start=1):
        if piece.at_rim and not _is_paper_like(piece, found):
            faults.append(
                warn(
                    "photograph.at-the-rim",
                    name,
                    f"What lies at the edge of the picture beside the pieces, number {number} from the left, was left out: it has "
                    "another colour than they.",
                    "Where it is a piece, take the photograph with ground all round it.",
                )
            )
        elif piece.at_rim:
            faults.append(
                stop(
                    "photograph.cut-off",
                    name,
                    f"Piece {number} from the left reaches the edge of the picture, where it may be cut off.",
                    "Take the photograph with ground all round each piece.",
                )
            )
        if any(piece.area.distance(card) < _NEXT_TO_CARD_MM for card in outlines):
            faults.append(
                stop(
                    "photograph.on-a-card",
                    name,
                    f"Piece {number} from the left touches a card, or lies under or over it.",
                    "Keep a finger's width between pieces and cards.",
                )
            )
        if piece.has_gap or _are_two(piece.area):
            faults.append(_touching(name, f"Piece {number} from the left looks like two that touch or overlap."))
    for number, piece in enumerate(found, start=1):
        for other in range(number + 1, len(found) + 1):
            if piece.area.distance(found[other - 1].area) < _APART_MM:
                faults.append(_touching(name, f"Pieces {number} and {other} from the left touch, or nearly."))
    return faults


def left_over_faults(count: int, name: str) -> list[Finding]:
    """Return a warning where something wide was neither ground nor piece: a shadow, or a piece that is lost."""
    if not count:
        return []
    return [
        warn(
            "photograph.something-left-out",
            name,
            f"{count} place{'s' if count > 1 else ''} on the ground look{'' if count > 1 else 's'} unlike it and did not become a "
            "piece: a shadow, or a piece that is too like the ground.",
            "Count the pieces; where one is missing, photograph it on a plain ground of another colour.",
        )
    ]


def _touching(name: str, message: str) -> Finding:
    return stop("photograph.touching", name, message, "Lay the pieces a finger's width apart.")


def _is_paper_like(piece: Found, found: Sequence[Found]) -> bool:
    """Whether something at the rim may be a piece: coloured as one that lies inside, or none lies there to compare."""
    inside = [other for other in found if not other.at_rim]
    return not inside or any(math.dist(piece.colour, other.colour) < _ALIKE for other in inside)


def kept_pieces(found: Sequence[Found]) -> list[Found]:
    """Return what is measured: not what lies at the rim and is no paper."""
    return [piece for piece in found if not piece.at_rim]


def _are_two(area: Polygon) -> bool:
    """A narrow bridge between two."""
    apart = area.buffer(-_NECK_MM)
    return len([part for part in getattr(apart, "geoms", [apart]) if part.area > 0.08 * area.area]) > 1


def piece_faults(number: int, first: Rebuilt, shape: Rebuilt, plus_minus: float, name: str) -> list[Finding]:
    """Return what is wrong with one outline, as `first` rebuilt and in the end: of two papers, not seen clearly, or not exactly enough."""
    most = desk_defaults().photograph.most_plus_minus_mm
    if max(first.inner_corners, shape.inner_corners) >= _MOST_INNER_CORNERS:
        return [_touching(name, f"Piece {number} from the left has inner corners as of two that touch or overlap.")]
    if (step := max(first.step_mm, shape.step_mm)) > _LEAST_STEP_MM:
        return [
            _touching(
                name,
                f"The edge of piece {number} from the left steps aside by {step:.0f} mm and goes on the same way: two papers that "
                "overlap look like that.",
            )
        ]
    if shape.believed_share < _LEAST_BELIEVED or shape.longest_gap_mm > _LONGEST_GAP_MM:
        return [
            stop(
                "photograph.ground-like-paper",
                name,
                f"The edge of piece {number} from the left cannot be told from the ground along "
                f"{1 - shape.believed_share:.0%} of it, at most {shape.longest_gap_mm:.0f} mm in one go.",
                "Lay it on a plain ground of another colour, darker than the paper, without a shadow across its edge.",
            )
        ]
    if plus_minus > most:
        return [
            stop(
                "photograph.uncertain",
                name,
                f"The outline of piece {number} from the left may be off by {plus_minus:.1f} mm; {most:g} mm is the most.",
                "Photograph it from nearer and more from above, sharply, on a plain dark ground, among four flat cards.",
            )
        ]
    if plus_minus > most / 2:
        return [
            warn(
                "photograph.inexact",
                name,
                f"The outline of piece {number} from the left may be off by {plus_minus:.1f} mm.",
                "Photograph it from nearer and more from above, on a plain dark ground, to have it exacter.",
            )
        ]
    return []


def cut_in_faults(
    number: int,
    cut_in: Sequence[Notch],
    notches: Sequence[Notch],
    inner_corners: int,
    name: str,
    *,
    run_across: Sequence[Notch] = (),
) -> list[Finding]:
    """Return what is wrong with places where a piece is cut in that were not taken for notches: the outline runs on across them.

    A small one may be a tear and is warned of; two, one beside an inner corner, or one that is deep, are where the edges of two papers part again.

    Args:
        cut_in: of the first outline; `run_across` are those of it that the outline in the end runs across.
    """
    unknown, corners = (
        [place for place in places if all(math.dist(place.middle, notch.middle) > _SAME_PLACE_MM for notch in notches)]
        for places in (cut_in, run_across)
    )
    signs = len(unknown) + inner_corners if unknown else 0
    is_corner = any(place.mouth > _CORNER_MM[0] and place.depth > _CORNER_MM[1] for place in corners)
    if signs >= _MOST_INNER_CORNERS or is_corner or any(place.depth > _DEEPEST_NOTCH_MM for place in unknown):
        return [
            _touching(
                name,
                f"Piece {number} from the left is cut in where no notch can be made out: two papers that touch or overlap look "
                "like that.",
            )
        ]
    return [
        warn(
            "photograph.cut-in",
            name,
            f"Piece {number} from the left is cut in by {place.depth:.0f} mm where no notch could be made out; its outline was "
            "drawn on across the gap.",
            "Check that place against the paper, or mend the tear and photograph it again.",
        )
        for place in unknown
    ]


def inner_line_faults(number: int, lines: Sequence[InnerLine], name: str) -> list[Finding]:
    """Return what faint lines across a piece say: the edge of a paper upon another, or what may be one."""
    crossing = [
        line
        for line in lines
        if any(turn > _CROSSED and not at_notch for turn, at_notch in zip(line.turns, line.at_notch, strict=True))
        and not (all(line.reaches) and max(line.turns) < _WAIST and 3 * min(line.turns) > max(line.turns))
    ]
    if crossing:
        return [
            _touching(
                name,
                f"A faint edge runs across piece {number} from the left for {crossing[0].length:.0f} mm: it looks like two papers that "
                "overlap.",
            )
        ]
    return [
        warn(
            "photograph.line-across",
            name,
            f"A faint line of {line.length:.0f} mm runs across piece {number} from the left, from edge to edge.",
            "Where that is the edge of another paper, lay the pieces a finger's width apart and photograph them again.",
        )
        for line in lines[:1]
        if all(line.reaches) and (not line.follows or line.length > _LONG_LINE_MM) and not all(line.at_notch)
    ]


def plus_minus_mm(view: View, edge: EdgeSamples, shape: Rebuilt, blur_px: float) -> float:
    """Return how far nineteen of twenty points of an outline may be off: by the solve, by single points, by the level."""
    px_per_mm = float(np.median(view.px_per_mm_at(edge.points)))
    blur_mm = blur_px / px_per_mm
    solve = _moved_by_solve(view, edge.points)
    model = _MODEL * view.solved.residual_px / px_per_mm
    level = blur_mm * (_LEVEL_SHARE + float(np.median(edge.uneven / np.maximum(edge.contrast, 1e-6))) / 2)
    scattered = shape.scatter_mm
    missing = (1 - shape.believed_share) * 1.0
    return 2 * math.sqrt(solve**2 + model**2 + level**2 + scattered**2 + _LEAST_MM**2) + missing


def _moved_by_solve(view: View, points: Array) -> float:
    """By how much the solve's errors bend a piece, beyond moving it as a whole: the largest root mean square round it."""
    solved = view.solved
    few = points[:: max(1, len(points) // 60)]
    pixels = view.pixels_of(few)
    spread = np.linalg.cholesky(solved.covariance + 1e-16 * np.eye(len(solved.values)))
    moved = np.array(
        [
            (
                table_of_pixels(solved.values + step, pixels, solved.prior)
                - table_of_pixels(solved.values - step, pixels, solved.prior)
            )
            / 2
            for step in spread.T
        ]
    )
    middle = few - few.mean(axis=0)
    across = np.stack([-middle[:, 1], middle[:, 0]], axis=-1)
    moved = moved - moved.mean(axis=1, keepdims=True)
    turn = (moved * across).sum(axis=(1, 2)) / (across**2).sum()
    moved = moved - turn[:, None, None] * across
    return float(np.sqrt((moved**2).sum(axis=(0, 2)).max()))
