"""The books turned over: profit by style and month, and month by month what was delivered beside what was decided.

Money is whole minor units in integer columns from end to end; a cell that nothing fell into is 0.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from studio.profit.totals import Outcome, Piece, records_of, table_of

__all__ = ["MonthOfBooks", "StylesByMonth", "months_of_books", "styles_by_month"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StylesByMonth:
    """Profit in minor units: for each style, an amount for each month, `2027-01`, in which any piece was delivered."""

    months: tuple[str, ...]
    styles: tuple[tuple[str, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthOfBooks:
    """A month in which a piece was delivered or a quote decided: the pieces' sums, and the prices of its quotes."""

    month: str
    pieces: int
    net_minor: int
    actual_profit_minor: int
    overhead_minor: int
    won: int
    won_minor: int
    lost: int
    lost_minor: int


def styles_by_month(pieces: Sequence[Piece]) -> StylesByMonth:
    """Return the profit of pieces by their style and their month of delivery, both in order."""
    table = table_of(pieces, ["style", "month", "actual_profit_minor"])
    profit = table.groupby(["style", "month"])["actual_profit_minor"].sum().unstack(fill_value=0)
    return StylesByMonth(
        months=tuple(profit.columns),
        styles=tuple((style, tuple(amounts)) for style, *amounts in profit.astype(object).itertuples()),
    )


def months_of_books(pieces: Sequence[Piece], outcomes: Sequence[Outcome]) -> tuple[MonthOfBooks, ...]:
    """Return every month in which a piece was delivered or a quote decided, in order."""
    made = table_of(pieces, ["month", "net_minor", "actual_profit_minor", "overhead_minor"]).groupby("month")
    decided = table_of(outcomes, ["month", "is_won", "price_minor"])
    won, lost = (decided[decided["is_won"] == is_won].groupby("month")["price_minor"] for is_won in (True, False))
    sides = (
        made.sum().assign(pieces=made.size()),
        won.agg(["size", "sum"]).set_axis(["won", "won_minor"], axis=1),
        lost.agg(["size", "sum"]).set_axis(["lost", "lost_minor"], axis=1),
    )
    # Nullable integers: a month that one side lacks would make floats of the other's amounts.
    earned, became_work, did_not = (side.astype("Int64") for side in sides)
    joined = earned.join([became_work, did_not], how="outer").fillna(0).astype("int64")
    rows = joined.rename_axis("month").reset_index()
    return tuple(MonthOfBooks(**row) for row in records_of(rows))
