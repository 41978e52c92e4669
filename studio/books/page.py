"""The books in words: what all pieces came to, the best and the worst of them, months, overhead, quotes by price."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils import timezone

from inventory.ground.money import Currency
from inventory.ground.wording import day_text, minor_text, minutes_text, money_text, percent_text
from studio.books.months import Month, months, next_to_close
from studio.books.sums import overhead
from studio.books.year import known_days
from studio.models import ReopenedMonth
from studio.profit.overhead import absorption_sentence
from studio.profit.totals import Band, Piece, Total, best_and_worst

__all__ = ["BandRow", "MonthRow", "MonthsPage", "Ranked", "band_rows", "figures", "months_page", "ranked", "share_text"]

Figure = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """Pieces by what they earned for an hour: the best, and the worst."""

    best: list[tuple[Piece, str]]
    worst: list[tuple[Piece, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthRow:
    """A month; `closed` says when and by whom, and is empty while it is open."""

    first_day: date
    last_day: date
    pieces: int
    net: str
    profit: str
    corrections: str
    cancelled: str
    together: str
    closed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthsPage:
    """Months and a year's overhead; `overhead` is empty where no yearly costs are entered.

    `reopened` holds a sentence for each time that a month was opened again, the last first.
    """

    months: list[MonthRow]
    to_close: date | None
    to_reopen: date | None
    reopened: list[str]
    year: int
    years: list[int]
    overhead: str
    parts: list[Figure]


@dataclass(frozen=True, slots=True, kw_only=True)
class BandRow:
    """Quotes of like price."""

    price: str
    quotes: int
    won: int
    share: str


def share_text(share: Decimal | None) -> str:
    """Return a share with one decimal as people read it; a dash for none.

    >>> share_text(Decimal("0.1234")), share_text(Decimal("-0.05")), share_text(None)
    ('12.3 %', '−5 %', '–')
    """
    # Zero is added so that a loss of next to nothing is no “−0 %”.
    return "–" if share is None else percent_text(round(share, 3) + 0).replace("-", "−")


def figures(together: Total, currency: Currency) -> list[Figure]:
    """Return what pieces come to: what, how much, how it is made."""
    money = _money(currency)
    profit, quoted = together.actual_profit_minor, together.quoted_profit_minor
    more = together.more_than_quoted_minor
    against = f"{money(abs(more))} {'more' if more > 0 else 'less'} than the {money(quoted)} quoted."
    per_hour = _per_hour(together, currency)
    return [
        (
            "Invoiced",
            money(together.net_minor),
            f"Without tax, for {together.pieces} piece{'' if together.pieces == 1 else 's'}.",
        ),
        (
            "Profit",
            money(profit),
            f"{against if more else 'Just as quoted.'} Of the pieces alone: the year counts the rest.",
        ),
        (
            "Earned an hour",
            per_hour,
            f"Profit and labour together ÷ {minutes_text(together.minutes)} of work on these pieces.",
        ),
        ("Margin", share_text(together.margin_share), "Profit ÷ what was invoiced without tax."),
        (
            "Under the wage floor",
            f"{together.under_floor}",
            "Pieces that earned less for an hour than the workroom’s rates set as least.",
        ),
    ]


def ranked(pieces: Sequence[Piece], currency: Currency) -> Ranked:
    """Return the best and the worst of pieces; none is both."""
    best, worst = best_and_worst(pieces)
    return Ranked(
        best=[(piece, _per_hour(piece, currency)) for piece in best],
        worst=[(piece, _per_hour(piece, currency)) for piece in worst if piece not in best],
    )


def band_rows(bands: Iterable[Band], currency: Currency) -> list[BandRow]:
    """Return how many quotes were won at which price; the upper price of a band belongs to the next."""
    money = _money(currency)
    return [
        BandRow(
            price=f"{money(band.low_minor)} to {money(band.high_minor)}",
            quotes=band.quotes,
            won=band.won,
            share=share_text(band.won_share),
        )
        for band in bands
    ]


def months_page(*, year: int, on: date, currency: Currency) -> MonthsPage:
    """Return the months, and the overhead of a year up to a day."""
    every_month = months()
    years = sorted({month.first_day.year for month in every_month} | {on.year}, reverse=True)
    sentence, parts = _overhead(year, on, currency)
    return MonthsPage(
        months=[_month_row(month, currency) for month in every_month],
        to_close=next_to_close(on=on),
        to_reopen=max((month.first_day for month in every_month if month.closed), default=None),
        reopened=[_reopened(row) for row in ReopenedMonth.objects.select_related("by")],
        year=year,
        years=years,
        overhead=sentence,
        parts=parts,
    )


def _reopened(row: ReopenedMonth) -> str:
    by = f" by {row.by}" if row.by else ""
    return f"{row.first_day:%B %Y} was opened again on {day_text(timezone.localdate(row.reopened_at))}{by}: {row.why}"


def _month_row(month: Month, currency: Currency) -> MonthRow:
    money = _money(currency)
    closed = ""
    if month.closed is not None:
        closed = f"closed on {day_text(timezone.localdate(month.closed.closed_at))}"
        closed += f" by {month.closed.by}" if month.closed.by else ""
    return MonthRow(
        first_day=month.first_day,
        last_day=month.last_day,
        pieces=month.pieces,
        net=money(month.net_minor),
        profit=money(month.profit_minor),
        corrections=money(month.corrections_minor) if month.corrections_minor else "",
        cancelled=money(month.cancelled_minor) if month.cancelled_minor else "",
        together=money(month.together_minor),
        closed=closed,
    )


def _overhead(year: int, on: date, currency: Currency) -> tuple[str, list[Figure]]:
    known = known_days(year, on=on)
    absorption = overhead(*known) if known else None
    if known is None or absorption is None:
        return "", []
    code = currency.code
    days = (known[1] - known[0]) // timedelta(days=1) + 1
    return absorption_sentence(absorption, currency), [
        (
            "Absorbed",
            money_text(absorption.absorbed, code),
            "What the hours of the year’s pieces carried at their rate.",
        ),
        (
            "Incurred",
            money_text(absorption.incurred, code),
            f"The yearly costs as they stand, for the {days} days of the year of which the books know work.",
        ),
        (
            "Usual losses",
            money_text(absorption.usual_losses, code),
            "Spoiled or done again as always happens: overhead, shared by all pieces.",
        ),
        (
            "Losses of the year",
            money_text(absorption.losses, code),
            "Own slips and faults in cloth: no piece’s cost and no overhead.",
        ),
    ]


def _per_hour(earned: Piece | Total, currency: Currency) -> str:
    return "–" if earned.per_hour_minor is None else minor_text(earned.per_hour_minor, currency.code)


def _money(currency: Currency) -> Callable[[int], str]:
    return lambda minor: minor_text(minor, currency.code)
