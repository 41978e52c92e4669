"""Finished pieces together: by style, construction, client or month, the best and the worst, and which quotes win.

Money is whole minor units of one currency, time whole minutes: what is summed here is exact. Pandas is loaded by the first
table that is asked for, since most commands and the first page never ask for one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from inventory.ground.money import nearest

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "Band",
    "Outcome",
    "Piece",
    "Total",
    "best_and_worst",
    "records_of",
    "table_of",
    "total",
    "totals_by",
    "under_floor",
    "win_rates",
]

BEST_AND_WORST = 3
MOST_BANDS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A finished piece as the books keep it; `is_under_floor` by the wage floor of the day on which it was worked out,
    `is_unsure` where more than a few of its minutes were never logged.
    """

    reference: str
    title: str
    delivered_on: date
    style: str
    construction: str
    client: str
    client_id: int
    net_minor: int
    quoted_profit_minor: int
    actual_profit_minor: int
    labour_minor: int
    overhead_minor: int
    minutes: int
    is_under_floor: bool
    is_unsure: bool

    @property
    def month(self) -> str:
        """The month of delivery, `2027-01`."""
        return self.delivered_on.isoformat()[:7]

    @property
    def earned_minor(self) -> int:
        """What is left for the hours: profit and labour together."""
        return self.actual_profit_minor + self.labour_minor

    @property
    def per_hour_minor(self) -> int | None:
        """Earned for each hour, rounded; None where no hour was logged."""
        return nearest(60 * self.earned_minor, self.minutes) if self.minutes else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """Pieces that share a key. What is earned an hour, and the margin, are of their sums, not means of each piece's."""

    key: str
    pieces: int
    net_minor: int
    quoted_profit_minor: int
    actual_profit_minor: int
    earned_minor: int
    overhead_minor: int
    minutes: int
    under_floor: int

    @property
    def per_hour_minor(self) -> int | None:
        """Profit and labour for each hour, rounded; None where no hour was logged."""
        return nearest(60 * self.earned_minor, self.minutes) if self.minutes else None

    @property
    def more_than_quoted_minor(self) -> int:
        """Profit beyond the quoted one; below zero where it is less."""
        return self.actual_profit_minor - self.quoted_profit_minor

    @property
    def margin_share(self) -> Decimal | None:
        """Profit as a share of net, unrounded; None where nothing was invoiced."""
        return Decimal(self.actual_profit_minor) / self.net_minor if self.net_minor > 0 else None


_SUMMED = {
    name: name
    for name in ("net_minor", "quoted_profit_minor", "actual_profit_minor", "earned_minor", "overhead_minor", "minutes")
} | {"is_under_floor": "under_floor"}
"""What of a piece is summed, and the name of its sum."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A quote that was decided on a day, at the price that the client saw; one that expired is not won."""

    price_minor: int
    is_won: bool
    day: date

    @property
    def month(self) -> str:
        """The month of the decision, `2027-01`."""
        return self.day.isoformat()[:7]


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Quotes with low <= price < high."""

    low_minor: int
    high_minor: int
    quotes: int
    won: int

    @property
    def won_share(self) -> Decimal:
        """Share of those quotes that were accepted."""
        return Decimal(self.won) / self.quotes


def table_of(rows: Sequence[Piece] | Sequence[Outcome], columns: Sequence[str]) -> "pd.DataFrame":
    """Return rows as a table, with the columns that are asked for; whole numbers are int64."""
    import pandas as pd

    return pd.DataFrame.from_records(list(map(attrgetter(*columns), rows)), columns=list(columns))


def records_of(table: "pd.DataFrame") -> list[dict[str, Any]]:
    """Return the rows of a table by their columns' names, numbers as Python's own."""
    return [{str(name): value for name, value in row.items()} for row in table.to_dict("records")]


def total(pieces: Sequence[Piece]) -> Total:
    """Return all pieces together."""
    sums = {name: sum(map(attrgetter(of), pieces)) for of, name in _SUMMED.items()}
    return Total(key="", pieces=len(pieces), **sums)


def totals_by(pieces: Sequence[Piece], key: str, *also: str) -> tuple[Total, ...]:
    """Return one total per value of a text of a piece, in the order of those values: `totals_by(pieces, "style")`.

    `also` tells apart what reads alike: `totals_by(pieces, "client", "client_id")`.
    """
    if not pieces:
        return ()
    keys = [key, *also]
    groups = table_of(pieces, [*keys, *_SUMMED]).groupby(keys)
    sums = groups[list(_SUMMED)].sum().assign(pieces=groups.size()).droplevel(list(also))
    named = sums.rename(columns=_SUMMED).rename_axis("key").reset_index()
    return tuple(Total(**row) for row in records_of(named))


def best_and_worst(pieces: Iterable[Piece]) -> tuple[list[Piece], list[Piece]]:
    """Return the pieces that earned most for an hour, and those that earned least, each list beginning with its utmost.

    Where there are few, a piece may be in both. One without a logged hour is in neither, nor is one that is unsure.
    """
    ranked = _best_first(pieces)
    return ranked[:BEST_AND_WORST], ranked[::-1][:BEST_AND_WORST]


def under_floor(pieces: Iterable[Piece], minimum_per_hour_minor: Decimal) -> list[Piece]:
    """Return the pieces that earned less than a floor for each hour, the worst first."""
    return [
        piece
        for piece in reversed(_best_first(pieces))
        if 60 * piece.earned_minor < minimum_per_hour_minor * piece.minutes
    ]


def _best_first(pieces: Iterable[Piece]) -> list[Piece]:
    """The pieces whose hours are known, by falling earned per hour (unrounded), ties by reference."""
    timed = [piece for piece in pieces if piece.minutes and not piece.is_unsure]
    return sorted(timed, key=lambda piece: (-Decimal(piece.earned_minor) / piece.minutes, piece.reference))


def win_rates(outcomes: Sequence[Outcome]) -> tuple[Band, ...]:
    """Return how many quotes were won in each band of price, lowest band first; bands without a quote are left out.

    All bands have one width: the least of 1, 2 or 5 × a power of ten, not below a tenth of the dearest price's nor below
    one minor unit, that makes six bands or fewer.

    >>> [(band.low_minor, band.quotes, band.won) for band in win_rates([
    ...     Outcome(price_minor=45000, is_won=True, day=date(2027, 1, 4)),
    ...     Outcome(price_minor=118000, is_won=False, day=date(2027, 1, 5))])]
    [(40000, 1, 1), (100000, 1, 0)]
    """
    if not outcomes:
        return ()
    import pandas as pd

    table = table_of(outcomes, ["price_minor", "is_won"])
    low, high = int(table["price_minor"].min()), int(table["price_minor"].max())
    width = _band_width(low, high)
    borders = range(low // width * width, (high // width + 2) * width, width)
    bands = table.groupby(pd.cut(table["price_minor"], list(borders), right=False), observed=True)["is_won"]
    return tuple(
        Band(low_minor=int(band.left), high_minor=int(band.right), quotes=int(quotes), won=int(won))
        for band, quotes, won in bands.agg(["size", "sum"]).itertuples()
    )


def _band_width(low: int, high: int) -> int:
    power: int = 10 ** max(0, len(str(high)) - 2)
    while True:
        for step in (1, 2, 5):
            width = step * power
            if high // width - low // width < MOST_BANDS:
                return width
        power *= 10
