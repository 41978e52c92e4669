"""Pages to one sheet: tiles of a large drawing put together, drawings of their own laid beside each other.

Whether pages are tiles is said by lines that run to their borders. Places come from what the pages say of themselves or
their order; where a page's cell ends, from frames and marks; lines that go on beyond a border judge both.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from inventory.ground.findings import Finding, Refused, note, refuse, stop, stops, warn
from quotes.pattern.readers.pdf_path import Clip, clipped
from quotes.pattern.readers.pdf_tile_joining import cell_seen, joined_strokes, moved_by
from quotes.pattern.readers.pdf_tile_labels import Naming, is_direction, namings_of, place_words
from quotes.pattern.readers.pdf_tile_layout import (
    SIDES,
    Join,
    Layout,
    Meeting,
    best_layout,
    crossings_of,
    joins_of,
    name_at,
    neighbour_of,
)
from quotes.pattern.readers.pdf_tile_marks import Tile, cells_of, label_key, printed_alike, words_alike
from quotes.pattern.sheet import Label, Stroke

__all__ = ["Tile", "Together", "put_together"]

WARN_MM = 1.0
STOP_MM = 3.0
"""How far halves of a line may lie apart at a border."""
_FITS_SHARE = 0.6
"""Pages without places of their own are tiles where at least this much of what meets borders goes on beyond them."""
_SAID_FITS_SHARE = 0.2
_BESIDE_MM = 50.0
_MARGIN_MM = 15.0
_SAME_WORD_MM = 1.0
_SEVERAL = 3
_MORE_JOINS = 40
_MISFIT = "pdf.tile-misfit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """What pages come to, in mm, y upwards."""

    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    findings: tuple[Finding, ...] = ()


def put_together(tiles: Sequence[Tile]) -> Together:
    """Return all pages as one drawing.

    Raises:
        Refused: a page is missing, lines don't meet at a border, or it cannot be told how the pages lie.
    """
    if len(tiles) == 1:
        return Together(strokes=tiles[0].strokes, labels=tiles[0].labels)
    tiles = [_within_its_page(tile) for tile in tiles]
    alike = printed_alike(tiles)
    namings = namings_of([tile.labels for tile in tiles], sum(1 for tile in tiles if tile.strokes))
    layout = best_layout(tiles, alike, cells_of(tiles, alike), namings)
    if layout is None:
        return _beside([tile for tile in tiles if tile.strokes], namings)
    if layout.share < (_SAID_FITS_SHARE if layout.naming else _FITS_SHARE):
        missing = _missing_of_count(namings)
        raise Refused([missing]) if missing else _unclear()
    return _joined(tiles, alike, layout)


def _unclear() -> Refused:
    return refuse(
        "pdf.tiles-unclear",
        "file",
        "Lines run to the borders of the pages and don't all go on: a page is missing, or lies where it cannot be told.",
        "Save the drawing on one large page, or write a place on each page, such as A1, A2, B1.",
    )


def _within_its_page(tile: Tile) -> Tile:
    """A page with its lines cut at its borders, as paper does."""
    page = Clip((0.0, 0.0, tile.width_mm, tile.height_mm))
    strokes = [
        replace(stroke, line=line, is_closed=is_closed)
        for stroke in tile.strokes
        for line, is_closed in clipped(stroke.line, stroke.is_closed, page)
    ]
    return replace(tile, strokes=tuple(strokes))


def _beside(tiles: Sequence[Tile], namings: Sequence[Naming]) -> Together:
    """Pages as drawings of their own, left to right in the order of the file."""
    strokes: list[Stroke] = []
    labels: list[Label] = []
    x = 0.0
    for tile in tiles:
        strokes += [replace(stroke, line=tuple((px + x, py) for px, py in stroke.line)) for stroke in tile.strokes]
        labels += [
            replace(label, at=(label.at[0] + x, label.at[1]))
            for label in tile.labels
            if not (namings and place_words(label.text))
        ]
        x += tile.width_mm + _BESIDE_MM
    told = note(
        "pdf.pages-beside",
        "file",
        f"No line runs from page to page, so the {len(tiles)} pages are taken for drawings of their own.",
    )
    return Together(strokes=tuple(strokes), labels=tuple(labels), findings=(told,))


def _joined(tiles: Sequence[Tile], alike: Sequence[frozenset[int]], layout: Layout) -> Together:
    meeting = [crossings_of(tile, found, layout.cell) for tile, found in zip(tiles, alike, strict=True)]
    joins = joins_of(layout.places, meeting)
    findings = [*(_missing(tiles, layout, meeting) or _misfits(tiles, layout, joins)), *_left_out(tiles, layout)]
    refused = stops(findings)
    if refused:
        raise (
            _unclear()
            if layout.naming is None and any(found.code != _MISFIT for found in refused)
            else Refused(findings)
        )
    told = note("pdf.tiles", "file", _told(tiles, layout, joins))
    return Together(
        strokes=joined_strokes(tiles, alike, layout),
        labels=_labels(tiles, layout),
        findings=(told, *findings),
    )


def _name(tiles: Sequence[Tile], layout: Layout, at: int) -> str:
    """What a page is called in messages: as it calls itself, else by its number in the file."""
    if layout.naming is None:
        return f"page {tiles[at].number}"
    said = layout.naming.said(layout.naming.places[at])
    return f"page {said}" if layout.naming.kind == "count" else said


def _told(tiles: Sequence[Tile], layout: Layout, joins: Sequence[Join]) -> str:
    columns = max(column for column, _ in layout.places.values()) + 1
    rows = max(row for _, row in layout.places.values()) + 1
    met = [join for join in joins if join.apart_mm]
    each = ", ".join(
        f"{_name(tiles, layout, join.first)} and {_name(tiles, layout, join.second)} {_misfit(join):.1f} mm"
        for join in met[:_MORE_JOINS]
    )
    more = f" and {len(met) - _MORE_JOINS} more" if len(met) > _MORE_JOINS else ""
    return (
        f"{len(layout.places)} pages were put together, {columns} beside and {rows} below each other; "
        f"their lines meet within: {each}{more}."
    )


def _missing_of_count(namings: Sequence[Naming]) -> Finding | None:
    """That pages which count themselves lack one between others."""
    for naming in namings:
        if naming.kind == "count":
            counts = {first for first, _ in naming.places.values()}
            gaps = [count for count in range(min(counts), max(counts)) if count not in counts]
            if gaps:
                return _page_missing(str(gaps[0]), naming.total)
    return None


def _page_missing(page: str, total: int = 0, hint: str = "Hand in the PDF with all its pages.") -> Finding:
    of_all = f" of {total}" if total else ""
    return stop("pdf.page-missing", f"page {page}", f"Page {page}{of_all} is missing.", hint)


def _missing(tiles: Sequence[Tile], layout: Layout, meeting: Meeting) -> list[Finding]:
    """Pages that lack by the count, and those that lines run to and that are not there."""
    if (found := _missing_of_count([layout.naming] if layout.naming else [])) is not None:
        return [found]
    by_place = {place: at for at, place in layout.places.items()}
    wanted: dict[tuple[int, int], list[tuple[str, str]]] = {}
    for place, at in by_place.items():
        for side in SIDES:
            beyond = neighbour_of(place, side)
            if beyond not in by_place and any(crossing.is_cut for crossing in meeting[at][side]):
                wanted.setdefault(beyond, []).append((_name(tiles, layout, at), side))
    findings = []
    for place, runs in wanted.items():
        page, (name, border) = name_at(layout, place), runs[0]
        if page and layout.naming:
            names = " and ".join(name for name, _ in runs)
            hint = f"Lines of {names} run on to it: hand in the PDF with all its pages."
            findings.append(_page_missing(page, layout.naming.total, hint))
        else:
            findings.append(
                stop(
                    "pdf.page-missing",
                    name,
                    f"A page is missing beyond the {border} border of {name}, where lines run on.",
                    "Hand in the PDF with all its pages.",
                )
            )
    return findings


def _misfit(join: Join) -> float:
    return max((join.slip_mm, *join.apart_mm))


def _misfits(tiles: Sequence[Tile], layout: Layout, joins: Sequence[Join]) -> list[Finding]:
    findings = []
    for join in joins:
        names = f"{_name(tiles, layout, join.first)} and {_name(tiles, layout, join.second)}"
        most = _misfit(join)
        if join.loose:
            findings.append(
                (stop if join.loose > len(join.apart_mm) else warn)(
                    "pdf.tile-lines",
                    names,
                    f"{join.loose} of the lines that run to the border between {names} don't go on beyond it.",
                    "Check that both pages belong to the same drawing and are whole.",
                )
            )
        if most > WARN_MM:
            findings.append(
                (stop if most > STOP_MM else warn)(
                    _MISFIT,
                    names,
                    f"Lines of {names} lie {most:.1f} mm apart where they should meet; "
                    f"{STOP_MM if most > STOP_MM else WARN_MM:.0f} mm are allowed.",
                    "Check the marks on both pages, or save the drawing on one large page.",
                )
            )
    return findings


def _left_out(tiles: Sequence[Tile], layout: Layout) -> list[Finding]:
    return [
        note(
            "pdf.page-left-out",
            f"page {tile.number}",
            f"Page {tile.number} has no place among the others, whose lines meet; it is left out.",
        )
        for at, tile in enumerate(tiles)
        if at not in layout.places and tile.strokes
    ]


def _labels(tiles: Sequence[Tile], layout: Layout) -> tuple[Label, ...]:
    """The drawing's own words: not the pages' places, what leads to other pages, or what all of them repeat."""
    repeated = words_alike(tiles)
    joining = {id(label) for label in _joining_words(tiles, layout)}
    found: list[Label] = []
    for at, place in layout.places.items():
        left, bottom, right, top = cell_seen(layout, place)
        dx, dy = moved_by(layout, place)
        for label in tiles[at].labels:
            x, y = label.at
            if not (left <= x < right and bottom <= y < top) or label_key(label) in repeated:
                continue
            is_place = layout.naming is not None and place_words(label.text)
            if not (is_place or is_direction(label.text) or id(label) in joining):
                found.append(replace(label, at=(x + dx, y + dy)))
    return tuple(found)


def _joining_words(tiles: Sequence[Tile], layout: Layout) -> list[Label]:
    """Words at borders that say what is joined there: the same on both sides of it, or, on several pages, the neighbours' counts."""
    by_place = {place: other for other, place in layout.places.items()}
    same: list[Label] = []
    counts: list[Label] = []
    for at, place in layout.places.items():
        for side_at, side in enumerate(SIDES):
            other = by_place.get(neighbour_of(place, side))
            if other is None:
                continue
            axis, far = side_at % 2, layout.cell[(side_at + 2) % 4]
            count = layout.naming.places[other][0] if layout.naming else tiles[other].number
            for label in tiles[at].labels:
                off = label.at[axis] - layout.cell[side_at]
                if abs(off) > _MARGIN_MM:
                    continue
                if label.text == str(count):
                    counts.append(label)
                # A word that both pages show in one place is the drawing's own, seen twice.
                same += [
                    label
                    for word in tiles[other].labels
                    if word.text == label.text
                    and abs(word.at[1 - axis] - label.at[1 - axis]) <= _MARGIN_MM
                    and _SAME_WORD_MM < abs(off - (word.at[axis] - far)) <= 2 * _MARGIN_MM
                ]
    return [*same, *(counts if len(counts) >= _SEVERAL else [])]
