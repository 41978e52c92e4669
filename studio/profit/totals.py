"""Finished pieces together: by style, construction, client or month, the best and the worst, and which quotes win."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.money import Currency
from studio.profit.piece import Account

__all__ = [
    "Band",
    "Outcome",
    "Piece",
    "Total",
    "best_first",
    "month_of",
    "total",
    "totals_by",
    "under_floor",
    "win_rates",
]

MOST_BANDS = 6
_ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A finished piece with its account."""

    job: str
    title: str
    delivered: date
    style: str
    construction: str
    client: str
    account: Account


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """Pieces that share a key. `per_hour` and `margin_share` are of their sums, not means of each piece's."""

    key: str
    pieces: int
    net: Decimal
    quoted_profit: Decimal
    profit: Decimal
    hours: Decimal
    per_hour: Decimal | None
    margin_share: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A quote that was decided, at the price that the client saw; one that expired is not won."""

    price: Decimal
    is_won: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Quotes with low <= price < high."""

    low: Decimal
    high: Decimal
    quotes: int
    won: int

    @property
    def won_share(self) -> Decimal:
        """Share of those quotes that were accepted."""
        return Decimal(self.won) / self.quotes


def total(pieces: Sequence[Piece], currency: Currency, *, key: str = "") -> Total:
    """Return the total of pieces, in one currency."""
    net, quoted, profit, earned, hours = _ZERO, _ZERO, _ZERO, _ZERO, _ZERO
    for account in (piece.account for piece in pieces):
        net += account.net
        quoted += account.quoted_profit
        profit += account.profit
        earned += account.earned
        hours += account.hours
    return Total(
        key=key,
        pieces=len(pieces),
        net=net,
        quoted_profit=quoted,
        profit=profit,
        hours=hours,
        per_hour=currency.round(earned / hours) if hours else None,
        margin_share=profit / net if net > 0 else None,
    )


def totals_by(pieces: Iterable[Piece], key: Callable[[Piece], str], currency: Currency) -> tuple[Total, ...]:
    """Return one total per key, in the order of the keys: `totals_by(pieces, lambda piece: piece.style, currency)`."""
    groups: dict[str, list[Piece]] = defaultdict(list)
    for piece in pieces:
        groups[key(piece)].append(piece)
    return tuple(total(group, currency, key=name) for name, group in sorted(groups.items()))


def month_of(piece: Piece) -> str:
    """Return the month of delivery as a key, `2027-01`."""
    return f"{piece.delivered:%Y-%m}"


def best_first(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """Return the pieces with hours, by falling earned per hour (unrounded), ties by job.

    The first are the best, the last the worst. A piece without a logged hour has no place among them.
    """
    timed = [piece for piece in pieces if piece.account.hours]
    return tuple(sorted(timed, key=lambda piece: (-piece.account.earned / piece.account.hours, piece.job)))


def under_floor(pieces: Iterable[Piece], minimum_per_hour: Decimal) -> tuple[Piece, ...]:
    """Return the pieces that earned less than the floor for each hour, the worst first."""
    return tuple(
        piece for piece in reversed(best_first(pieces)) if piece.account.earned < minimum_per_hour * piece.account.hours
    )


def win_rates(outcomes: Sequence[Outcome]) -> tuple[Band, ...]:
    """Return how many quotes were won in each band of price, lowest band first; bands without a quote are left out.

    All bands have one width: the least of 1, 2 or 5 × a power of ten, not below a tenth of the dearest price's, that
    makes six bands or fewer.

    >>> [(str(band.low), band.quotes, band.won) for band in win_rates([
    ...     Outcome(price=Decimal(450), is_won=True), Outcome(price=Decimal(1180), is_won=False)])]
    [('400', 1, 1), ('1000', 1, 0)]
    """
    if not outcomes:
        return ()
    width = _band_width([outcome.price for outcome in outcomes])
    bands: dict[Decimal, list[bool]] = defaultdict(list)
    for outcome in outcomes:
        bands[outcome.price // width].append(outcome.is_won)
    return tuple(
        Band(low=place * width, high=(place + 1) * width, quotes=len(won), won=sum(won))
        for place, won in sorted(bands.items())
    )


def _band_width(prices: Sequence[Decimal]) -> Decimal:
    low, high = min(prices), max(prices)
    power = Decimal(10) ** (high.adjusted() - 1) if high else Decimal(1)
    while True:
        for step in (1, 2, 5):
            width = step * power
            if high // width - low // width < MOST_BANDS:
                return width
        power *= 10
