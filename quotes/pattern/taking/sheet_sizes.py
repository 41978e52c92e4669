"""Sizes nested in one drawing that it names: by layers, by a legend (a word beside a sample of a line), by words along lines.

Sizes without names, told apart by their outlines alone, are those of `sizes`.
"""

import statistics
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from shapely import Point as Place

from inventory.ground.findings import refuse
from quotes.pattern.geometry import as_line, as_polygon, length_mm
from quotes.pattern.sheet import Label, Sheet, Stroke
from quotes.pattern.taking.size_words import in_order, size_in, size_of, without_size

__all__ = ["of_size", "sizes_of"]

_NEAR_HEIGHTS = 3.0
"""A word belongs to a line within three heights of its letters."""
_SHARED_SHARE = 0.4
"""Boxes round the same panel in two sizes share at least this of what both cover."""
_MOST_OUTLINES = 1000
"""Drawings with more closed outlines are not searched for sizes in one style, which takes the square of their number."""

Style = tuple[str, tuple[float, ...], float]
Box = tuple[tuple[float, float], tuple[float, float]]
"""Lowest and highest corner."""


@dataclass(frozen=True, slots=True)
class _Nest:
    """Names smallest first; the size of strokes and words by their positions, none for what belongs to all.

    `samples` and `naming` are the strokes and words that only say what a size is called.
    """

    names: tuple[str, ...]
    strokes: Mapping[int, str]
    samples: frozenset[int] = frozenset()
    naming: frozenset[int] = frozenset()
    words: Mapping[int, str] = field(default_factory=dict)


def sizes_of(sheet: Sheet) -> tuple[str, ...]:
    """Return the names of the sizes nested in a drawing, smallest first; empty where it names none."""
    nest = _nest(sheet)
    return nest.names if nest else ()


def of_size(sheet: Sheet, size: str) -> Sheet:
    """Return what a drawing shows of one size: its own lines, and those that belong to none.

    Words that name sizes, and the legend, are left out.

    Args:
        size: one of `sizes_of`, written as the maker likes ("10", "Size 10"); empty for a drawing of one size.

    Raises:
        Refused: several sizes and none is said, or one that is not there.
    """
    nest = _nest(sheet)
    names = nest.names if nest else ()
    if not names:
        if not size.strip():
            return sheet
        raise refuse("pattern.no-sizes", "file", "The drawing shows one size only.", "Leave --size out.")
    wanted = size.strip()
    if not wanted:
        raise refuse(
            "pattern.several-sizes",
            "file",
            f"{len(names)} sizes lie in each other: {', '.join(names)}.",
            f"Say which with --size, for instance --size {_quoted(names[0])}.",
        )
    same = {name.casefold(): name for name in names}
    name = same.get(wanted.casefold()) or same.get((size_of(wanted) or "").casefold())
    if nest is None or name is None:
        raise refuse(
            "pattern.unknown-size",
            "--size",
            f"{wanted[:40]!r} is none of the sizes of this drawing: {', '.join(names)}.",
            f"Say one of them, for instance --size {_quoted(names[0])}.",
        )
    return replace(
        sheet,
        strokes=tuple(
            replace(stroke, layers=without_size(stroke.layers, name))
            for at, stroke in enumerate(sheet.strokes)
            if at not in nest.samples and nest.strokes.get(at, name) == name
        ),
        labels=tuple(
            replace(label, layers=without_size(label.layers, name))
            for at, label in enumerate(sheet.labels)
            if at not in nest.naming and nest.words.get(at, name) == name
        ),
    )


def _quoted(name: str) -> str:
    return f'"{name}"' if " " in name else name


def _nest(sheet: Sheet) -> _Nest | None:
    """What the drawing says of its sizes, by the clearest of its ways of saying it."""
    return _by_layers(sheet) or _by_words(sheet) or _by_rank(sheet)


def _layer_size(layers: Sequence[str]) -> str | None:
    return next((size for name in reversed(layers) if (size := size_of(name) or size_in(name))), None)


def _by_layers(sheet: Sheet) -> _Nest | None:
    """Layers called by sizes; where they bear nothing but a number or letter, only if they lie over each other."""
    found = {at: size for at, stroke in enumerate(sheet.strokes) if (size := _layer_size(stroke.layers))}
    names = set(found.values())
    if len(names) < 2:
        return None
    are_worded = all(
        any(size_in(name) for name in sheet.strokes[at].layers)
        for at in {size: at for at, size in found.items()}.values()
    )
    if not are_worded and not _share_their_place([_box(sheet, found, name) for name in names]):
        return None
    words = {at: size for at, label in enumerate(sheet.labels) if (size := _layer_size(label.layers)) in names}
    return _Nest(in_order(names, _lengths(sheet, found)), found, naming=_naming(sheet, names), words=words)


def _by_words(sheet: Sheet) -> _Nest | None:
    """Styles named by words: beside a sample of the line, or along the line itself."""
    named: dict[Style, Counter[str]] = defaultdict(Counter)
    samples: set[int] = set()
    said: set[int] = set()
    alone: list[tuple[int, str, int]] = []
    boxes = [_corners(stroke.line) for stroke in sheet.strokes]
    for at, label in enumerate(sheet.labels):
        worded = size_in(label.text)
        size = worded or size_of(label.text)
        if size is None:
            continue
        nearest = _beside(sheet, boxes, label)
        if nearest is None:
            continue
        if worded:
            named[_style(sheet.strokes[nearest])][size] += 1
            said.add(at)
            if _is_sample(sheet.strokes[nearest]):
                samples.add(nearest)
        elif _is_sample(sheet.strokes[nearest]):
            alone.append((at, size, nearest))
    # A bare number inside a panel is the panel's; one beside a sample in a column of them is a size.
    for at, size, nearest in _legend(sheet, alone):
        named[_style(sheet.strokes[nearest])][size] += 1
        samples.add(nearest)
        said.add(at)
    sizes = {style: names.most_common(1)[0][0] for style, names in named.items()}
    found = {
        at: sizes[style]
        for at, stroke in enumerate(sheet.strokes)
        if at not in samples and (style := _style(stroke)) in sizes
    }
    # Where some sizes have closed lines alone, open ones in the style of another are waists and grains of all.
    if any(all(sheet.strokes[at].is_closed for at, name in found.items() if name == size) for size in sizes.values()):
        found = {at: name for at, name in found.items() if sheet.strokes[at].is_closed}
    names = set(found.values())
    if len(names) < 2 or len(set(sizes.values())) < len(sizes):
        return None
    return _Nest(
        in_order(names, _lengths(sheet, found)), found, frozenset(samples), frozenset(said) | _naming(sheet, names)
    )


def _by_rank(sheet: Sheet) -> _Nest | None:
    """Lines of one style that words name: in each panel as many outlines as there are names, larger ones for larger sizes."""
    names = {size for label in sheet.labels if (size := size_in(label.text))}
    if len(names) < 2:
        return None
    groups = _heaps(sheet)
    if not groups or any(len(group) != len(names) for group in groups):
        return None
    ordered = in_order(names, {})
    found = {at: name for group in groups for at, name in zip(group, ordered, strict=True)}
    return _Nest(ordered, found, naming=_naming(sheet, names))


def _style(stroke: Stroke) -> Style:
    return stroke.colour, tuple(round(part, 2) for part in stroke.dash), round(stroke.width or 0.0, 2)


def _beside(sheet: Sheet, boxes: Sequence[Box], label: Label) -> int | None:
    """The line that a word stands beside: its sample to the left or right on the same height, else the nearest."""
    reach = _NEAR_HEIGHTS * (label.height or _usual_height(sheet))
    half = len(label.text) * 0.35 * reach / _NEAR_HEIGHTS
    x, y = label.at
    best: tuple[float, int] | None = None
    for at, (stroke, ((left, bottom), (right, top))) in enumerate(zip(sheet.strokes, boxes, strict=True)):
        if not (left - reach - half <= x <= right + reach + half and bottom - reach <= y <= top + reach):
            continue
        gap = as_line((*stroke.line, *stroke.line[:1]) if stroke.is_closed else stroke.line).distance(Place(x, y))
        gap = max(gap - half, 0.0) if _is_sample(stroke) and abs(y - (bottom + top) / 2) < reach / 3 else gap
        if gap <= reach and (best is None or gap < best[0]):
            best = (gap, at)
    return best[1] if best else None


def _is_sample(stroke: Stroke) -> bool:
    """Tell whether a stroke may be a legend's: level and straight."""
    return not stroke.is_closed and max(y for _, y in stroke.line) - min(y for _, y in stroke.line) < 1e-3 * max(
        length_mm(stroke.line), 1e-9
    )


def _legend(sheet: Sheet, said: Sequence[tuple[int, str, int]]) -> list[tuple[int, str, int]]:
    """Those words and samples that stand in a column of two or more, each sample as long and of another style."""
    columns: dict[tuple[float, float], list[tuple[int, str, int]]] = defaultdict(list)
    for entry in said:
        (left, _), (right, _) = _corners(sheet.strokes[entry[2]].line)
        near = 0.1 * (right - left)
        key = next((ends for ends in columns if abs(ends[0] - left) < near and abs(ends[1] - right) < near), None)
        columns[key or (left, right)].append(entry)
    return [
        entry
        for column in columns.values()
        if len({_style(sheet.strokes[nearest]) for _, _, nearest in column}) == len(column) > 1
        for entry in column
    ]


def _usual_height(sheet: Sheet) -> float:
    heights = [label.height for label in sheet.labels if label.height]
    return statistics.median(heights) if heights else 0.0


def _naming(sheet: Sheet, names: Iterable[str]) -> frozenset[int]:
    """The words that name sizes outright, wherever they stand."""
    known = set(names)
    return frozenset(at for at, label in enumerate(sheet.labels) if size_in(label.text, alone=True) in known)


def _lengths(sheet: Sheet, found: Mapping[int, str]) -> dict[str, float]:
    lengths: dict[str, float] = defaultdict(float)
    for at, name in found.items():
        lengths[name] += length_mm(sheet.strokes[at].line)
    return lengths


def _corners(line: Sequence[tuple[float, float]]) -> Box:
    xs, ys = zip(*line, strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))


def _box(sheet: Sheet, found: Mapping[int, str], name: str) -> Box:
    return _corners(
        [point for at, stroke in enumerate(sheet.strokes) if found.get(at) == name for point in stroke.line]
    )


def _share_their_place(boxes: Sequence[Box]) -> bool:
    """Tell whether each box lies much where the first does."""
    return all(_shared(boxes[0], box) >= _SHARED_SHARE for box in boxes[1:])


def _shared(one: Box, other: Box) -> float:
    """What two boxes share, of what both cover: 1 for the same box, 0 for boxes apart."""
    both = _extent(
        (max(one[0][0], other[0][0]), max(one[0][1], other[0][1])),
        (min(one[1][0], other[1][0]), min(one[1][1], other[1][1])),
    )
    whole = _extent(*one) + _extent(*other) - both
    return both / whole if whole else 0.0


def _extent(low: tuple[float, float], high: tuple[float, float]) -> float:
    return max(high[0] - low[0], 0.0) * max(high[1] - low[1], 0.0)


def _heaps(sheet: Sheet) -> list[list[int]]:
    """Closed outlines that lie over each other, a heap a panel, smallest outline first."""
    heaps: list[list[int]] = []
    boxes = {
        at: _corners(stroke.line)
        for at, stroke in enumerate(sheet.strokes)
        if stroke.is_closed and len(stroke.line) > 3
    }
    if len(boxes) > _MOST_OUTLINES:
        return []
    for at in sorted(boxes, key=lambda at: -_extent(*boxes[at])):
        heap = next((heap for heap in heaps if _shared(boxes[heap[0]], boxes[at]) >= _SHARED_SHARE), None)
        if heap is None:
            heaps.append([at])
        else:
            heap.append(at)
    return [sorted(heap, key=lambda at: as_polygon(sheet.strokes[at].line).area) for heap in heaps]
