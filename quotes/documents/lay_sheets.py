"""The cutting sheet of a lay and its full-size tiles: one PDF, to print at 100 % and lay together."""

import math
from dataclasses import asdict, dataclass
from enum import StrEnum
from pathlib import Path

from inventory.ground.typesetting import typeset
from inventory.ground.wording import length_figures, percent_text
from quotes.documents.lay_svg import Window, lay_svg
from quotes.drawings.cutting_table import CuttingTable
from quotes.lay.bounds import above_bound_share, least_cost
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.lay.remnants import cost_of

__all__ = ["MOST_TILES", "LaySheets", "Paper", "Tile", "lay_sheets", "sheets_of"]

_TEMPLATE = Path(__file__).with_name("lay_sheets.typ")
MOST_TILES = 150
"""More pages of tiles are not made: nobody lays them together."""
_MARGIN_MM, _OVERLAP_MM = 12.0, 10.0
_FOOT_MM = 8.0
"""Kept free under a tile for its name."""
_LEGIBLE_MM = 400.0
"""A drawing this large is still legible when it is shown on a page; a larger one is drawn bolder."""


class Paper(StrEnum):
    """What tiles are printed on."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def set_on(self) -> str:
        """What typesetting, and the workroom’s settings, call it."""
        return {"a4": "a4", "letter": "us-letter"}[self.value]


_SIZES_MM = {Paper.A4: (210.0, 297.0), Paper.LETTER: (215.9, 279.4)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One page of the full-size drawing: its row from below and column from the left, and what it shows, as SVG."""

    row: int
    column: int
    svg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPiece:
    """A row of the cutting list, all as text."""

    label: str
    size: str
    cloth: str
    turned: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaySheets:
    """All that the PDF shows. Sizes in mm; `tiles` is empty where they would be too many, and `why_none` says so."""

    title: str
    facts: list[tuple[str, str]]
    overview: str
    pieces: list[SheetPiece]
    paper: str
    tile_width: float
    tile_height: float
    margin: float
    overlap: float
    rows: int
    columns: int
    tiles: list[Tile]
    why_none: str


def lay_sheets(table: CuttingTable, problem: LayProblem, plan: LayPlan, paper: Paper) -> bytes:
    """Return the PDF; the same lay gives the same bytes."""
    return typeset(_TEMPLATE.read_bytes(), asdict(sheets_of(table, problem, plan, paper)), dated=None)


def sheets_of(table: CuttingTable, problem: LayProblem, plan: LayPlan, paper: Paper) -> LaySheets:
    """Return what the PDF shows."""
    width, height = _SIZES_MM[paper]
    tile = (width - 2 * _MARGIN_MM, height - 2 * _MARGIN_MM - _FOOT_MM)
    left, low, right, high = table.bounds
    columns, rows = (_count(size, one) for size, one in zip((right - left, high - low), tile, strict=True))
    windows = (
        {(row, column): _window(left, low, tile, row, column) for row in range(rows) for column in range(columns)}
        if rows * columns <= 10 * MOST_TILES
        else {}
    )
    shown = {place: window for place, window in windows.items() if _shows_a_piece(table, window)}
    is_too_many = not windows or len(shown) > MOST_TILES
    return LaySheets(
        title=f"Lay of {table.name}",
        facts=_facts(table, problem, plan),
        overview=lay_svg(table, bolder=max(1.0, (high - low) / _LEGIBLE_MM, (right - left) / _LEGIBLE_MM)),
        pieces=[_row(table, index) for index in range(len(table.pieces))],
        paper=paper.set_on,
        tile_width=tile[0],
        tile_height=tile[1],
        margin=_MARGIN_MM,
        overlap=_OVERLAP_MM,
        rows=rows,
        columns=columns,
        tiles=[]
        if is_too_many
        else [
            Tile(row=row + 1, column=column + 1, svg=lay_svg(table, window)) for (row, column), window in shown.items()
        ],
        why_none=f"Full-size tiles would be more than {MOST_TILES} pages, and are left out." if is_too_many else "",
    )


def _count(size: float, tile: float) -> int:
    """How many tiles cover a size, each lapping over the one before."""
    return max(1, math.ceil((size - _OVERLAP_MM) / (tile - _OVERLAP_MM)))


def _window(left: float, low: float, tile: tuple[float, float], row: int, column: int) -> Window:
    x, y = left + column * (tile[0] - _OVERLAP_MM), low + row * (tile[1] - _OVERLAP_MM)
    return x, y, x + tile[0], y + tile[1]


def _shows_a_piece(table: CuttingTable, window: Window) -> bool:
    return any(
        min(x for x, _ in piece.outline) < window[2]
        and max(x for x, _ in piece.outline) > window[0]
        and min(y for _, y in piece.outline) < window[3]
        and max(y for _, y in piece.outline) > window[1]
        for piece in table.pieces
    )


def _facts(table: CuttingTable, problem: LayProblem, plan: LayPlan) -> list[tuple[str, str]]:
    unit = " mm" if table.is_in_mm else ""

    def length(value: float) -> str:
        return f"{length_figures(value, beside=table.width)}{unit}"

    facts = [
        ("Width of what is laid", f"{table.width:g}{unit}"),
        ("Length", length(table.length)),
        ("Pieces", str(len(table.pieces))),
        ("Cloth filled", percent_text(plan.density_share)),
    ]
    if problem.remnants:
        facts.append(("Used up with remnants, as length of the roll", length(cost_of(problem, plan))))
    if (above := above_bound_share(problem, plan)) is not None:
        facts.append(("Above what is possible at best", f"{percent_text(above)} ({length(least_cost(problem))})"))
    if table.scale != 1:
        facts.append(("Drawn", f"{table.scale:g} mm for a unit"))
    return facts


def _row(table: CuttingTable, index: int) -> SheetPiece:
    piece = table.pieces[index]
    xs, ys = zip(*piece.outline, strict=True)
    along, across = ((max(values) - min(values)) / table.scale for values in (xs, ys))
    turned = f"turned {piece.rotation:g}°" if piece.rotation else ""
    return SheetPiece(
        label=piece.label,
        size=f"{along:.0f} × {across:.0f} mm" if table.is_in_mm else f"{along:.4g} × {across:.4g}",
        cloth=piece.cloth,
        turned=", ".join(filter(None, (turned, "right half" if piece.is_mirrored else ""))),
    )
