"""A photograph read from its file to outlines: what runs in the child process, one photograph a time."""

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from shapely import Polygon

from inventory.ground.findings import Refused, stops
from inventory.ground.pictures import picture_to_show
from quotes.defaults import desk_defaults
from quotes.photograph.cards import PrintScale
from quotes.photograph.edge import sample_edge, tidied
from quotes.photograph.judging import (
    cards_refused,
    cut_in_faults,
    inner_line_faults,
    kept_pieces,
    laid_faults,
    left_over_faults,
    light_faults,
    piece_faults,
    plus_minus_mm,
)
from quotes.photograph.lower_edges import inner_lines
from quotes.photograph.notches import find_notches, pockets
from quotes.photograph.outline import rebuilt
from quotes.photograph.picture import Photo, decode, linear_light
from quotes.photograph.pieces import Found, find_pieces, seen_from_above
from quotes.photograph.reading import Look, PhotoPiece, PhotoReading
from quotes.photograph.seeing import Sighting, see_cards
from quotes.photograph.solve import LENS, LensPrior, Solved, solve
from quotes.photograph.view import View

__all__ = ["look_at", "read"]

_CORNER_SIGMA_PX = 0.035
"""How exactly corners are fitted on sharp pictures."""
_ROW_SHARE = 0.5
"""Pieces whose heights overlap by this share stand in one row."""
_REFINED = 2


def read(data: bytes, name: str, scale: PrintScale, lens: LensPrior | None) -> PhotoReading:
    """Return the pieces in a photograph.

    Args:
        lens: what other photographs of the set say of it; None for a photograph by itself.

    Raises:
        Refused: every reason why the photograph cannot be used, as far as it could be looked at.
    """
    photo = decode(data, name)
    sighting, solved = _solved(photo, name, scale, lens)
    view = View(photo=photo, solved=solved)
    faults = light_faults(view, sighting, name)
    if faults:
        raise Refused(faults)
    found, left_over = find_pieces(seen_from_above(view))
    found = in_rows(found, view)
    faults = [*laid_faults(found, view, name), *left_over_faults(left_over, name)]
    if stops(faults):
        raise Refused(faults)
    found = kept_pieces(found)
    pieces = []
    for number, one in enumerate(found, start=1):
        blur_mm = sighting.blur_px / float(np.median(view.px_per_mm_at(np.asarray(one.area.exterior.coords))))
        plain = tidied(one.area)
        cut_in = pockets(one.area, plain)
        edge = sample_edge(view, plain, blur_mm)
        first = shape = rebuilt(edge, cut_in)
        for _ in range(_REFINED):
            notches = find_notches(view, shape.ring, edge, shape.corners)
            edge = sample_edge(view, Polygon(shape.ring), blur_mm)
            shape = rebuilt(edge, notches)
        notches = find_notches(view, shape.ring, edge, shape.corners)
        plus_minus = plus_minus_mm(view, edge, shape, sighting.blur_px)
        faults += piece_faults(number, first, shape, plus_minus, name)
        inner_corners = max(first.inner_corners, shape.inner_corners)
        across = pockets(one.area, Polygon(shape.ring))
        faults += cut_in_faults(number, cut_in, notches, inner_corners, name, run_across=across)
        lines = inner_lines(view.light_at, shape.ring, [notch.middle for notch in notches])
        faults += inner_line_faults(number, lines, name)
        middles = np.array([notch.middle for notch in notches]).reshape(-1, 2)
        pieces.append(
            PhotoPiece(
                photo=name,
                outline=_line(view.given_out(shape.ring)[::-1]),
                notches=_line(view.given_out(middles)),
                plus_minus_mm=round(plus_minus, 3),
                outline_px=_line(view.pixels_of(shape.ring)[::-1] + 0.5, digits=1),
            )
        )
    if stops(faults):
        raise Refused(faults)
    at = np.concatenate([np.asarray(one.area.exterior.coords) for one in found])
    return PhotoReading(
        photo=name,
        px_per_mm=round(float(np.median(view.px_per_mm_at(at))), 3),
        cards=len(solved.cards),
        residual_px=round(solved.residual_px, 4),
        size_px=photo.size,
        shown=picture_to_show(Image.fromarray(photo.pixels)).data,
        pieces=tuple(pieces),
        findings=tuple(faults),
    )


def look_at(data: bytes, name: str, scale: PrintScale) -> Look:
    """Return what one of several photographs says of the lens. Raises Refused where its cards do not do."""
    photo = decode(data, name)
    _, solved = _solved(photo, name, scale, None)
    prior = solved.prior
    after = LensPrior(
        mean=solved.values[:LENS],
        covariance=solved.covariance[:LENS, :LENS],
        focal_px=prior.focal_px,
        middle=prior.middle,
    )
    return Look(camera=(*photo.size, round(photo.focal_px, 3)), before=prior, after=after)


def in_rows(found: list[Found], view: View) -> list[Found]:
    """Return pieces left to right in rows from the top, as the picture shows them."""
    boxes = []
    for one in found:
        given = view.given_out(np.asarray(one.area.exterior.coords))
        boxes.append((*given.min(axis=0), *given.max(axis=0)))
    left = sorted(range(len(found)), key=lambda index: -boxes[index][3])
    ordered: list[int] = []
    while left:
        _, low, _, high = boxes[left[0]]
        row = [
            index
            for index in left
            if min(high, boxes[index][3]) - max(low, boxes[index][1])
            > _ROW_SHARE * min(high - low, boxes[index][3] - boxes[index][1])
        ]
        ordered += sorted(row, key=lambda index: boxes[index][0])
        left = [index for index in left if index not in row]
    return [found[index] for index in ordered]


def _solved(photo: Photo, name: str, scale: PrintScale, lens: LensPrior | None) -> tuple[Sighting, Solved]:
    sighting = see_cards(photo, scale)
    light = linear_light(photo.pixels[::4, ::4]).max(axis=2)
    cards_refused(sighting, float(np.percentile(light, 99)) / 65535, name)
    figures = desk_defaults().photograph
    prior = lens or prior_of(photo)
    return sighting, solve(sighting.cards, prior, bend_sigma_mm=figures.bend_mm, corner_sigma_px=_CORNER_SIGMA_PX)


def prior_of(photo: Photo) -> LensPrior:
    """Return what is known of a photograph's lens before its cards are looked at."""
    figures = desk_defaults().photograph
    width, height = photo.size
    axis = figures.axis_share * float(np.hypot(width, height))
    spread = np.array([photo.focal_share, axis, axis, figures.distortion, figures.distortion])
    return LensPrior(
        mean=np.zeros(LENS),
        covariance=np.diag(spread**2),
        focal_px=photo.focal_px,
        middle=((width - 1) / 2, (height - 1) / 2),
    )


def _line(points: NDArray[np.float64], *, digits: int = 4) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), digits), round(float(y), digits)) for x, y in points)
