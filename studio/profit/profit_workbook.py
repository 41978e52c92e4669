"""Finished pieces as a workbook for a bookkeeper: figures as numbers, and all that is worked out from them as formulas."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from openpyxl.utils import get_column_letter

from inventory.ground.money import Currency
from inventory.ground.sheets import Cell, Formula, SheetBook
from studio.profit.analysis import StylesByMonth, months_of_books, styles_by_month
from studio.profit.profit_json import Books, profit_document
from studio.profit.totals import win_rates

__all__ = ["profit_workbook"]

Document = dict[str, Any]

_FIGURES = ("net", "fee", "materials", "spoiled", "labour", "overhead", "extras")
_HEADER = (
    *("Job", "Piece", "Delivered"),
    *("Net", "Fee", "Materials", "Spoiled", "Labour", "Overhead", "Extras"),  # D to J
    *("Profit", "Quoted profit", "Bridge", "Difference", "Hours", "An hour", "Margin"),  # K to Q
)
_SHEETS = (
    ("By style", "Style", "by_style"),
    ("By construction", "Construction", "by_construction"),
    ("By client", "Client", "by_client"),
    ("By month", "Month", "by_month"),
)
_MONTHS = (
    "Month",
    "Pieces",
    "Net",
    "Profit",
    "Overhead",
    "Quotes won",
    "Their prices",
    "Quotes lost",
    "Their prices",
    "Won share",
)
PERCENT = "0.0%"


def profit_workbook(
    books: Books, *, besides: Mapping[str, tuple[Sequence[str], Iterable[Sequence[Cell]]]] | None = None
) -> bytes:
    """Return an XLSX: the sheets Pieces and Bridge, one per total, and styles by month; where a quote was decided, months and prices too.

    Difference is quoted profit + bridge − profit: nothing, in every row.

    Args:
        besides: sheets to put behind these, header and rows by title.
    """
    document, currency, rows = profit_document(books), books.currency, list(books.accounts)
    digits = currency.digits
    shown = "0." + "0" * digits if digits else "0"
    pieces: Sequence[Document] = document["pieces"]
    book = SheetBook()
    book.sheet("Pieces", _HEADER, [*_pieces(pieces, digits, shown), *_sums(len(pieces), shown)])
    book.sheet(
        "Bridge",
        ["Job", "Code", "What", f"Amount {document['currency']}"],
        (
            [piece["job"], line["code"], line["what"], Decimal(line["amount"])]
            for piece in pieces
            for line in piece["bridge"]
        ),
    )
    for title, head, key in _SHEETS:
        header = [head, "Pieces", "Net", "Quoted profit", "Profit", "Hours", "An hour", "Margin"]
        book.sheet(title, header, _totals(document["totals"][key], shown, len(pieces)))
    by_month = styles_by_month(rows)
    book.sheet("Styles by month", ["Profit", *by_month.months, "Together"], _styles(by_month, currency, shown))
    if books.outcomes:
        book.sheet("Months and quotes", _MONTHS, _months(books, shown))
        book.sheet("By price", ["From", "Below", "Quotes", "Won", "Won share"], _prices(books))
    for title, (columns, lines) in (besides or {}).items():
        book.sheet(title, columns, lines)
    return book.data()


def _pieces(pieces: Sequence[Document], digits: int, shown: str) -> Iterator[list[Cell]]:
    first = 2
    for row, piece in enumerate(pieces, start=2):
        last = first + len(piece["bridge"]) - 1
        yield [
            piece["job"],
            piece["title"],
            date.fromisoformat(piece["delivered"]),
            *(Decimal(piece[name]) for name in _FIGURES),
            Formula(f"=D{row}-SUM(E{row}:J{row})", shown),
            Decimal(piece["quoted_profit"]),
            Formula(f"=SUM(Bridge!D{first}:D{last})", shown) if piece["bridge"] else 0,
            Formula(f"=ROUND(L{row}+M{row}-K{row},{digits})", shown),
            Decimal(piece["hours"]),
            Formula(f'=IF(O{row}>0,ROUND((K{row}+H{row})/O{row},{digits}),"")', shown),
            Formula(f'=IF(D{row}>0,K{row}/D{row},"")', PERCENT),
        ]
        first = last + 1


def _sums(count: int, shown: str) -> Iterator[list[Cell]]:
    if not count:
        return
    row = count + 2
    yield [
        "Together",
        "",
        "",
        *(Formula(f"=SUM({column}2:{column}{row - 1})", shown) for column in "DEFGHIJKLMN"),
        Formula(f"=SUM(O2:O{row - 1})", "0.00"),
        Formula(f'=IF(O{row}>0,(K{row}+H{row})/O{row},"")', shown),
        Formula(f'=IF(D{row}>0,K{row}/D{row},"")', PERCENT),
    ]


def _totals(rows: Sequence[Document], shown: str, pieces: int) -> Iterator[list[Cell]]:
    for row, total in enumerate(rows, start=2):
        yield [
            total["key"],
            total["pieces"],
            *(Decimal(total[name]) for name in ("net", "quoted_profit", "actual_profit", "hours")),
            None if total["per_hour"] is None else Decimal(total["per_hour"]),
            Formula(f'=IF(C{row}>0,E{row}/C{row},"")', PERCENT),
        ]
    if rows:
        row = len(rows) + 2
        sums = (Formula(f"=SUM({column}2:{column}{row - 1})", shown) for column in "CDE")
        count, hours = Formula(f"=SUM(B2:B{row - 1})"), Formula(f"=SUM(F2:F{row - 1})", "0.00")
        # What all of them earned an hour stands below the pieces, where their labour stands too.
        hourly = Formula(f"=Pieces!P{pieces + 2}", shown)
        yield ["Together", count, *sums, hours, hourly, Formula(f'=IF(C{row}>0,E{row}/C{row},"")', PERCENT)]


def _styles(by_month: StylesByMonth, currency: Currency, shown: str) -> Iterator[list[Cell]]:
    """Profit, a row for each style; both ways together."""
    last, below = get_column_letter(len(by_month.months) + 1), len(by_month.styles) + 2
    for row, (style, amounts) in enumerate(by_month.styles, start=2):
        yield [style, *map(currency.from_minor, amounts), Formula(f"=SUM(B{row}:{last}{row})", shown)]
    if by_month.styles:
        columns = (get_column_letter(place) for place in range(2, len(by_month.months) + 3))
        yield ["Together", *(Formula(f"=SUM({column}2:{column}{below - 1})", shown) for column in columns)]


def _months(books: Books, shown: str) -> Iterator[list[Cell]]:
    money, months = books.currency.from_minor, months_of_books(list(books.accounts), books.outcomes)
    for row, month in enumerate(months, start=2):
        yield [
            month.month,
            month.pieces,
            *map(money, (month.net_minor, month.actual_profit_minor, month.overhead_minor)),
            *(month.won, money(month.won_minor), month.lost, money(month.lost_minor)),
            Formula(f'=IF(F{row}+H{row}>0,F{row}/(F{row}+H{row}),"")', PERCENT),
        ]
    if months:
        row = len(months) + 2
        sums = (Formula(f"=SUM({name}2:{name}{row - 1})", "0" if name in "BFH" else shown) for name in "BCDEFGHI")
        yield ["Together", *sums, Formula(f'=IF(F{row}+H{row}>0,F{row}/(F{row}+H{row}),"")', PERCENT)]


def _prices(books: Books) -> Iterator[list[Cell]]:
    for row, band in enumerate(win_rates(books.outcomes), start=2):
        low, high = books.currency.from_minor(band.low_minor), books.currency.from_minor(band.high_minor)
        yield [low, high, band.quotes, band.won, Formula(f"=D{row}/C{row}", PERCENT)]
