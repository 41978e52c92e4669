"""The stocktake from its start to its posting, with its pages and sheets.

Counting by weight, reasons beyond 5 %, and reservations that survive a count: common practice, no source. Values are
worked by hand from the moving average (IAS 2.27).
"""

import io
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.http import HttpResponse
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from support_shelf import act, item, stocked

from inventory.findings import Refused
from inventory.models import CountLine, Lot, Movement, Posting, Reservation, StockItem, Stocktake
from inventory.services.audit import audit
from inventory.services.ledger import Remnant, issue, split_off
from inventory.services.stocktake import (
    Counted,
    differences,
    drop,
    keep_counts,
    lines_of,
    places,
    post,
    seen,
    shortfalls,
    start,
    take_sheet,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def cord() -> Lot:
    """10 m of cord worth 10.00, in Drawer 2; 33 g/m."""
    made = item("cord", place="Drawer 2", material__facts={"grams_per_metre": "33"}, material__name="Lacing cord")
    return stocked(made, 10_000, 10_00)


@pytest.fixture
def tips() -> Lot:
    """200 tips worth 20.00, in Drawer 2; 18.4 g a hundred."""
    made = item("tip", place="Drawer 2", material__facts={"grams_per_hundred": "18.4"}, material__name="Tips")
    return stocked(made, 200, 20_00)


@pytest.fixture
def cloth() -> Lot:
    """5 m of cloth in the chest."""
    return stocked(item("cloth", place="Chest", material__name="Coutil"), 5000, 100_00)


@pytest.fixture
def count(cord: Lot, tips: Lot, cloth: Lot) -> Stocktake:
    """A blind count of the whole shelf."""
    return start(place="", is_blind=True, by=None)


def line(of: Stocktake, lot: Lot) -> CountLine:
    return of.lines.get(lot=lot)


def counted(of: Stocktake, **quantities: int) -> None:
    """Count lots by the name of their material's first word."""
    for name, quantity in quantities.items():
        row = of.lines.get(lot__item__material__name__icontains=name)
        keep_counts(of, [Counted(line=row.pk, quantity=quantity, how="counted")])


def posted(of: Stocktake, why: str = "yearly count", **reasons: str) -> Posting | None:
    by_line = {of.lines.get(lot__item__material__name__icontains=name).pk: words for name, words in reasons.items()}
    return post(of, act(why), was_seen=seen(of.lines.all()), reasons=by_line)


def codes(refused: pytest.ExceptionInfo[Refused]) -> list[str]:
    return [found.code for found in refused.value.findings]


def on_hand(of: Lot) -> int:
    return StockItem.objects.get(pk=of.item_id).on_hand


def test_a_lots_own_place_goes_before_its_items(cord: Lot, tips: Lot, cloth: Lot):
    Lot.objects.filter(pk=tips.pk).update(place="Chest")
    issue(act(), lot=stocked(cord.item, 10, 1), quantity=10, job="Q1")  # an empty lot is not counted
    assert places() == [("Chest", 2), ("Drawer 2", 1)]
    chest = start(place="Chest", is_blind=False, by=None)
    assert {row.lot for row in chest.lines.all()} == {tips, cloth}
    drawer = start(place="Drawer 2", is_blind=True, by=None)
    assert [row.lot for row in drawer.lines.all()] == [cord]
    assert (chest.number, drawer.number) == (1, 2)


def test_no_lot_is_in_two_open_counts(cord: Lot, cloth: Lot):
    drawer = start(place="Drawer 2", is_blind=True, by=None)
    for place in ("Drawer 2", ""):
        with pytest.raises(Refused, match="Stocktake 1 of Drawer 2 is being counted already") as refused:
            start(place=place, is_blind=True, by=None)
        assert codes(refused) == ["stocktake.open-already"]
    start(place="Chest", is_blind=True, by=None)
    Lot.objects.filter(pk=cord.pk).update(place="Hook")
    stocked(cord.item, 1_000, 1_00)
    for place in ("Hook", "Drawer 2"):
        with pytest.raises(Refused, match="Stocktake 1"):
            start(place=place, is_blind=True, by=None)
    drop(drawer)
    assert [row.lot for row in start(place="Hook", is_blind=True, by=None).lines.all()] == [cord]


def test_where_nothing_lies_nothing_is_counted():
    with pytest.raises(Refused, match="Nothing lies there"):
        start(place="Attic", is_blind=True, by=None)
    assert not Stocktake.objects.exists()


def test_the_difference_is_posted_whatever_moved_between(count: Stocktake, cord: Lot):
    counted(count, cord=9_700)
    issue(act(), lot=cord, quantity=2_000, job="Q1")
    row = line(count, cord)
    assert (row.counted, row.book_quantity, row.difference) == (9_700, 10_000, -300)
    posting = posted(count)
    assert posting is not None
    assert on_hand(cord) == 7_700
    assert list(posting.movements.values_list("quantity", "value_minor")) == [(-300, -30)]
    assert (posting.kind, posting.why) == ("count", "Stocktake 1: yearly count")
    assert audit()["differences"] == []


def test_a_later_count_takes_the_place_of_an_earlier_with_its_own_book(count: Stocktake, cord: Lot):
    counted(count, cord=9_000)
    issue(act(), lot=cord, quantity=1_000, job="Q1")
    counted(count, cord=9_000)
    assert line(count, cord).difference == 0


def test_only_what_differs_is_posted_and_what_is_not_counted_stays(count: Stocktake, cord: Lot, tips: Lot, cloth: Lot):
    counted(count, cord=10_000, tips=204)
    posting = posted(count)
    assert posting is not None
    assert list(posting.movements.values_list("lot", "quantity", "value_minor")) == [(tips.pk, 4, 40)]
    count.refresh_from_db()
    assert (count.state, count.why, count.posting) == ("posted", "yearly count", posting)
    assert line(count, cloth).counted is None
    assert on_hand(cloth) == 5000


def test_a_count_that_agrees_is_closed_without_a_posting(count: Stocktake):
    counted(count, cord=10_000, tips=200)
    assert posted(count, why="") is None
    count.refresh_from_db()
    assert count.state == "posted"
    assert count.posted_at is not None
    assert not Posting.objects.filter(kind="count").exists()


@pytest.mark.parametrize(
    ("quantity", "needs"), [(9_500, False), (9_499, True), (10_500, False), (10_501, True), (0, True)]
)
def test_a_difference_beyond_five_percent_needs_a_reason(count: Stocktake, cord: Lot, quantity: int, needs: bool):
    counted(count, cord=quantity)
    (found,) = differences(count)
    assert found.needs_reason is needs
    if needs:
        with pytest.raises(Refused, match="more than 5 %") as refused:
            posted(count)
        assert codes(refused) == ["stocktake.no-reason"]
        assert not Posting.objects.filter(kind="count").exists()
    posted(count, cord="moths")
    assert line(count, cord).reason == "moths"


def test_differences_are_valued_at_the_average_and_then_at_what_the_ledger_took(cord: Lot, tips: Lot):
    """16.00 for 12 m: 0.2 m are 0.2667, so 0.27; 1 tip is 0.10."""
    stocked(cord.item, 2_000, 6_00)
    count = start(place="Drawer 2", is_blind=True, by=None)
    keep_counts(count, [Counted(line=line(count, cord).pk, quantity=9_800, how="counted")])
    counted(count, tips=201)
    values = {entry.line.lot: (entry.quantity, entry.value_minor) for entry in differences(count)}
    assert values == {cord: (-200, -27), tips: (1, 10)}
    posted(count)
    stocked(cord.item, 1_000, 90_00)
    count.refresh_from_db()
    assert {entry.line.lot: entry.value_minor for entry in differences(count)} == {cord: -27, tips: 10}


def test_nothing_is_posted_without_a_count_or_a_reason_for_the_whole(count: Stocktake):
    with pytest.raises(Refused) as refused:
        posted(count)
    assert codes(refused) == ["stocktake.nothing-counted"]
    counted(count, tips=199)
    with pytest.raises(Refused) as refused:
        posted(count, why="")
    assert codes(refused) == ["ledger.no-cause"]
    count.refresh_from_db()
    assert count.state == "open"


def test_nothing_is_posted_that_the_page_did_not_show(count: Stocktake):
    counted(count, tips=199)
    shown = seen(count.lines.all())
    counted(count, cord=9_900)
    with pytest.raises(Refused, match="counted meanwhile"):
        post(count, act("count"), was_seen=shown, reasons={})
    assert not Posting.objects.filter(kind="count").exists()


def test_what_left_after_the_count_cannot_be_missing_twice(count: Stocktake, tips: Lot):
    counted(count, tips=195)
    issue(act(), lot=tips, quantity=198, job="Q1")
    with pytest.raises(Refused) as refused:
        posted(count)
    assert codes(refused) == ["ledger.not-enough"]
    count.refresh_from_db()
    assert (count.state, line(count, tips).reason, on_hand(tips)) == ("open", "", 2)


@pytest.mark.parametrize("end", ["post", "drop"])
def test_what_is_over_takes_no_more(count: Stocktake, end: str):
    counted(count, tips=199)
    if end == "post":
        posted(count)
    else:
        drop(count)
    before = Movement.objects.count()
    for doing in (lambda: posted(count), lambda: drop(count), lambda: counted(count, cord=1)):
        with pytest.raises(
            Refused, match=f"Stocktake 1 is {'posted' if end == 'post' else 'dropped'} already"
        ) as refused:
            doing()
        assert codes(refused) == ["stocktake.over"]
    assert Movement.objects.count() == before


def test_reservations_survive_and_those_that_are_short_are_named(count: Stocktake, cord: Lot, tips: Lot):
    def keep(reference: str, lot: Lot, quantity: int, issued: int = 0, **facts: Any) -> None:
        kept = Reservation.objects.create(reference=reference, title="Stage", needed_by="2027-01-04", **facts)
        kept.lines.create(item=lot.item, quantity=quantity, issued=issued, operation="lacing")

    keep("Q1", cord, 6_000, is_firm=True)
    keep("Q2", cord, 5_000, issued=1_100, is_firm=True)
    keep("Q3", cord, 9_000, expires_on="2027-02-01")
    keep("Q4", cord, 9_000, is_firm=True, state="released")
    keep("Q5", tips, 199, is_firm=True)
    counted(count, cord=9_899, tips=199)
    posted(count)
    (short,) = shortfalls(count)
    assert (short.item, short.item.on_hand, short.needed) == (cord.item, 9_899, 9_900)
    assert [(row.reservation.reference, row.remaining) for row in short.lines] == [("Q1", 6_000), ("Q2", 3_900)]
    assert Reservation.objects.filter(state="open").count() == 4


def test_a_remnant_is_counted_as_the_length_it_stands_for(cloth: Lot):
    """670 × 400 mm of a cloth 1340 mm wide are 200 mm of its length; 100.00 for 5 m in all make them 4.00."""
    split_off(act(), lot=cloth, remnant=Remnant(width_mm=670, length_mm=400))
    remnant = Lot.objects.get(from_lot=cloth)
    count = start(place="Chest", is_blind=True, by=None)
    keep_counts(count, [Counted(line=line(count, remnant).pk, quantity=0, how="counted")])
    (found,) = differences(count)
    assert (found.quantity, found.value_minor) == (-200, -4_00)
    post(count, act("count"), was_seen=seen(count.lines.all()), reasons={line(count, remnant).pk: "used up"})
    cloth.item.refresh_from_db()
    assert (cloth.item.on_hand, cloth.item.in_remnants) == (4800, 0)
    assert audit()["differences"] == []


# The sheet


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
    assert lines[0] == "Counted;Unit;Lot;Material;Place;Line;Stocktake"
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


# The pages


def page(response: HttpResponse, status: int = 200) -> str:
    text = response.content.decode()
    assert response.status_code == status, text
    return " ".join(text.split())


def test_a_count_from_first_to_last_on_a_phone(browser: Browser, cord: Lot, tips: Lot):
    begun = browser.post(reverse("inventory:stocktakes"), {"place": "at Drawer 2", "is_blind": "on"})
    count = Stocktake.objects.get()
    assert begun["Location"] == reverse("inventory:stocktake", args=[1])
    assert count.started_by is not None
    first, second = (reverse("inventory:count-line", args=[1, line(count, lot).pk]) for lot in (cord, tips))
    assert f'href="{first}">Count</a>' in page(browser.get(begun["Location"]))
    assert f'href="{second}">Skip</a>' in page(browser.get(first))
    # 165 g net at 33 g/m, by hand 5 m; 35.7 g at 18.4 g a hundred, by hand 194.02.
    went = browser.post(first, {"gross": "245", "empty": "80", "amount": ""})
    assert went["Location"] == second
    done = browser.post(second, {"gross": "35,7", "empty": "", "amount": ""})
    assert done["Location"] == reverse("inventory:stocktake-review", args=[1])
    rows = list(lines_of(count).values_list("counted", "book_quantity", "how"))
    assert rows == [(5_000, 10_000, "165 g net at 33 g/m"), (194, 200, "35.7 g net at 18.4 g per 100")]
    text = page(browser.get(done["Location"]))
    assert "−5 m" in text
    assert "−€5.60" in text
    said = {"key": str(uuid4()), "was_seen": seen(count.lines.all()), "why": "yearly"}
    refused = page(browser.post(done["Location"], said), 422)
    assert refused.count("More than 5 % needs a reason.") == 1
    said |= {f"reason_{line(count, cord).pk}": "sold at a fair"}
    text = page(browser.post(done["Location"], said, follow=True))
    assert "Stocktake 1 is posted." in text
    assert "sold at a fair" in text
    # A double click, and a new form of the same page, post nothing more.
    for again in (said, {**said, "key": str(uuid4())}):
        assert "Stocktake 1 is posted already." in page(browser.post(done["Location"], again, follow=True))
    assert Posting.objects.filter(kind="count").count() == 1
    assert (on_hand(cord), on_hand(tips)) == (5_000, 194)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({}, "Write down what lies there; 0 where nothing does."),
        ({"amount": "5", "gross": "245"}, "Write down the amount or the weight, not both."),
        ({"amount": "5 m"}, "&#x27;5 m&#x27; is not a number"),
        ({"amount": "1.0005"}, "1.0005 is finer than a millimetre."),
        ({"gross": "80", "empty": "245"}, "The empty reel at 245 g weighs more than the 80 g with all on it."),
        ({"gross": "heavy"}, "&#x27;heavy&#x27; is not a number"),
        ({"empty": "80"}, "Write down what lies there"),
    ],
)
def test_a_count_that_cannot_be_is_said_and_not_kept(
    count: Stocktake, browser: Browser, cord: Lot, said: dict[str, str], words: str
):
    address = reverse("inventory:count-line", args=[1, line(count, cord).pk])
    assert words in page(browser.post(address, {"amount": "", **said}), 422)
    assert line(count, cord).counted is None


def test_nothing_is_a_count_too(count: Stocktake, browser: Browser, cord: Lot):
    browser.post(reverse("inventory:count-line", args=[1, line(count, cord).pk]), {"amount": "0"})
    assert line(count, cord).counted == 0


def test_weights_are_asked_for_where_the_material_says_what_it_weighs(count: Stocktake, browser: Browser, cloth: Lot):
    text = page(browser.get(reverse("inventory:count-line", args=[1, line(count, cloth).pk])))
    assert 'name="amount"' in text
    assert 'name="gross"' not in text


@pytest.mark.parametrize("is_blind", [True, False])
def test_a_blind_count_shows_no_book_while_counting(cord: Lot, browser: Browser, is_blind: bool):
    stocked(cord.item, 7_654, 1_00)
    count = start(place="Drawer 2", is_blind=is_blind, by=None)
    last = count.lines.last()
    assert last is not None
    for name, *more in (["stocktake"], ["count-line", last.pk], ["stocktake-print"]):
        text = page(browser.get(reverse(f"inventory:{name}", args=[1, *more])))
        assert ("7.654 m" in text) is not is_blind


def test_the_review_says_what_is_not_counted_and_what_agrees(count: Stocktake, browser: Browser):
    counted(count, cord=10_000)
    address = reverse("inventory:stocktake-review", args=[1])
    assert "What was counted agrees with the book." in page(browser.get(address))
    counted(count, tips=199)
    text = page(browser.get(address))
    assert "1 counted line agrees with the book." in text
    assert "Not counted, and left as they are" in text
    assert text.count('<span class="unit">Lot ') == 1


def test_work_that_is_short_after_the_posting_is_named_on_the_page(count: Stocktake, browser: Browser, cord: Lot):
    kept = Reservation.objects.create(
        reference="Q12", title="Stage", is_firm=True, needed_by="2027-01-04", link="/quotes/12/"
    )
    kept.lines.create(item=cord.item, quantity=9_900, operation="lacing")
    counted(count, cord=9_800)
    posted(count)
    text = page(browser.get(reverse("inventory:stocktake-review", args=[1])))
    assert 'Lacing cord</span> 9.8 m on hand, 9.9 m kept: <a href="/quotes/12/">Q12</a> needs 9.9 m.' in text


def test_a_page_that_is_stale_is_refused_and_shows_the_new_list(count: Stocktake, browser: Browser):
    counted(count, tips=199)
    address = reverse("inventory:stocktake-review", args=[1])
    said = {"key": str(uuid4()), "was_seen": seen(count.lines.all()), "why": "yearly"}
    counted(count, cord=9_900)
    text = page(browser.post(address, said), 422)
    assert "Something was counted meanwhile." in text
    assert f'name="was_seen" value="{seen(count.lines.all())}"' in text


def test_a_sheet_is_handed_in_on_the_page(count: Stocktake, browser: Browser, cord: Lot):
    address = reverse("inventory:stocktake-upload", args=[1])
    good = SimpleUploadedFile("count.xlsx", fill(sheet(browser, 1), 5, 9.75, None))
    assert "2 lines counted by the sheet." in page(browser.post(address, {"file": good}, follow=True))
    bad = SimpleUploadedFile("count.xlsx", fill(sheet(browser, 1), 5, "a few", None))
    text = page(browser.post(address, {"file": bad}), 422)
    assert "row 3, Counted" in text
    assert "This field is required." in page(browser.post(address), 422)
    assert line(count, cord).counted == 9_750


def test_a_count_that_is_dropped_leaves_the_books(count: Stocktake, browser: Browser, tips: Lot):
    counted(count, tips=1)
    address = reverse("inventory:stocktake-drop", args=[1])
    assert browser.get(address).status_code == 405
    assert "Stocktake 1 is dropped." in page(browser.post(address, follow=True))
    assert "Stocktake 1 is dropped already." in page(browser.post(address, follow=True))
    assert on_hand(tips) == 200
    assert "nothing was posted" in page(browser.get(reverse("inventory:stocktake", args=[1]), follow=True))
    for name in ("inventory:stocktake-upload", "inventory:stocktake-review"):
        assert browser.post(reverse(name, args=[1]))["Location"] == reverse("inventory:stocktake-review", args=[1])


def test_the_whole_shelf_is_one_of_the_places(browser: Browser, cord: Lot, cloth: Lot):
    address = reverse("inventory:stocktakes")
    assert '<option value="at ">The whole shelf (2 lots)</option>' in page(browser.get(address))
    browser.post(address, {"place": "at "})
    count = Stocktake.objects.get()
    assert (count.place, count.is_blind, count.lines.count()) == ("", False, 2)


def test_a_second_count_of_a_place_is_refused_on_the_page(count: Stocktake, browser: Browser):
    text = page(browser.post(reverse("inventory:stocktakes"), {"place": "at Chest"}), 422)
    assert "Stocktake 1 of the whole shelf is being counted already." in text
    assert Stocktake.objects.count() == 1


def test_a_line_of_another_count_is_not_found(cord: Lot, cloth: Lot, browser: Browser):
    start(place="Drawer 2", is_blind=True, by=None)
    chest = start(place="Chest", is_blind=True, by=None)
    assert browser.get(reverse("inventory:count-line", args=[1, line(chest, cloth).pk])).status_code == 404


def test_pages_take_as_many_queries_for_many_lots_as_for_few(browser: Browser, cord: Lot):
    taken = []
    for _ in range(2):
        for _ in range(4):
            stocked(item("cord", place="Drawer 2"), 1_000, 1_00)
        count = start(place="", is_blind=False, by=None)
        for row in count.lines.all()[1:]:
            keep_counts(count, [Counted(line=row.pk, quantity=5, how="counted")])
        addresses = [reverse("inventory:stocktakes")] + [
            reverse(f"inventory:{name}", args=[count.number, *more])
            for name, *more in (
                ["stocktake"],
                ["stocktake-print"],
                ["stocktake-xlsx"],
                ["stocktake-review"],
                ["count-line", row.pk],
            )
        ]
        queries = []
        for address in addresses:
            with CaptureQueriesContext(
                connection,
            ) as captured:
                assert browser.get(address).status_code == 200
            queries.append(len(captured))
        posted_row = post(
            count,
            act("x"),
            was_seen=seen(count.lines.all()),
            reasons=dict.fromkeys(count.lines.values_list("pk", flat=True), "why not"),
        )
        assert posted_row is not None
        with CaptureQueriesContext(connection) as captured:
            browser.get(reverse("inventory:stocktake-review", args=[count.number]))
        taken.append([*queries, len(captured)])
    assert taken[0] == taken[1]
    assert max(taken[0]) < 12
