"""The rows of a year's result as a list that can be taken away, and as the rows of a workbook's sheet."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import django_tables2 as tables

from inventory.ground.sheets import Cell, Formula
from studio.books.year_page import line_title, row_words
from studio.profit.year import Row, YearResult

__all__ = ["YEAR_HEADER", "YearTable", "year_sheet"]

YEAR_HEADER = ("Line", "What", "Day", "Amount")
PAY = "Pay for your hours"


@dataclass(frozen=True, slots=True, kw_only=True)
class _TakenRow:
    line: str
    what: str
    day: date | None
    amount: Decimal


class YearTable(tables.Table):
    """Every row of a year, line by line, then the pay: all amounts together are what the year left."""

    line = tables.Column(verbose_name=YEAR_HEADER[0])
    what = tables.Column(verbose_name=YEAR_HEADER[1])
    day = tables.DateColumn(verbose_name=YEAR_HEADER[2], format="Y-m-d", default="")
    amount = tables.Column(verbose_name=YEAR_HEADER[3])

    def __init__(self, found: YearResult) -> None:
        super().__init__(list(_rows(found)), orderable=False)


def year_sheet(found: YearResult) -> Iterator[list[Cell]]:
    """The same rows with their sums as formulas: the result, what the year left, and for each hour worked."""
    money = found.currency
    shown = "0." + "0" * money.digits if money.digits else "0"
    rows = list(_rows(found))
    for row in rows:
        yield [row.line, row.what, row.day, row.amount]
    end = len(rows) + 1
    all_rows = f"SUM(D2:D{end})" if rows else "0"  # a sum of no rows would sum itself
    pay = f'SUMIF(A2:A{end},"{PAY}",D2:D{end})' if rows else "0"
    yield ["Result", "", None, Formula(f"={all_rows}-{pay}", shown)]
    yield ["What it left", "", None, Formula(f"={all_rows}", shown)]
    yield ["Hours worked", "", None, Formula(f"={found.worked_min}/60", "0.00")]
    below = len(rows) + 2
    hourly = f'=IF(D{below + 2}>0,ROUND(D{below + 1}/D{below + 2},{money.digits}),"")'
    yield ["An hour", "", None, Formula(hourly, shown)]


def _rows(found: YearResult) -> Iterator[_TakenRow]:
    for line in found.lines:
        yield from (_taken(line_title(line.line), row, found) for row in line.rows)
    yield from (_taken(PAY, row, found) for row in found.pay)


def _taken(line: str, row: Row, found: YearResult) -> _TakenRow:
    return _TakenRow(line=line, what=row_words(row), day=row.day, amount=row.amount)
