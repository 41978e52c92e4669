"""Which parts of the table are paper: the ground learnt from the picture's rim and from round the cards, then a cut through a graph."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from quotes.photograph.view import View

__all__ = ["Found", "FromAbove", "find_pieces", "seen_from_above"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Labels = NDArray[np.int32]
_FINEST_MM, _MOST_CELLS = 0.7, 650_000
"""A cell of the table seen from above is no smaller than this, and there are no more."""
_BEYOND_CARDS_MM = 450.0
"""Pieces lie no farther than this beyond the cards."""
_ROUND_CARDS_MM = (2.0, 11.0)
"""Ground is learnt from a ring this far out of each card."""
_RIM_MM = 12.0
_KINDS = 8
"""Kinds of ground that are told apart, by colour."""
_UNLIKE = 4.0
"""Cells farther than so many standard deviations from any kind of ground may be paper."""
_LEAST_AREA_MM2 = 800.0
"""Smaller things are no pieces."""
_THIN_MM = 5.0
"""What is thinner is no paper: lines of a mat, creases, threads."""
_ROUNDS = 3
_BESIDE_MM = 8.0
"""Half the width of what is wide enough to be a piece, and how far beside one something is still its shadow."""
_GAP_MM = 4.0
"""A hole that is wider is none that a pen drew."""


@dataclass(frozen=True, kw_only=True)
class FromAbove:
    """The table seen from above, a cell each `step` mm from `origin` (x, y).

    Attributes:
        colours: (rows, columns, 3) as developed.
        seen: cells that are in the picture; `on_card` those that a card covers.
    """

    step: float
    origin: tuple[float, float]
    colours: NDArray[np.uint8]
    seen: Mask
    on_card: Mask

    def table_of(self, cells: Array) -> Array:
        """Return where cells (N, 2) as column and row lie, mm."""
        return np.asarray(cells * self.step + np.array(self.origin), dtype=np.float64)


@dataclass(frozen=True, kw_only=True)
class Found:
    """Something on the ground: `area` in mm on the table, without the cards.

    `has_gap` where ground shows through it, wider than any pen line; `colour` is its middle one, in CIE L*a*b* of 8 bits.
    """

    area: Polygon
    at_rim: bool
    has_gap: bool
    colour: Array


def seen_from_above(view: View) -> FromAbove:
    """Return the table round the cards as it would be seen from straight above."""
    rim = view.rim()
    corners = np.concatenate(view.card_outlines())
    low = np.maximum(rim.min(axis=0), corners.min(axis=0) - _BEYOND_CARDS_MM)
    high = np.minimum(rim.max(axis=0), corners.max(axis=0) + _BEYOND_CARDS_MM)
    step = max(_FINEST_MM, float(np.sqrt(np.prod(high - low) / _MOST_CELLS)))
    columns, rows = (int(count) for count in np.ceil((high - low) / step))
    grid = np.stack(np.meshgrid(np.arange(columns), np.arange(rows)), axis=-1).reshape(-1, 2) * step + low
    pixels = view.pixels_of(grid).reshape(rows, columns, 2)
    width, height = view.photo.size
    seen = ((pixels >= 0) & (pixels <= np.array([width - 1, height - 1]))).all(axis=-1)
    seen &= view.may_see(grid).reshape(rows, columns)
    px_per_mm = float(np.median(view.px_per_mm_at(corners)))
    smaller = max(1, round(step * px_per_mm))
    source = view.photo.pixels
    if smaller > 1:
        source = np.asarray(cv2.resize(source, (width // smaller, height // smaller), interpolation=cv2.INTER_AREA))
        factor = np.array([source.shape[1] / width, source.shape[0] / height])
        pixels = (pixels + 0.5) * factor - 0.5
    colours = cv2.remap(
        source, pixels.astype(np.float32), np.empty(0), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    on_card = np.zeros((rows, columns), dtype=np.uint8)
    for outline in view.card_outlines():
        cv2.fillPoly(on_card, [np.round((outline - low) / step).astype(np.int32)], 1)
    return FromAbove(
        step=step,
        origin=(float(low[0]), float(low[1])),
        colours=np.asarray(colours, dtype=np.uint8),
        seen=np.asarray(seen),
        on_card=_grown(on_card > 0, 1.2 / step),
    )


def find_pieces(above: FromAbove) -> tuple[list[Found], int]:
    """Return what lies on the ground, larger things only, as first outlines good to about a cell; and how many more things
    have colours unlike the ground without having become one of them."""
    unlike = unlike_ground(above)
    paper = _opened(_is_paper(above, unlike), max(1, round(_THIN_MM / above.step / 2)))
    count, labels, statistics, _ = cv2.connectedComponentsWithStats(paper.astype(np.uint8), connectivity=4)
    near_rim = ~_shrunk(above.seen, 2.0 / above.step)
    colours = _features(above)
    found = []
    for label in range(1, count):
        if statistics[label, cv2.CC_STAT_AREA] * above.step**2 < _LEAST_AREA_MM2:
            continue
        cells = labels == label
        area = _area(cells, above)
        if area is not None:
            found.append(
                Found(
                    area=area,
                    at_rim=bool((cells & near_rim).any()),
                    has_gap=_has_gap(cells, (unlike < _UNLIKE) & above.seen, above),
                    colour=np.median(colours[cells], axis=0),
                )
            )
    return found, _left_over(above, unlike, paper)


def _left_over(above: FromAbove, unlike: NDArray[np.float32], paper: Mask) -> int:
    """How many wide things are unlike any ground and were not cut out of it."""
    rest = (unlike > _UNLIKE) & above.seen & ~above.on_card & ~_grown(paper, _BESIDE_MM / above.step)
    wide = _opened(rest, _BESIDE_MM / above.step)
    count, _, statistics, _ = cv2.connectedComponentsWithStats(wide.astype(np.uint8), connectivity=4)
    return sum(
        bool(statistics[label, cv2.CC_STAT_AREA] * above.step**2 >= _LEAST_AREA_MM2) for label in range(1, count)
    )


def unlike_ground(above: FromAbove) -> NDArray[np.float32]:
    """Return how many standard deviations each cell's colour lies from the kind of ground that is nearest to it."""
    colours = _features(above)
    ring, rim = _ground_places(above)
    places = (ring | rim) & above.seen & ~above.on_card
    samples = colours[places]
    if len(samples) > 20_000:
        samples = samples[:: len(samples) // 20_000 + 1]
    criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 25, 0.2)
    cv2.setRNGSeed(1)
    _, kinds, _ = cv2.kmeans(samples, _KINDS, np.empty(0, dtype=np.int32), criteria, 2, cv2.KMEANS_PP_CENTERS)
    nearest = np.full(colours.shape[:2], np.inf, dtype=np.float32)
    regions = _regions(above)[places]
    if len(regions) > 20_000:
        regions = regions[:: len(regions) // 20_000 + 1]
    for kind in range(_KINDS):
        mine = kinds.ravel() == kind
        if mine.sum() < 0.004 * len(samples) or not _is_widespread(regions, mine):
            continue
        mean = samples[mine].mean(axis=0)
        covariance = np.cov(samples[mine].T) + np.diag([9.0, 4.0, 4.0])
        # In colours that are scaled so, one standard deviation is 1 in all directions.
        scaled = np.linalg.cholesky(np.linalg.inv(covariance)).T.astype(np.float32)
        off = cv2.transform(colours, np.c_[scaled, -scaled @ mean.astype(np.float32)])
        nearest = np.minimum(nearest, np.sqrt((off * off).sum(axis=2)))
    return nearest


def _is_widespread(regions: Labels, mine: Mask) -> bool:
    """Ground is found on several sides; a piece that lies near a card or the rim is found on one or two."""
    there = np.bincount(regions[mine], minlength=16) > 0.02 * np.bincount(regions, minlength=16) + 1
    return bool(there.sum() >= 4)


def _regions(above: FromAbove) -> Labels:
    """Sixteen parts of the table, four by four."""
    rows, columns = above.seen.shape
    down, right = np.minimum(np.arange(rows) * 4 // rows, 3), np.minimum(np.arange(columns) * 4 // columns, 3)
    return np.asarray(down[:, None] * 4 + right[None, :], dtype=np.int32)


def _features(above: FromAbove) -> NDArray[np.float32]:
    smooth = cv2.GaussianBlur(above.colours, (0, 0), 0.8)
    return np.asarray(cv2.cvtColor(smooth, cv2.COLOR_RGB2LAB), dtype=np.float32)


def _ground_places(above: FromAbove) -> tuple[Mask, Mask]:
    inner, outer = (_grown(above.on_card, mm / above.step) for mm in _ROUND_CARDS_MM)
    rim = above.seen & ~_shrunk(above.seen, _RIM_MM / above.step)
    return outer & ~inner & above.seen, rim


def _is_paper(above: FromAbove, unlike: NDArray[np.float32]) -> Mask:
    """The cut: likely ground and likely paper by colour, then both learnt anew with their neighbours' word."""
    free = above.seen & ~above.on_card
    likely = _opened((unlike > _UNLIKE) & free, max(1, round(_THIN_MM / above.step / 2)))
    if likely.sum() * above.step**2 < _LEAST_AREA_MM2:
        return np.zeros_like(likely)
    labels = np.full(free.shape, cv2.GC_PR_BGD, dtype=np.uint8)
    labels[likely] = cv2.GC_PR_FGD
    labels[~free] = cv2.GC_BGD
    colours = above.colours.copy()
    # Cards are no ground: their cells take the colour of what lies round them.
    hidden = (~free).astype(np.uint8)
    small = cv2.resize(colours, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    covered = cv2.resize(hidden, (small.shape[1], small.shape[0]), interpolation=cv2.INTER_LINEAR)
    filled = cv2.inpaint(small, (covered > 0).astype(np.uint8), 3, cv2.INPAINT_TELEA)
    large = cv2.resize(filled, (colours.shape[1], colours.shape[0]), interpolation=cv2.INTER_LINEAR)
    colours[hidden > 0] = np.asarray(large)[hidden > 0]
    cv2.setRNGSeed(1)
    cv2.grabCut(colours, labels, (0, 0, 0, 0), np.zeros((1, 65)), np.zeros((1, 65)), _ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray(((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)) & free)


def _area(cells: Mask, above: FromAbove) -> Polygon | None:
    """The area of some cells, holes filled, along the middle between cells inside and out."""
    smooth = cv2.GaussianBlur(np.pad(cells, 2).astype(np.float32), (0, 0), 0.7)
    factor = 2
    fine = cv2.resize(smooth, None, fx=factor, fy=factor, interpolation=cv2.INTER_LINEAR)
    rings, _ = cv2.findContours((fine > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    ring = max(rings, key=cv2.contourArea).reshape(-1, 2).astype(float)
    if len(ring) < 4:
        return None
    points = above.table_of((ring + 0.5) / factor - 0.5 - 2)
    area = Polygon(points).buffer(0.25 * above.step)
    if isinstance(area, MultiPolygon):
        area = max(area.geoms, key=lambda part: part.area)
    return Polygon(area.exterior)


def _has_gap(cells: Mask, like_ground: Mask, above: FromAbove) -> bool:
    """Whether ground shows through, between two pieces that touch at both ends; what was only not taken for paper is none."""
    filled = np.zeros(cells.shape, dtype=np.uint8)
    rings, _ = cv2.findContours(cells.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(filled, rings, -1, 1, cv2.FILLED)
    return bool(_opened((filled > 0) & ~cells & like_ground, _GAP_MM / 2 / above.step).any())


def _disc(radius: float) -> NDArray[np.uint8]:
    whole = max(1, round(radius))
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * whole + 1, 2 * whole + 1)), dtype=np.uint8)


def _grown(mask: Mask, cells: float) -> Mask:
    return np.asarray(cv2.dilate(mask.astype(np.uint8), _disc(cells))) > 0


def _shrunk(mask: Mask, cells: float) -> Mask:
    return np.asarray(cv2.erode(mask.astype(np.uint8), _disc(cells), borderType=cv2.BORDER_CONSTANT, borderValue=0)) > 0


def _opened(mask: Mask, cells: float) -> Mask:
    return np.asarray(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, _disc(cells))) > 0
