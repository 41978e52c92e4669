"""Finished pieces as a workbook for a bookkeeper: figures as numbers, and all that is worked out from them as formulas."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.ground.money import currency_of
from inventory.ground.sheets import Cell, Formula, SheetBook

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
PERCENT = "0.0%"


def profit_workbook(document: Document) -> bytes:
    """Return an XLSX with the sheets Pieces, Bridge and one per total, from the printed document alone.

    Difference is quoted profit + bridge − profit: nothing, in every row.
    """
    digits = currency_of(document["currency"]).digits
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
