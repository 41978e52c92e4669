"""How far tiled pages without marks overlap: what two pages draw alike at their opposite borders votes for it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from quotes.pattern.geometry import Polyline
from quotes.pattern.readers.pdf_path import Box

__all__ = ["overlapping_cells"]

_MOST_MM = 45.0
"""Pages overlap by no more."""
_SAME_MM = 0.1
_SAME_SLOPE = 0.002
_LEAST_SLOPE = 0.02
_LIKELIEST = 4
_MOST_SEGMENTS = 400

Segments = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""A row a segment: x0, y0, x1, y1."""


def overlapping_cells(pages: Sequence[Sequence[Polyline]], window: Box) -> list[Box]:
    """Return cells smaller than what pages show, by as much as pages seem to overlap beside and below each other."""
    segments = [_segments(lines) for lines in pages]
    widths = _likely(_steps(segments, window, 0), window[2] - window[0])
    heights = _likely(_steps(segments, window, 1), window[3] - window[1])
    whole = (window[2] - window[0], window[3] - window[1])
    return [
        (window[0], window[1], window[0] + width, window[1] + height)
        for width in (*widths, whole[0])
        for height in (*heights, whole[1])
        if (width, height) != whole
    ]


def _segments(lines: Iterable[Polyline]) -> Segments:
    arrays = [np.array(line) for line in lines]
    joined = [np.hstack((array[:-1], array[1:])) for array in arrays]
    return np.vstack(joined) if joined else np.empty((0, 4))


def _likely(steps: Iterable[float], whole: float) -> list[float]:
    votes: dict[int, list[float]] = defaultdict(list)
    for step in steps:
        if whole - _MOST_MM <= step < whole - _SAME_MM:
            votes[round(step * 2)].append(step)
    best = sorted(votes.values(), key=lambda found: -len(found))[:_LIKELIEST]
    return [float(np.median(found)) for found in best]


def _steps(pages: Sequence[Segments], window: Box, axis: int) -> Iterator[float]:
    """By how much a page seems to lie beyond another along an axis, once for each thing that says so."""
    low, high = window[axis], window[axis + 2]
    ends = [_near(page, axis, high - _MOST_MM, high) for page in pages]
    begins = [_near(page, axis, low, low + _MOST_MM) for page in pages]
    for at, one in enumerate(ends):
        for index, other in enumerate(begins):
            if index != at and len(one) and len(other):
                yield from _of_whole_segments(one, other, axis)
                yield from _of_straight_lines(one, other, axis, low, high)


def _near(page: Segments, axis: int, low: float, high: float) -> Segments:
    values = page[:, [axis, axis + 2]]
    near = (values.max(axis=1) >= low) & (values.min(axis=1) <= high)
    return np.compress(near, page, axis=0)[:_MOST_SEGMENTS]


def _of_whole_segments(one: Segments, other: Segments, axis: int) -> Iterator[float]:
    """Segments of the same length and direction on the same height."""
    vectors, others = one[:, 2:] - one[:, :2], other[:, 2:] - other[:, :2]
    alike = np.abs(vectors[:, None] - others[None]).max(axis=2) < 1e-3
    level = np.abs(one[:, None, 1 - axis] - other[None, :, 1 - axis]) < _SAME_MM
    yield from (one[:, None, axis] - other[None, :, axis])[alike & level]


def _of_straight_lines(one: Segments, other: Segments, axis: int, low: float, high: float) -> Iterator[float]:
    """Straight lines that leave the window on one page and come in on the other: the step that makes them one line."""
    leaving, coming = _through(one, axis, high), _through(other, axis, low)
    slopes = leaving[:, None, 1]
    alike = (np.abs(slopes - coming[None, :, 1]) < _SAME_SLOPE) & (np.abs(slopes) > _LEAST_SLOPE)
    step = (high - low) - (leaving[:, None, 0] - coming[None, :, 0]) / np.where(slopes == 0, np.inf, slopes)
    yield from step[alike]


def _through(page: Segments, axis: int, edge: float) -> Segments:
    """Where segments that end at an edge of the window meet it, and their slopes against the axis."""
    along = page[:, axis + 2] - page[:, axis]
    ends = np.minimum(np.abs(page[:, axis] - edge), np.abs(page[:, axis + 2] - edge)) < _SAME_MM
    page, along = page[ends & (np.abs(along) > _SAME_MM)], along[ends & (np.abs(along) > _SAME_MM)]
    slopes = (page[:, 3 - axis] - page[:, 1 - axis]) / along
    return np.column_stack((page[:, 1 - axis] + (edge - page[:, axis]) * slopes, slopes))
