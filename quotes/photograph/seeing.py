"""Cards in a picture: their markers found, the corners of their chequer boards to a part of a pixel, in linear light."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from quotes.defaults import desk_defaults
from quotes.photograph.cards import Card, PrintScale, cards, marker_bits
from quotes.photograph.corner_fit import FittedCorners, fit_corners
from quotes.photograph.picture import Photo, linear_light
from quotes.photograph.solve import SeenCard

__all__ = ["Sighting", "grey_light", "see_cards", "smeared_px"]

Array = NDArray[np.float64]
_LUMA = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
"""Of red, green and blue in linear light, ITU-R BT.709."""
_HALVED_FROM_PX = 2200
"""Markers of longer pictures are first looked for at half their size."""
_LARGEST_PX = 4200
"""Pictures are enlarged up to this long for markers that were not found."""
_ENOUGH_MARKERS, _LEAST_MARKERS, _LEAST_CORNERS = 10, 3, 12
"""Of 17 on a card: with fewer it is looked for again; with fewer it is not believed. Of its 24 corners as many must be seen."""
_CLEAR_MM = 2.8
"""Round a corner nothing but its four squares is seen this far: a marker's corner lies 3.5 mm away."""
_TURNS = 4
"""A card's corners are looked for at most so often, each time from what was found before."""
_LEAST_REACH_PX, _LARGEST_REACH_PX = 3.5, 18.0
_SMEARED_ANEW_PX = (1.0, 3.0)
_STRONG = 1.5
"""Of 255 a pixel: an edge that changes less is none to judge sharpness by."""
_SMEARED_SHARE = 0.0016
"""Of the picture's longer side: where all edges are smeared by more, markers of a card that is far enough away are not read."""
_MOST_MISFIT = 0.12
"""A corner whose fit leaves more than this share of white less black is covered, or none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """Cards that were found, and the light on them.

    Attributes:
        mirrored: the picture shows them the wrong way round only.
        blur_px: by which their edges are smeared, a standard deviation; `white` and `black` are their light, 0 to 1.
        smeared: cards are too few, and nothing in the picture is sharp.
        px_per_mm: by the size of single markers, where cards are too few; 0 where no marker was read.
    """

    cards: tuple[SeenCard, ...]
    mirrored: bool = False
    smeared: bool = False
    px_per_mm: float = 0.0
    blur_px: float = 0.0
    white: float = 0.0
    black: float = 0.0


def see_cards(photo: Photo, scale: PrintScale) -> Sighting:
    """Return the cards in a picture, as they came out of the printer at `scale`."""
    grey = np.asarray(cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    markers = _markers(grey)
    light = grey_light(photo)
    seen = [_corners(light, card, number, markers, scale) for number, card in enumerate(cards())]
    found = [one for one in seen if one is not None]
    if len(found) < desk_defaults().photograph.fewest_cards:
        other_way = _markers(np.ascontiguousarray(grey[:, ::-1]))
        turned = sum(_count(card, other_way) >= _LEAST_MARKERS for card in cards())
        return Sighting(
            cards=tuple(card for card, _ in found),
            mirrored=turned > len(found),
            smeared=smeared_px(grey) > _SMEARED_SHARE * max(grey.shape),
            px_per_mm=_marker_px(markers) / cards()[0].marker,
        )
    fits = [fit for _, fit in found]
    return Sighting(
        cards=tuple(card for card, _ in found),
        blur_px=float(np.median(np.concatenate([fit.blur_px for fit in fits]))),
        white=float(min(np.median(fit.white) for fit in fits)),
        black=float(max(np.median(fit.black) for fit in fits)),
    )


def grey_light(photo: Photo) -> NDArray[np.float32]:
    """Return the light of a picture as one number a pixel, 0 to 1."""
    curve = linear_light(np.arange(256, dtype=np.uint8)) / np.float32(65535)
    red, green, blue = (
        cv2.LUT(channel, curve * share) for channel, share in zip(cv2.split(photo.pixels), _LUMA, strict=True)
    )
    return np.asarray(red + green + blue, dtype=np.float32)


def smeared_px(grey: NDArray[np.uint8]) -> float:
    """Return by how much the sharpest of the strong edges in a grey picture are smeared, a standard deviation; 0 where none is strong.

    An edge smeared by s is steeper, smeared anew by a little a than by more b, by √((s² + b²) / (s² + a²)).
    """
    less, more = (cv2.GaussianBlur(grey.astype(np.float32), (0, 0), by) for by in _SMEARED_ANEW_PX)
    steep, steeper = (
        cv2.magnitude(cv2.Sobel(part, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(part, cv2.CV_32F, 0, 1, scale=1 / 8))
        for part in (more, less)
    )
    strong = steep > max(float(np.percentile(steep[::4, ::4], 99.0)), _STRONG)
    if not strong.any():
        return 0.0
    ratio = float(np.percentile(steeper[strong] / steep[strong], 90))
    a, b = _SMEARED_ANEW_PX
    ratio = min(max(ratio, 1.001), 0.999 * b / a)
    return float(np.sqrt(max(b * b - ratio**2 * a * a, 0.0) / (ratio**2 - 1)))


def _marker_px(markers: dict[int, Array]) -> float:
    """How wide markers are seen, by the middle one of their areas."""
    areas = [cv2.contourArea(corners.astype(np.float32)) for corners in markers.values()]
    return float(np.sqrt(np.median(areas))) if areas else 0.0


def _count(card: Card, markers: dict[int, Array]) -> int:
    return sum(marker in markers for marker in card.marker_ids)


def _markers(grey: NDArray[np.uint8]) -> dict[int, Array]:
    """Corners (4, 2) of all markers in a grey picture, by number: at half size, at its own, enlarged and sharpened."""
    longest = max(grey.shape)
    found: dict[int, Array] = {}
    factors = [0.5, 1.0] if longest > _HALVED_FROM_PX else [1.0]
    if longest < _LARGEST_PX:
        factors.append(min(2.0, _LARGEST_PX / longest))
    for factor in factors:
        how = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
        sized = grey if factor == 1 else cv2.resize(grey, None, fx=factor, fy=factor, interpolation=how)
        if factor > 1:
            sized = cv2.addWeighted(sized, 2.5, cv2.GaussianBlur(sized, (0, 0), 2.0), -1.5, 0)
        for marker, corners in _detected(np.asarray(sized, dtype=np.uint8)).items():
            found.setdefault(marker, (corners + 0.5) / factor - 0.5)
        if all(_count(card, found) >= _ENOUGH_MARKERS for card in cards()):
            break
    return found


def _detected(grey: NDArray[np.uint8]) -> dict[int, Array]:
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = 0.012
    corners, ids, _ = cv2.aruco.ArucoDetector(_dictionary(), parameters).detectMarkers(grey)
    if ids is None:
        return {}
    return {
        int(marker): np.asarray(four, dtype=float).reshape(4, 2)
        for marker, four in zip(ids.ravel(), corners, strict=True)
    }


def _dictionary() -> cv2.aruco.Dictionary:
    """The markers of the sheet and no others."""
    count = max(marker for card in cards() for marker in card.marker_ids) + 1
    rows = [cv2.aruco.Dictionary.getByteListFromBits(marker_bits(marker)) for marker in range(count)]
    return cv2.aruco.Dictionary(np.concatenate(rows), 5, 2)


def _corners(
    light: NDArray[np.float32], card: Card, number: int, markers: dict[int, Array], scale: PrintScale
) -> tuple[SeenCard, FittedCorners] | None:
    """The chequer corners of one card, those that are surely seen; None where they are too few."""
    seen = [marker for marker in card.marker_ids if marker in markers]
    if len(seen) < _LEAST_MARKERS:
        return None
    of_markers = (
        np.concatenate([card.marker_corners(marker) for marker in seen]),
        np.concatenate([markers[marker] for marker in seen]),
    )
    flat, there = of_markers
    wanted = card.inner_corners()
    fit, kept, count = None, np.ones(len(wanted), dtype=bool), 0
    for turn in range(_TURNS):
        homography, _ = cv2.findHomography(flat, there, cv2.RANSAC, 4.0)
        if homography is None:
            return None
        start = np.asarray(cv2.perspectiveTransform(wanted[:, None], homography), dtype=np.float64)[:, 0]
        px_per_mm = _px_per_mm(wanted, start)
        reach = float(np.clip(_CLEAR_MM * px_per_mm, _LEAST_REACH_PX, _LARGEST_REACH_PX))
        kept = _inside(start, reach + 2, light.shape)
        if kept.sum() < _LEAST_CORNERS:
            return None
        fit = fit_corners(light, start[kept], reach)
        moved = np.hypot(*(fit.places - start[kept]).T)
        kept[kept] = good = (moved < max(1.5, 0.6 * px_per_mm)) & (fit.misfit < _MOST_MISFIT)
        flat, there = wanted[kept], fit.places[good]
        if good.sum() < _LEAST_CORNERS:
            # Where few markers were read, on one side of the card, corners near them lead on to the others.
            flat, there = (np.concatenate(both) for both in zip(of_markers, (flat, there), strict=True))
        elif turn and good.sum() <= count:
            # From the corners themselves, which are exacter than markers, and no more came to light.
            break
        count = int(good.sum())
    if fit is None or kept.sum() < _LEAST_CORNERS:
        return None
    size = np.array([scale.along, scale.across])
    half = card.outline()[2] * size
    return SeenCard(card=number, flat=flat * size, pixels=there, half=(float(half[0]), float(half[1]))), fit


def _px_per_mm(flat: Array, pixels: Array) -> float:
    return float((np.linalg.det(np.cov(pixels.T)) / np.linalg.det(np.cov(flat.T))) ** 0.25)


def _inside(points: Array, edge: float, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Which points lie in the picture, so far from its edges."""
    return np.asarray(((points > edge) & (points < np.array([shape[1], shape[0]]) - 1 - edge)).all(axis=1))
