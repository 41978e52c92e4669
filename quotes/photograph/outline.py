"""From single points of an edge to an outline: corners rebuilt from both sides, what sticks out left aside, runs smoothed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

from quotes.photograph.edge import STEP_MM, EdgeSamples
from quotes.photograph.legs import LEG_MM, ROUNDED_MM, direction, directions, largest_step, turns_of
from quotes.photograph.notches import NEAR_NOTCH_MM, Notch, near_notches

__all__ = ["Rebuilt", "rebuilt"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Indices = NDArray[np.int64]
_TURN = math.radians(14.0)
"""Less of a turn is a curve."""
_SHARP_TURN = math.radians(35.0)
_BESIDE_NOTCH_MM = 10.0
"""An edge is bridged over a notch by so much of it to both sides: more of it bends too differently and pulls the waist in."""
_USUAL_BEND = (1 / 0.003, 1 / math.tan(math.radians(6.0)))
"""One over the standard deviations of half the curvature (per mm) and of half the bend of an edge at a notch."""
_TURN_BESIDE_NOTCH = math.radians(4.0)
_WINDOW_MM = 7.0
"""Half of the run over which an edge is smoothed."""
_STRAIGHT_MM = 0.06
"""A run whose points lie within this of a line, as a root mean square beyond their own scatter, is straight."""
_SPIKE = 3.5
"""Points farther from the curve than so many times its scatter are left aside."""
_LEAST_SCATTER_MM = 0.03
_SAME_MM = 0.01
"""Points of the outline that lie on the line between their neighbours, within this, are left out."""


@dataclass(frozen=True, kw_only=True)
class Rebuilt:
    """The outline of a piece, mm on the table.

    Attributes:
        ring: first point not repeated.
        scatter_mm: of single edge points about it, a standard deviation.
        believed_share: of edge points that lie on it and are clear.
        longest_gap_mm: the longest run of the edge without a point that is believed.
        corners: (N, 2) its sharp corners that turn outward, at which no notch is looked for: one that turns inward may be a notch
            that the first outline followed. `inner_corners` are how many do.
        step_mm: by how much it steps aside somewhere, beyond what single points scatter, and goes on the same way.
    """

    ring: Array
    scatter_mm: float
    believed_share: float
    longest_gap_mm: float
    corners: Array
    inner_corners: int
    step_mm: float


def rebuilt(edge: EdgeSamples, notches: Sequence[Notch]) -> Rebuilt:
    """Return the outline through the points of an edge, straight on across its notches."""
    left_aside = near_notches(edge.points, notches)
    count = len(edge.points)
    trusted = edge.clear & ~left_aside & ~_spikes(edge, left_aside)
    step_mm = largest_step(edge.points, trusted)
    points, bridged, turned = _bridged(edge.points, trusted, notches)
    trusted = trusted | bridged
    corners = _corners(points, trusted, turned)
    runs = _runs(corners, count)
    curves = [_curve(points, trusted, run) for run in runs]
    ring: list[Array] = []
    places = []
    for number, curve in enumerate(curves):
        after = curves[(number + 1) % len(curves)]
        if len(corners):
            ring.append(curve.inner)
            corner = corners[(number + 1) % len(corners)]
            places.append(points[corner] if corner in turned else _meet(curve, after, points[corner]))
            ring.append(places[-1][None])
        else:
            ring.append(curve.inner)
    outline = np.concatenate(ring)
    off = _distance(outline, points)
    scatter = max(_LEAST_SCATTER_MM, 1.4826 * float(np.median(off[trusted]))) if trusted.any() else math.inf
    near_corner = _near(corners, count, ROUNDED_MM)
    believed = trusted & (off < max(5 * scatter, 0.4))
    counted = ~left_aside & ~near_corner
    return Rebuilt(
        ring=_plain(outline),
        scatter_mm=scatter,
        believed_share=float(believed[counted].mean()) if counted.any() else 0.0,
        longest_gap_mm=_longest(~believed & counted) * STEP_MM,
        corners=_sharp(places, curves),
        inner_corners=int((np.array(_turns(curves)) < -_SHARP_TURN).sum()) if corners else 0,
        step_mm=step_mm,
    )


@dataclass(frozen=True, kw_only=True)
class _Curve:
    """A run between corners: points inside it, and how it goes on beyond its ends as (point, direction) of lines."""

    inner: Array
    start: tuple[Array, Array]
    end: tuple[Array, Array]


def _spikes(edge: EdgeSamples, left_aside: Mask) -> Mask:
    """Points that lie off the local curve: the ends of ruled lines, print, threads."""
    offset = np.where(left_aside, np.nan, edge.offset)
    off = np.zeros(len(offset), dtype=bool)
    for half in (12, 6):
        kept = np.where(off, np.nan, offset)
        around = np.stack([np.roll(kept, shift) for shift in range(-half, half + 1)])
        with np.errstate(all="ignore"):
            level = np.nanmedian(np.where(np.isnan(around).all(axis=0), 0.0, around), axis=0)
        away = np.abs(offset - level)
        scatter = max(_LEAST_SCATTER_MM, 1.4826 * float(np.nanmedian(away)))
        off = np.nan_to_num(away, nan=0.0) > max(0.5, 2 * _SPIKE * scatter)
    return off


def _bridged(points: Array, trusted: Mask, notches: Sequence[Notch]) -> tuple[Array, Mask, list[int]]:
    """Points with those in the mouths of notches put where the edge would run, which those are, and where it turns in a mouth.

    The edge near a notch is taken for a parabola with a bend at the notch; both curvature and bend are as small as the points
    to both sides allow.
    """
    points, bridged, turned = points.copy(), np.zeros(len(points), dtype=bool), []
    for notch in notches:
        middle = int(np.argmin(np.hypot(*(points - notch.middle).T)))
        reach = round((notch.mouth / 2 + _BESIDE_NOTCH_MM) / STEP_MM)
        around = (middle + np.arange(-reach, reach + 1)) % len(points)
        seen = around[trusted[around]]
        along = direction(points[seen]) if len(seen) > 1 else np.array([1.0, 0.0])
        frame = np.stack([along, [-along[1], along[0]]], axis=-1)
        away = (points[seen] - notch.middle) @ frame
        if (away[:, 0] < 0).sum() < 4 or (away[:, 0] > 0).sum() < 4:
            continue
        terms = _bend(away[:, 0], away[:, 1])
        gap = around[near_notches(points[around], [notch])]
        at = np.linspace(-1, 1, len(gap)) * (notch.mouth / 2 + NEAR_NOTCH_MM)
        at -= at[np.argmin(np.abs(at))]
        points[gap] = notch.middle + np.stack([at, _bent_terms(at) @ terms], axis=-1) @ frame.T
        bridged[gap] = True
        if 2 * abs(terms[3]) > math.tan(_TURN_BESIDE_NOTCH):
            turned.append(int(gap[np.argmin(np.abs(at))]))
    return points, bridged, turned


def _bent_terms(at: Array) -> Array:
    return np.stack([np.ones_like(at), at, at * at, np.abs(at)], axis=-1)


def _bend(at: Array, height: Array) -> Array:
    """Level, slope, curvature and half the bend, with what is usual of the last two as if seen."""
    basis = np.concatenate([_bent_terms(at) / _LEAST_SCATTER_MM, np.diag([0, 0, *_USUAL_BEND])[2:]])
    seen = np.concatenate([height / _LEAST_SCATTER_MM, [0.0, 0.0]])
    weight: Array = np.ones(len(seen))
    terms: Array = np.zeros(4)
    for _ in range(5):
        terms = np.asarray(np.linalg.lstsq(basis * weight[:, None], seen * weight, rcond=None)[0], dtype=np.float64)
        off = np.abs(seen - basis @ terms)[: len(at)]
        weight[: len(at)] = 1 / np.sqrt(1 + (off / max(2.0, 2 * float(np.median(off)))) ** 2)
    return terms


def _corners(points: Array, trusted: Mask, turned: Sequence[int]) -> list[int]:
    """Indices at which the outline turns: those `turned` in notches, and maxima of the turn between both sides’ lines."""
    count = len(points)
    leg = round(LEG_MM / STEP_MM)
    found = list(turned)
    turns = np.abs(turns_of(points, trusted))
    for index in np.argsort(-turns):
        if turns[index] < _TURN:
            break
        if all(min((index - other) % count, (other - index) % count) > leg for other in found):
            found.append(int(index))
    return sorted(found)


def _turn(one: Array, two: Array) -> float:
    return math.atan2(float(one[0] * two[1] - one[1] * two[0]), float(one @ two))


def _runs(corners: list[int], count: int) -> list[Indices]:
    if not corners:
        return [np.arange(count)]
    ends = [*corners[1:], corners[0] + count]
    return [np.arange(start, end + 1) % count for start, end in zip(corners, ends, strict=True)]


def _near(corners: list[int], count: int, distance: float) -> Mask:
    near = np.zeros(count, dtype=bool)
    reach = round(distance / STEP_MM)
    for corner in corners:
        near[(corner + np.arange(-reach, reach + 1)) % count] = True
    return near


def _curve(points: Array, trusted: Mask, run: Indices) -> _Curve:
    """One run smoothed: a line where it is one, else local parabolas, without what lies off them."""
    shy = round(ROUNDED_MM / STEP_MM)
    closed = len(run) == len(points)
    inner = run if closed or len(run) <= 2 * shy + 3 else run[shy:-shy]
    kept = inner[trusted[inner]]
    if len(kept) < 4:
        kept = inner
    if closed:
        return _Curve(inner=_round(points, kept), start=_end(points[kept][:8]), end=_end(points[kept][-8:]))
    line = _line(points[kept])
    if line is not None:
        middle, along = line
        reach = (points[kept] - middle) @ along
        ends = middle + np.array([[reach.min()], [reach.max()]]) * along
        return _Curve(inner=ends, start=(ends[0], along), end=(ends[1], along))
    smooth, slopes = _smoothed(points[kept])
    return _Curve(inner=smooth, start=(smooth[0], slopes[0]), end=(smooth[-1], slopes[-1]))


def _end(points: Array) -> tuple[Array, Array]:
    return points.mean(axis=0), direction(points)


def _line(points: Array) -> tuple[Array, Array] | None:
    """Middle and direction of the line through points, or None where they bend away from it."""
    kept = np.ones(len(points), dtype=bool)
    for _ in range(3):
        middle = points[kept].mean(axis=0)
        along = direction(points[kept])
        across = (points - middle) @ np.array([-along[1], along[0]])
        scatter = max(_LEAST_SCATTER_MM, 1.4826 * float(np.median(np.abs(across[kept]))))
        kept = np.abs(across) < _SPIKE * scatter
        if kept.sum() < 3:
            return None
    # A bend shows in means over long stretches, which scatter less than single points.
    stretches = [part.mean() for part in np.array_split(across, max(3, len(across) // 10))]
    if scatter > 5 * _STRAIGHT_MM or max(np.abs(stretches)) > _STRAIGHT_MM:
        return None
    return middle, along


def _smoothed(points: Array) -> tuple[Array, Array]:
    """Points moved onto local parabolas through their neighbours, and directions there; an open run."""
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    # Near an end a window reaches farther to both sides.
    reach = _WINDOW_MM + np.maximum(0.0, np.maximum(_WINDOW_MM - away, away + _WINDOW_MM - away[-1]))
    low, high = np.searchsorted(away, away - reach), np.searchsorted(away, away + reach)
    window = low[:, None] + np.arange((high - low).max())
    inside = window < high[:, None]
    window = np.minimum(window, len(points) - 1)
    return _parabolas(points[window], away[window] - away[:, None], inside)


def _round(points: Array, kept: Indices) -> Array:
    """A closed run without corners, smoothed."""
    more = min(len(kept), round(3 * _WINDOW_MM / STEP_MM))
    around = np.concatenate([kept[-more:], kept, kept[:more]])
    return _smoothed(points[around])[0][more : more + len(kept)]


def _parabolas(points: Array, away: Array, inside: Mask) -> tuple[Array, Array]:
    """Of each row of points (N, W, 2), so far `away` (N, W) along it: the point at 0 and the direction there of the parabola that
    fits those `inside` best, without points far off it; of a line where they are few."""
    basis = np.stack([np.ones_like(away), away, away * away / _WINDOW_MM], axis=-1) * inside[..., None]
    basis[inside.sum(axis=1) < 6, :, 2] = 0.0
    chord = directions(points, inside)
    across = np.stack([-chord[:, 1], chord[:, 0]], axis=-1)[..., None]
    weight = inside.astype(np.float64)
    for _ in range(3):
        weighted = np.swapaxes(basis * weight[..., None], 1, 2)
        # A term that nothing tells stays at nothing.
        terms = np.linalg.solve(weighted @ basis + 1e-9 * np.eye(3), weighted @ points)
        off = np.abs(((points - basis @ terms) @ across)[..., 0])
        scatter = np.maximum(_LEAST_SCATTER_MM, 1.4826 * _median(off, inside))
        weight = inside / (1 + (off / (2 * scatter[:, None])) ** 2)
    slope = terms[:, 1]
    return terms[:, 0], slope / np.maximum(np.hypot(*slope.T), 1e-9)[:, None]


def _median(values: Array, counted: Mask) -> Array:
    """The median of those of each row that are counted; at least one is."""
    ordered = np.sort(np.where(counted, values, np.inf), axis=1)
    rows, count = np.arange(len(values)), counted.sum(axis=1)
    return np.asarray((ordered[rows, (count - 1) // 2] + ordered[rows, count // 2]) / 2)


def _meet(one: _Curve, two: _Curve, near: Array) -> Array:
    """Where two runs meet when each goes on straight; the middle between their ends where that is far away."""
    (p, d), (q, e) = one.end, two.start
    cross = float(d[0] * e[1] - d[1] * e[0])
    if abs(cross) > 0.05:
        gap = q - p
        place = p + d * float(gap[0] * e[1] - gap[1] * e[0]) / cross
        if math.dist(place, near) < 6.0:
            return np.asarray(place)
    return np.asarray((p + q) / 2)


def _turns(curves: list[_Curve]) -> list[float]:
    """How far the outline turns after each run, radians, inward below 0."""
    return [_turn(curve.end[1], after.start[1]) for curve, after in zip(curves, curves[1:] + curves[:1], strict=True)]


def _sharp(places: list[Array], curves: list[_Curve]) -> Array:
    kept = [place for place, turn in zip(places, _turns(curves), strict=False) if turn > _SHARP_TURN]
    return np.array(kept).reshape(-1, 2)


def _distance(outline: Array, points: Array) -> Array:
    return np.asarray(shapely.distance(LinearRing(outline), shapely.points(points)))


def _longest(mask: Mask) -> int:
    """The longest run of True round a ring."""
    if mask.all():
        return len(mask)
    start = int(np.argmin(mask))
    longest = length = 0
    for value in np.roll(mask, -start):
        length = length + 1 if value else 0
        longest = max(longest, length)
    return longest


def _plain(outline: Array) -> Array:
    """The outline without points that say nothing."""
    area = Polygon(outline)
    if not area.is_valid:
        area = area.buffer(0)
        area = max(getattr(area, "geoms", [area]), key=lambda part: part.area)
    return np.asarray(shapely.get_coordinates(area.exterior.simplify(_SAME_MM))[:-1], dtype=np.float64)
