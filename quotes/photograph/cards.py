"""The printed cards: a chequer board with coded markers each, as `cards.json` defines them for all who print and read them.

Frames: sheet and cards in mm, x to the right, y down from their upper left corner.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from inventory.ground.codec import Document
from inventory.ground.reading import data_beside

__all__ = ["Card", "CheckBar", "PrintScale", "Text", "card_sheet", "cards", "check_bars", "marker_bits"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A word on the sheet: (`x`, `y`) is where its line begins, on the sheet; letters are `size_mm` large."""

    text: str
    x: float
    y: float
    size_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One card.

    Attributes:
        left, top, width, height: where it stands on the sheet.
        board_left, board_top: of the chequer board, in the card's frame.
        marker_ids: of its markers; `marker_places` are their upper left corners, in the card's frame.
    """

    name: str
    left: float
    top: float
    width: float
    height: float
    board_left: float
    board_top: float
    square: float
    columns: int
    rows: int
    marker: float
    marker_ids: tuple[int, ...]
    marker_places: tuple[tuple[float, float], ...]
    texts: tuple[Text, ...]

    def black_squares(self) -> list[tuple[float, float]]:
        """Return the upper left corners of the board's black squares, in the card's frame."""
        return [
            (self.board_left + column * self.square, self.board_top + row * self.square)
            for row in range(self.rows)
            for column in range(self.columns)
            if (row + column) % 2 == 0
        ]

    def inner_corners(self) -> Points:
        """Return where four squares meet, row by row, as (columns - 1)(rows - 1) points measured from the card's middle."""
        xs = self.board_left + self.square * np.arange(1, self.columns) - self.width / 2
        ys = self.board_top + self.square * np.arange(1, self.rows) - self.height / 2
        return np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)

    def marker_corners(self, marker: int) -> Points:
        """Return the four corners of a marker, clockwise from its upper left, measured from the card's middle."""
        x, y = self.marker_places[self.marker_ids.index(marker)]
        side = self.marker
        corners = np.array([(x, y), (x + side, y), (x + side, y + side), (x, y + side)])
        return corners - (self.width / 2, self.height / 2)

    def outline(self) -> Points:
        """Return the card's own corners, clockwise from its upper left, measured from its middle."""
        return np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (self.width / 2, self.height / 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckBar:
    """A line of known length: `start` and `end` on the sheet, with a tick of `tick` across each end."""

    name: str
    nominal_mm: float
    start: tuple[float, float]
    end: tuple[float, float]
    width: float
    tick: float
    text: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintScale:
    """How large the sheet came out of the printer: printed by nominal length, along and across the sheet."""

    along: float = 1.0
    across: float = 1.0


def card_sheet() -> Document:
    """Return the whole definition."""
    return data_beside(__file__, "cards.json")


@cache
def cards() -> tuple[Card, ...]:
    """Return the four cards, by their place on the sheet."""
    return tuple(_card(row) for row in card_sheet()["cards"])


@cache
def check_bars() -> tuple[CheckBar, ...]:
    """Return the two bars that are measured with a ruler: along and across the sheet."""
    return tuple(
        CheckBar(
            name=bar["name"],
            nominal_mm=bar["nominal_mm"],
            start=tuple(bar["from"]),
            end=tuple(bar["to"]),
            width=bar["width_mm"],
            tick=bar["end_ticks_mm"],
            text=Text(text=bar["text"], x=bar["text_at"][0], y=bar["text_at"][1], size_mm=_BAR_TEXT_MM),
        )
        for bar in card_sheet()["check_bars"]
    )


_BAR_TEXT_MM = 2.4
"""The definition gives no size for the words beside the bars: that of the small words of the cards."""


def marker_bits(marker: int) -> NDArray[np.uint8]:
    """Return the 5 × 5 bits of a marker, 1 for white, the upper row first."""
    return np.array([[int(bit) for bit in row] for row in card_sheet()["marker_bits"][str(marker)]], dtype=np.uint8)


def _card(row: Document) -> Card:
    left, top, right, bottom = row["sheet_rect"]
    board = row["board"]
    return Card(
        name=row["name"],
        left=left,
        top=top,
        width=right - left,
        height=bottom - top,
        board_left=board["x"],
        board_top=board["y"],
        square=board["square"],
        columns=board["cols"],
        rows=board["rows"],
        marker=board["marker"],
        marker_ids=tuple(marker["id"] for marker in row["markers"]),
        marker_places=tuple((marker["x"], marker["y"]) for marker in row["markers"]),
        texts=tuple(
            Text(text=text["text"], x=left + text["x"], y=top + text["y"], size_mm=text["size_mm"])
            for text in row["texts"]
        ),
    )
