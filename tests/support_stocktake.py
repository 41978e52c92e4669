"""Steps of a stocktake that tests take: lines, counts, postings, sheets."""

import io
from collections.abc import Iterator
from typing import Any

import openpyxl
import pytest
from django.test import Client as Browser
from django.urls import reverse
from support_shelf import act

from inventory.counting.stocktaking import Counted, counts_fingerprint, keep_counts, post
from inventory.ground.findings import Refused
from inventory.models import CountLine, Lot, Posting, StockItem, Stocktake


def line(of: Stocktake, lot: Lot) -> CountLine:
    return of.lines.get(lot=lot)


def counted(of: Stocktake, **quantities: int) -> None:
    """Count lots by the name of their material's first word."""
    for name, quantity in quantities.items():
        row = of.lines.get(lot__item__material__name__icontains=name)
        keep_counts(of, [Counted(line=row.pk, quantity=quantity, how="counted")])


def posted(of: Stocktake, why: str = "yearly count", **reasons: str) -> Posting | None:
    by_line = {of.lines.get(lot__item__material__name__icontains=name).pk: words for name, words in reasons.items()}
    return post(of, act(why), was_seen=counts_fingerprint(of.lines.all()), reasons=by_line)


def codes(refused: pytest.ExceptionInfo[Refused]) -> list[str]:
    return [found.code for found in refused.value.findings]


def on_hand(of: Lot) -> int:
    return StockItem.objects.get(pk=of.item_id).on_hand


def sheet(of: Browser, number: int) -> openpyxl.Workbook:
    response = of.get(reverse("inventory:stocktake-xlsx", args=[number]))
    assert response["Content-Disposition"] == f'attachment; filename="stocktake-{number}.xlsx"'
    return openpyxl.load_workbook(io.BytesIO(response.content))


def saved(book: openpyxl.Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def cells(book: openpyxl.Workbook, column: str) -> Iterator[Any]:
    """A column's cells below the header."""
    heads = [cell.value for cell in book.active[1]]
    return iter([row[heads.index(column)] for row in book.active.iter_rows(min_row=2)])


def fill(book: openpyxl.Workbook, *values: object) -> bytes:
    for cell, value in zip(cells(book, "Counted"), values, strict=True):
        cell.value = value
    return saved(book)
