"""The sheet of a stocktake that is taken to the shelf and handed in; what is wrong in it is named by its row."""

import openpyxl
import pytest
from django.test import Client as Browser
from support_shelf import act
from support_stocktake import cells, fill, line, saved, sheet

from inventory.counting.stocktaking import drop, start, take_sheet
from inventory.ground.findings import Refused
from inventory.models import Lot, Stocktake
from inventory.stock.ledger import issue

pytestmark = pytest.mark.django_db


def test_the_sheet_goes_out_and_comes_back(count: Stocktake, browser: Browser, cord: Lot, tips: Lot, cloth: Lot):
    book = sheet(browser, 1)
    assert [cell.value for cell in cells(book, "Material")] == ["Coutil", "Lacing cord", "Tips"]
    assert [cell.value for cell in cells(book, "Unit")] == ["m", "m", "each"]
    assert [cell.value for cell in cells(book, "Line")] == [line(count, lot).pk for lot in (cloth, cord, tips)]
    data = fill(book, None, 9.75, "195")
    assert take_sheet(count, data=data, filename="count.xlsx") == 2
    row = line(count, cord)
    assert (row.counted, row.book_quantity, row.how) == (9_750, 10_000, "from the sheet, row 3")
    assert (line(count, tips).counted, line(count, cloth).counted) == (195, None)
    # Handed in again after something moved, it does not count the old figures against the new book.
    issue(act(), lot=cord, quantity=1_000, job="Q1")
    assert take_sheet(count, data=data, filename="count.xlsx") == 0
    assert line(count, cord).difference == -250


def test_a_sheet_is_in_whatever_order_and_may_come_back_as_csv(
    count: Stocktake, browser: Browser, cord: Lot, tips: Lot
):
    rows = list(sheet(browser, 1).active.iter_rows(values_only=True))
    text = "\n".join(";".join(str(cell or "") for cell in reversed(row)) for row in rows)
    lines = text.splitlines()
    assert lines[0] == "Counted;Unit;Lot;Material;Place;Movement;Line;Stocktake"
    lines[2] = "9,75" + lines[2]
    assert take_sheet(count, data="\n".join([lines[0], "", *lines[:0:-1]]).encode(), filename="count.csv") == 1
    assert line(count, cord).counted == 9_750


def test_a_blind_sheet_does_not_tell_the_book(count: Stocktake, browser: Browser, cord: Lot):
    assert "Book" not in [cell.value for cell in sheet(browser, 1).active[1]]
    drop(count)
    start(place="Drawer 2", is_blind=False, by=None)
    book = sheet(browser, 2)
    assert [cell.value for cell in cells(book, "Book")] == [10, 200]


def spoil(book: openpyxl.Workbook, column: str, *values: object) -> openpyxl.Workbook:
    for cell, value in zip(cells(book, column), values, strict=False):
        cell.value = value
    return book


@pytest.mark.parametrize(
    ("column", "values", "found"),
    [
        ("Stocktake", [7], [("stocktake.other-sheet", "row 2", "The row belongs to stocktake 7, not to 1.")]),
        ("Line", [999], [("stocktake.unknown-line", "row 2", "Line 999 is not of this stocktake.")]),
        ("Line", [None], [("stocktake.unknown-line", "row 2", "Line (none) is not of this stocktake.")]),
        (
            "Counted",
            [5, "some", 1.5],
            [
                ("stocktake.not-a-count", "row 3, Counted", "'some' is not a number: write 28.5 or 28 1/2."),
                ("stocktake.not-a-count", "row 4, Counted", "1.5 is no whole number."),
            ],
        ),
        ("Counted", [-1, 9.0005], [
            ("stocktake.not-a-count", "row 2, Counted", "-1 is less than zero."),
            ("stocktake.not-a-count", "row 3, Counted", "9.0005 is finer than a millimetre."),
        ]),
        ("Counted", [None] * 3, [("stocktake.sheet-empty", "count.xlsx", "Nothing is counted in the sheet.")]),
    ],
)  # fmt: skip
def test_a_sheet_with_a_fault_is_refused_whole(
    count: Stocktake, browser: Browser, column: str, values: list[object], found: list[tuple[str, str, str]]
):
    book = spoil(spoil(sheet(browser, 1), "Counted", 5, 10, 200), column, *values)
    with pytest.raises(Refused) as refused:
        take_sheet(count, data=saved(book), filename="count.xlsx")
    assert [(fault.code, fault.where, fault.message) for fault in refused.value.findings] == found
    assert not count.lines.filter(counted__isnull=False).exists()


def test_a_line_twice_and_a_sheet_without_its_columns_are_refused(count: Stocktake, browser: Browser):
    book = spoil(sheet(browser, 1), "Counted", 5, 10, 200)
    book.active.append([cell.value for cell in book.active[2]])
    with pytest.raises(Refused, match="is counted in row 2 too"):
        take_sheet(count, data=saved(book), filename="count.xlsx")
    with pytest.raises(Refused, match="lacks one of the columns"):
        take_sheet(count, data=b"Line;Counted\n1;5\n", filename="count.csv")
