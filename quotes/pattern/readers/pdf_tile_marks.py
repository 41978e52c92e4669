"""What is printed alike on the pages of a tiled drawing, and the cells that it marks: frames, crosses, corners."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from quotes.pattern.geometry import Polyline, length_mm
from quotes.pattern.readers.pdf_path import Box, bounds_of
from quotes.pattern.readers.pdf_tile_overlaps import overlapping_cells
from quotes.pattern.sheet import Label, Stroke

__all__ = ["Tile", "cells_of", "label_key", "printed_alike", "same_look", "words_alike"]

_MARK_MM = 40.0
"""A stroke no longer than this may be a mark."""
_SHARE_OF_PAGES = 0.75
_SHARE_AT_RIMS = 0.4
"""Marks and glue lines may lack on pages at the rim of the drawing."""
_CELL_SHARE = 0.5
"""A cell is at least half as wide and high as its page."""
_SAME_MM = 0.15
_ONE_PLACE_MM = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A page with what it draws, in mm from its lower left corner; `number` is its place in the file, from 1."""

    number: int
    width_mm: float
    height_mm: float
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]


def printed_alike(tiles: Sequence[Tile]) -> list[frozenset[int]]:
    """Return for each page the positions of its strokes that others repeat in the same place: frames, marks and glue lines.

    The drawing's own straight lines may run through several pages in one place too; they look like its other lines.
    """
    drawn = sum(1 for tile in tiles if tile.strokes)
    alike: list[set[int]] = [set() for _ in tiles]
    doubtful: list[dict[int, list[int]]] = []
    for pages in _in_one_place(tiles):
        page = next(iter(pages))
        stroke = tiles[page].strokes[pages[page][0]]
        if len(pages) < max(2, _SHARE_AT_RIMS * drawn) or not (_is_mark(stroke) or _is_frame_line(stroke, tiles[page])):
            continue
        if length_mm(stroke.line) > _MARK_MM and len(pages) < _SHARE_OF_PAGES * drawn:
            doubtful.append(pages)
            continue
        for at, found in pages.items():
            alike[at].update(found)
    own = {
        same_look(stroke)
        for at, tile in enumerate(tiles)
        for index, stroke in enumerate(tile.strokes)
        if index not in alike[at] and not any(index in pages.get(at, ()) for pages in doubtful)
    }
    for pages in doubtful:
        for at, found in pages.items():
            alike[at].update(index for index in found if same_look(tiles[at].strokes[index]) not in own)
    return [frozenset(found) for found in alike]


def words_alike(tiles: Sequence[Tile]) -> frozenset[tuple[str, int, int]]:
    """Return texts, with their places, that half the pages repeat: titles, rights, the kind of paper."""
    seen: dict[tuple[str, int, int], int] = defaultdict(int)
    drawn = sum(1 for tile in tiles if tile.strokes)
    for tile in tiles:
        for key in {label_key(label) for label in tile.labels}:
            seen[key] += 1
    return frozenset(key for key, count in seen.items() if count >= max(2, 0.5 * drawn))


def label_key(label: Label) -> tuple[str, int, int]:
    """Return a text with its place, near enough to be the same on another page."""
    return label.text, round(label.at[0]), round(label.at[1])


def cells_of(tiles: Sequence[Tile], alike: Sequence[frozenset[int]]) -> tuple[Box, ...]:
    """Return what may be the cell that each page fills, the best marked first: frames, marks, what lines leave free."""
    frames: list[Box] = []
    marks: list[Stroke] = []
    sides: list[Stroke] = []
    for tile, found in zip(tiles, alike, strict=True):
        for index in found:
            stroke = tile.strokes[index]
            box = bounds_of(stroke.line)
            if box[2] - box[0] > _CELL_SHARE * tile.width_mm and box[3] - box[1] > _CELL_SHARE * tile.height_mm:
                frames.append(box)
            elif _is_mark(stroke):
                marks.append(stroke)
            else:
                sides.append(stroke)
    page = (0.0, 0.0, tiles[0].width_mm, tiles[0].height_mm)
    frames.sort(key=lambda box: box[0] - box[2])
    candidates = [
        *frames,
        *([_around(side.line for side in sides)] if sides else []),
        *_marked(marks, tiles[0]),
    ]
    lines = _widened(_extent_of(tiles, alike), page)
    own = [own_lines(tile, found) for tile, found in zip(tiles, alike, strict=True)]
    # What lines leave free to one side is still of the cell that a frame marks.
    overlaps = [cell for window in dict.fromkeys((*frames[:1], lines)) for cell in overlapping_cells(own, window)]
    candidates += [lines, *overlaps, page]
    return tuple(dict.fromkeys(_rounded(box) for box in candidates if _is_cell(box, tiles[0])))


def _widened(lines: Box, page: Box) -> Box:
    """The box round all lines; as wide or high as the page where they fill too little of it to show a cell's sides."""
    is_wide, is_high = (lines[axis + 2] - lines[axis] > _CELL_SHARE * page[axis + 2] for axis in (0, 1))
    left, right = (lines[0], lines[2]) if is_wide else (page[0], page[2])
    bottom, top = (lines[1], lines[3]) if is_high else (page[1], page[3])
    return left, bottom, right, top


def _extent_of(tiles: Sequence[Tile], alike: Sequence[frozenset[int]]) -> Box:
    """Return the box round all lines of the drawing itself, as they lie on their pages."""
    return _around(line for tile, found in zip(tiles, alike, strict=True) for line in own_lines(tile, found))


def own_lines(tile: Tile, alike: frozenset[int]) -> list[Polyline]:
    """Return a page's lines without what all pages repeat, rings with their first point once more at their end."""
    return [
        (*stroke.line, stroke.line[0]) if stroke.is_closed else stroke.line
        for index, stroke in enumerate(tile.strokes)
        if index not in alike
    ]


def _marked(marks: Sequence[Stroke], tile: Tile) -> list[Box]:
    """Boxes through the middles of marks, and along their outer and inner ends."""
    if not marks:
        return []
    boxes = [bounds_of(mark.line) for mark in marks]
    # A corner of two legs marks where they meet.
    middles = [
        mark.line[1] if len(mark.line) == 3 and not mark.is_closed else ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        for mark, box in zip(marks, boxes, strict=True)
    ]
    outer = _around([mark.line for mark in marks])
    x, y = (outer[0] + outer[2]) / 2, (outer[1] + outer[3]) / 2
    inner = (
        max((box[2] for box in boxes if box[2] < x), default=outer[0]),
        max((box[3] for box in boxes if box[3] < y), default=outer[1]),
        min((box[0] for box in boxes if box[0] > x), default=outer[2]),
        min((box[1] for box in boxes if box[1] > y), default=outer[3]),
    )
    return [_around([middles]), outer, inner]


def _in_one_place(tiles: Sequence[Tile]) -> list[dict[int, list[int]]]:
    """Strokes that lie in one place of their pages, by page; programs place them a little differently on each."""
    found: list[dict[int, list[int]]] = []
    known: dict[tuple[object, ...], list[tuple[Box, dict[int, list[int]]]]] = defaultdict(list)
    for at, tile in enumerate(tiles):
        for index, stroke in enumerate(tile.strokes):
            box = bounds_of(stroke.line)
            x, y = round(box[0]), round(box[1])
            look = (stroke.is_closed, *same_look(stroke))
            near = (
                pages
                for dx in (0, -1, 1)
                for dy in (0, -1, 1)
                for other, pages in known[(*look, x + dx, y + dy)]
                if max(abs(one - two) for one, two in zip(box, other, strict=True)) <= _ONE_PLACE_MM
            )
            pages = next(near, None)
            if pages is None:
                pages = defaultdict(list)
                known[(*look, x, y)].append((box, pages))
                found.append(pages)
            pages[at].append(index)
    return found


def same_look(stroke: Stroke) -> tuple[object, ...]:
    """Return what halves of one line have in common."""
    return stroke.colour, stroke.dash, stroke.width, stroke.layers


def _is_mark(stroke: Stroke) -> bool:
    return stroke.is_closed or length_mm(stroke.line) <= _MARK_MM


def _is_frame_line(stroke: Stroke, tile: Tile) -> bool:
    """Tell whether an open stroke may be a side of a frame: level or upright, in the outer quarter of the page."""
    left, bottom, right, top = bounds_of(stroke.line)
    if right - left < _SAME_MM:
        return min(left, tile.width_mm - left) < tile.width_mm / 8
    if top - bottom < _SAME_MM:
        return min(bottom, tile.height_mm - bottom) < tile.height_mm / 8
    return (
        right - left > _CELL_SHARE * tile.width_mm
        and top - bottom > _CELL_SHARE * tile.height_mm
        and len(stroke.line) > 3
    )


def _is_cell(box: Box, tile: Tile) -> bool:
    return box[2] - box[0] > _CELL_SHARE * tile.width_mm and box[3] - box[1] > _CELL_SHARE * tile.height_mm


def _around(lines: Iterable[Sequence[tuple[float, float]]]) -> Box:
    boxes = [bounds_of(line) for line in lines]
    if not boxes:
        return (0.0, 0.0, 0.0, 0.0)
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def _rounded(box: Box) -> Box:
    left, bottom, right, top = (round(edge, 3) for edge in box)
    return left, bottom, right, top
