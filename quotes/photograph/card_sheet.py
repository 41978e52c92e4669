"""The sheet of cards to print, exactly to size: one page of vectors."""

from dataclasses import asdict
from pathlib import Path

import numpy as np
from shapely import MultiPolygon, Polygon, box, union_all

from inventory.ground.typesetting import typeset
from quotes.photograph.cards import Card, CheckBar, card_sheet, cards, check_bars, marker_bits

__all__ = ["card_sheet_pdf", "card_sheet_svg"]

_TEMPLATE = Path(__file__).with_name("card_sheet.typ")
_CUT_LINE = 'fill="none" stroke="#808080" stroke-width="0.2" stroke-dasharray="3 3"'


def card_sheet_pdf() -> bytes:
    """Return the sheet as PDF, A4 landscape, to be printed at 100 %; the same bytes each time."""
    paper = card_sheet()["paper"]
    words = [text for card in cards() for text in card.texts] + [bar.text for bar in check_bars()]
    data = {
        "width": paper["width"],
        "height": paper["height"],
        "drawing": card_sheet_svg(),
        "texts": [asdict(text) for text in words],
    }
    return typeset(_TEMPLATE.read_bytes(), data, dated=None)


def card_sheet_svg() -> str:
    """Return all that is drawn on the sheet, without its words, in mm."""
    paper = card_sheet()["paper"]
    drawn = [_path(_black(card)) for card in cards()]
    drawn += [_bar(bar) for bar in check_bars()]
    drawn += [
        f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" {_CUT_LINE}/>'
        for (x1, y1), (x2, y2) in ((line["from"], line["to"]) for line in card_sheet()["cut_lines"])
    ]
    width, height = paper["width"], paper["height"]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">'
        f"{''.join(drawn)}</svg>"
    )


def _black(card: Card) -> MultiPolygon:
    """All that is black on a card, as one area on the sheet: no hair line shows where modules meet."""
    areas = [
        box(card.left + x, card.top + y, card.left + x + card.square, card.top + y + card.square)
        for x, y in card.black_squares()
    ]
    for marker, (left, top) in zip(card.marker_ids, card.marker_places, strict=True):
        modules = np.pad(marker_bits(marker), 1)
        size = card.marker / len(modules)
        for row, column in np.argwhere(modules == 0).tolist():
            x, y = card.left + left + size * column, card.top + top + size * row
            areas.append(box(x, y, x + size, y + size))
    area = union_all(areas, grid_size=1e-6)
    return area if isinstance(area, MultiPolygon) else MultiPolygon([area])


def _path(area: MultiPolygon) -> str:
    rings = [ring for part in area.geoms for ring in _rings(part)]
    lines = ("M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in ring[:-1]) + "Z" for ring in rings)
    return f'<path fill="#000000" fill-rule="evenodd" d="{"".join(lines)}"/>'


def _rings(part: Polygon) -> list[list[tuple[float, float]]]:
    return [list(ring.coords) for ring in (part.exterior, *part.interiors)]


def _bar(bar: CheckBar) -> str:
    (x1, y1), (x2, y2) = bar.start, bar.end
    half = bar.tick / 2
    across = (0.0, half) if y1 == y2 else (half, 0.0)
    ends = [f"M{x - across[0]} {y - across[1]}L{x + across[0]} {y + across[1]}" for x, y in (bar.start, bar.end)]
    return f'<path fill="none" stroke="#000000" stroke-width="{bar.width}" d="M{x1} {y1}L{x2} {y2}{"".join(ends)}"/>'
