"""Stock moved between the handing out of a sheet and its coming back: what was counted then is not what lies there now.

Whoever counted against an older book counts again: common practice, no source.
"""

from collections.abc import Iterable

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import reverse
from support_shelf import act, item, stocked
from support_stocktake import cells, codes, fill, line, posted, saved, sheet

from inventory.counting.stocktaking import take_sheet
from inventory.ground.findings import Refused
from inventory.models import Lot, Stocktake
from inventory.stock.ledger import give_back, issue

pytestmark = pytest.mark.django_db


def without(book: openpyxl.Workbook, column: str) -> openpyxl.Workbook:
    heads = [cell.value for cell in book.active[1]]
    book.active.delete_cols(heads.index(column) + 1)
    return book


def said(book: openpyxl.Workbook, column: str, values: Iterable[object]) -> openpyxl.Workbook:
    for cell, value in zip(cells(book, column), values, strict=True):
        cell.value = value
    return book


def test_rows_whose_lots_moved_are_named_with_what_moved(
    count: Stocktake, browser: Browser, cord: Lot, tips: Lot, cloth: Lot
):
    data = fill(sheet(browser, 1), 5, 10, 200)
    issue(act(), lot=cord, quantity=3_000, job="Q1")
    issue(act(), lot=tips, quantity=10, job="Q1")
    with pytest.raises(Refused) as refused:
        take_sheet(count, data=data, filename="count.xlsx")
    assert codes(refused) == ["count.moved"] * 2
    first, second = refused.value.findings
    assert first.where.startswith("Lacing cord, ")
    assert first.message.startswith("It moved since the sheet was handed out, so count it again: issued −3 m at ")
    assert "issued −10" in second.message
    assert not count.lines.filter(counted__isnull=False).exists()
    # Counted again on a new sheet, it counts against the book of today.
    assert take_sheet(count, data=fill(sheet(browser, 1), 5, 7, 190), filename="count.xlsx") == 3
    assert posted(count) is None


def test_what_went_and_came_back_is_named_too(count: Stocktake, browser: Browser, cord: Lot):
    data = fill(sheet(browser, 1), None, 10, None)
    issue(act(), lot=cord, quantity=2_000, job="Q1")
    give_back(act(), lot=cord, quantity=2_000, job="Q1")
    with pytest.raises(Refused, match=r"issued −2 m at .*, returned .2 m at"):
        take_sheet(count, data=data, filename="count.xlsx")


def test_a_row_left_empty_may_have_moved(count: Stocktake, browser: Browser, cord: Lot, tips: Lot):
    data = fill(sheet(browser, 1), None, None, 200)
    issue(act(), lot=cord, quantity=3_000, job="Q1")
    assert take_sheet(count, data=data, filename="count.xlsx") == 1


def test_the_page_shows_what_moved(count: Stocktake, browser: Browser, cord: Lot):
    data = fill(sheet(browser, 1), None, 10, None)
    issue(act(), lot=cord, quantity=3_000, job="Q1")
    upload = reverse("inventory:stocktake-upload", args=[1])
    answer = browser.post(upload, {"file": SimpleUploadedFile("count.xlsx", data)})
    assert answer.status_code == 422
    assert "It moved since the sheet was handed out, so count it again: issued −3 m at" in answer.content.decode()


def test_a_sheet_that_does_not_say_its_movements_counts_from_the_start(
    count: Stocktake, browser: Browser, cord: Lot, tips: Lot
):
    data = fill(without(sheet(browser, 1), "Movement"), None, 10, 200)
    assert take_sheet(count, data=data, filename="count.xlsx") == 2
    issue(act(), lot=cord, quantity=3_000, job="Q1")
    data = fill(without(sheet(browser, 1), "Movement"), None, 7, 200)
    with pytest.raises(Refused, match="issued −3 m"):
        take_sheet(count, data=data, filename="count.xlsx")


@pytest.mark.parametrize("movement", ["", "some", -1, 10**9, "other"])
def test_a_movement_that_is_none_of_the_lot_is_refused(
    movement: object, count: Stocktake, browser: Browser, cord: Lot, tips: Lot
):
    """As where a spreadsheet counts on down a column."""
    book = sheet(browser, 1)
    of = [cell.value for cell in cells(book, "Movement")]
    book = said(book, "Movement", [of[0], of[2] if movement == "other" else movement, of[2]])
    book = said(book, "Counted", [None, 10, None])
    with pytest.raises(Refused, match="is no movement of this lot") as refused:
        take_sheet(count, data=saved(book), filename="count.xlsx")
    assert [found.where for found in refused.value.findings] == ["row 3, Movement"]
    assert line(count, cord).counted is None


def test_a_paper_sheet_says_when_and_its_line_what_moved_since(count: Stocktake, browser: Browser, cord: Lot):
    """What is counted on paper is typed in later, on a page that is opened after the movement."""
    assert "What moves after that is counted again." in browser.get("/shelf/stocktakes/1/print/").content.decode()
    page = reverse("inventory:count-line", args=[1, line(count, cord).pk])
    assert "It moved since" not in browser.get(page).content.decode()
    issue(act(), lot=cord, quantity=3_000, job="Q1")
    stocked(item("cord"), 5_000, 100)
    words = browser.get(page).content.decode()
    assert "It moved since this stocktake was started: issued −3 m at" in words
