"""The year's result: what is left of what the pieces earned, once all is counted that no piece's account holds.

The question: the pieces of a year earned so much; what did the year leave? Pieces carry overhead at a rate, and the year
costs what it costs. The shelf loses and finds. Things are issued for no job, jobs are given up, money is paid back.

result = the sum of the lines, and each line the sum of its rows, to the minor unit. What raises the result is positive.
left = result + pay: labour is a cost of a piece, and the maker's own pay. Every movement, minute and payment of a year
stands in one row at most: what it is about decides its line, and an account holds what no row does.

Source: Garrison, Noreen and Brewer, Managerial Accounting, ch. on job-order costing (under- and over-absorbed overhead
closes into the result of the period, and so do abnormal losses).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from inventory.ground.money import Currency

__all__ = ["LINES", "PAY", "About", "Line", "Row", "Worked", "YearLine", "YearResult", "year_result"]


class Line(StrEnum):
    """The lines of a result, in their order."""

    PIECES = "pieces"
    OVERHEAD = "overhead"
    SHELF = "shelf"
    WITHOUT_JOB = "without-job"
    GIVEN_UP = "given-up"
    LATE = "late"
    REFUNDS = "refunds"
    FEES = "fees"


class About(StrEnum):
    """What a row is about; it says in which line it stands."""

    MONTH = "month"  # profit of the pieces delivered in a month
    CHANGED = "changed"  # what the ledger gave a piece since its account was worked out
    CHARGED = "charged"  # overhead that pieces were charged
    COST = "cost"  # a yearly cost
    COUNTED = "counted"
    SCRAPPED = "scrapped"
    MOVED = "moved"  # what washing or splitting off did not carry over
    USED = "used"  # for a named purpose
    ISSUED = "issued"  # to what is no job, by what was written
    MATERIALS = "materials"  # of a job that was given up, less what came back
    HOURS = "hours"  # of such a job, at its labour rate
    KEPT = "kept"  # of what its client paid, without tax
    LATE_MATERIALS = "late-materials"  # of a piece whose month was closed
    LATE_CREDIT = "late-credit"  # a lower price of such a piece
    REFUND = "refund"
    MADE_GOOD = "made-good"  # paid back before the price was lowered by it
    FEE = "fee"
    PAY_OF_PIECES = "pay-of-pieces"
    PAY_OF_GIVEN_UP = "pay-of-given-up"


LINES: Mapping[Line, frozenset[About]] = {
    Line.PIECES: frozenset({About.MONTH, About.CHANGED}),
    Line.OVERHEAD: frozenset({About.CHARGED, About.COST}),
    Line.SHELF: frozenset({About.COUNTED, About.SCRAPPED, About.MOVED}),
    Line.WITHOUT_JOB: frozenset({About.USED, About.ISSUED}),
    Line.GIVEN_UP: frozenset({About.MATERIALS, About.HOURS, About.KEPT}),
    Line.LATE: frozenset({About.LATE_MATERIALS, About.LATE_CREDIT}),
    Line.REFUNDS: frozenset({About.REFUND, About.MADE_GOOD}),
    Line.FEES: frozenset({About.FEE}),
}
PAY = frozenset({About.PAY_OF_PIECES, About.PAY_OF_GIVEN_UP})
"""What the lines took for the maker's own hours; it stands beside them, with the sign of what it gives back."""


class Worked(StrEnum):
    """What hours of a year went into."""

    PLANNED = "planned"
    AGAIN = "again"
    GIVEN_UP = "given-up"
    GOES_ON = "goes-on"  # of work that is not delivered yet
    NOT_LOGGED = "not-logged"  # what pieces' accounts count as planned, since nobody logged it
    LATE = "late"  # noted after its piece's month was closed


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One amount of a result.

    Attributes:
        what: a name, as it was written down: of a piece, a cost, a material, a purpose.
        key: by which it is found again: a reference, a number; empty where a day or a name is enough.
        count: of pieces, minutes, lots or whatever `about` counts.
    """

    about: About
    amount: Decimal
    what: str = ""
    key: str = ""
    day: date | None = None
    count: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class YearLine:
    """A line with its rows."""

    line: Line
    rows: tuple[Row, ...]

    @property
    def amount(self) -> Decimal:
        """The sum of its rows."""
        return sum((row.amount for row in self.rows), Decimal(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class YearResult:
    """What a year left.

    Attributes:
        days: the first and the last whose overhead is counted; None for none.
        lines: every one, in their order; one of nothing has no rows.
        pay: for the maker's hours, as the lines took it.
        minutes: all that was worked in the year, by what it went into; what nobody logged, by the day of delivery.
    """

    currency: Currency
    days: tuple[date, date] | None
    lines: tuple[YearLine, ...]
    pay: tuple[Row, ...]
    minutes: Mapping[Worked, int]

    @property
    def result(self) -> Decimal:
        """The sum of the lines."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def paid(self) -> Decimal:
        """Pay for the hours that the lines took."""
        return sum((row.amount for row in self.pay), Decimal(0))

    @property
    def left(self) -> Decimal:
        """What the year left the maker: the result, and the pay for the hours that it was charged with."""
        return self.result + self.paid

    @property
    def worked_min(self) -> int:
        """All minutes of the year."""
        return sum(self.minutes.values())

    @property
    def per_hour(self) -> Decimal | None:
        """What it left for each hour worked, rounded; None where no hour was logged."""
        return self.currency.round(self.left * 60 / self.worked_min) if self.worked_min else None

    @property
    def is_empty(self) -> bool:
        """Whether nothing of the year is known."""
        return not (self.worked_min or self.pay or any(line.rows for line in self.lines))


def year_result(
    *,
    currency: Currency,
    days: tuple[date, date] | None,
    rows: Sequence[Row],
    pay: Sequence[Row],
    minutes: Mapping[Worked, int],
) -> YearResult:
    """Return the result of a year. A row of nothing is kept where it counts something.

    Raises:
        ValueError: an amount finer than the currency's minor unit, a row of pay among the lines' or the other way round.
    """
    for row in (*rows, *pay):
        if not currency.is_exact(row.amount):
            raise ValueError(f"{row.amount} is finer than the minor unit of {currency.code}.")
    strangers = {row.about for row in rows} & PAY | {row.about for row in pay} - PAY
    if strangers:
        raise ValueError(f"{', '.join(sorted(strangers))} does not belong there.")
    told = [row for row in rows if row.amount or row.count]
    return YearResult(
        currency=currency,
        days=days,
        lines=tuple(
            YearLine(line=line, rows=tuple(row for row in told if row.about in abouts))
            for line, abouts in LINES.items()
        ),
        pay=tuple(row for row in pay if row.amount),
        minutes={kind: found for kind in Worked if (found := minutes.get(kind, 0))},
    )
