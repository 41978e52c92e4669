"""A maker's own table comes in: file, columns, preview, shelf; all of it or nothing, and once.

The books are checked against the ledger's own audit and against sums of the file worked by hand.
"""

import csv
import io
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import reverse
from openpyxl import Workbook
from support_importing import keep_sheet
from support_shelf import SupplierFactory, act, item, stocked

from inventory.ground.findings import Refused
from inventory.importing.importing import likely_columns, look_at, match_columns, take_in
from inventory.models import (
    ColumnMatching,
    ImportSheet,
    Lot,
    Movement,
    Posting,
    PriceRecord,
    StockItem,
    StockMaterial,
)
from inventory.spreadsheet.words import Field
from inventory.stock.audit import audit
from inventory.stock.ledger import issue

pytestmark = pytest.mark.django_db

HEADER = ["Code", "Name", "Kind", "Price", "Qty", "Unit", "Length", "Dye lot", "Place", "Supplier", "Notes"]
COUTIL = ["coutil", "Coutil, white", "fabric", "23.80", "12.5", "m", "", "K7", "Drawer 1", "", "from the fair"]
BUSK = ["busk", "Busk, silver", "busk", "11,40", "4", "pair", "10 in", "", "Box 2", "", ""]


def as_csv(*rows: list[str], header: list[str] = HEADER) -> SimpleUploadedFile:
    out = io.StringIO(newline="")
    csv.writer(out).writerows([header, *rows])
    return SimpleUploadedFile("stock.csv", out.getvalue().encode())


def as_xlsx(*rows: list[Any]) -> SimpleUploadedFile:
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(out)
    return SimpleUploadedFile("stock.xlsx", out.getvalue())


def matched(upload: SimpleUploadedFile) -> ImportSheet:
    sheet = keep_sheet(upload=upload, user=None)
    match_columns(sheet, likely_columns(sheet))
    return sheet


def counts() -> tuple[int, ...]:
    return tuple(model.objects.count() for model in (StockMaterial, StockItem, Lot, Posting, Movement, PriceRecord))


def test_a_table_becomes_materials_items_lots_and_one_receipt(maker: User):
    SupplierFactory(code="mill", name="The Old Mill")
    sheet = matched(as_csv([*COUTIL[:9], "mill", COUTIL[10]], BUSK, [*BUSK[:4], "1", "", "279", "", "Box 2", "", ""]))
    take_in(sheet, key=uuid4(), user=maker)
    coutil, busk = StockMaterial.objects.order_by("sort_order")
    assert (coutil.code, coutil.kind, coutil.unit_cost, coutil.name) == (
        "coutil",
        "cloth",
        Decimal("23.80"),
        "Coutil, white",
    )
    assert busk.lengths_tenths_mm == [2540, 2790]
    assert list(StockItem.objects.order_by("id").values_list("code", "on_hand", "value_minor", "place")) == [
        ("coutil", 12_500, 297_50, "Drawer 1"),
        ("busk-254", 4, 45_60, "Box 2"),
        ("busk-279", 1, 11_40, "Box 2"),
    ]
    posting = Posting.objects.get()
    assert (posting.kind, posting.why, posting.by) == ("receipt", "Opening stock from stock.csv", maker)
    lot = Lot.objects.get(item__code="coutil")
    assert (lot.dye_lot, lot.place, lot.supplier.code, lot.note, lot.state) == (
        "K7",
        "Drawer 1",
        "mill",
        "from the fair",
        "ready",
    )
    assert set(PriceRecord.objects.values_list("material__code", "source")) == {
        ("coutil", "Import of stock.csv"),
        ("busk", "Import of stock.csv"),
    }
    assert audit().differences == ()


def test_opening_stock_is_issued_like_any_other():
    take_in(matched(as_csv(COUTIL)), key=uuid4(), user=None)
    issue(act(), lot=Lot.objects.get(), quantity=2_500, job="Q1")
    found = StockItem.objects.get()
    assert (found.on_hand, found.value_minor) == (10_000, 238_00)
    assert audit().differences == ()


def test_what_is_there_gets_its_price_and_a_new_lot():
    cord = item(code="cord-6", material__code="cord-6", material__name="Cord 6 mm")
    stocked(cord, 10_000, 11_50)
    rows = ["cord-6", "Another name", "cord", "1.30", "5"], ["cord-6", "", "", "", "2", "", "", "B"]
    sheet = matched(as_csv(*([*row, *[""] * (len(HEADER) - len(row))] for row in rows)))
    seen = look_at(sheet)
    assert (seen.known_materials, seen.new_materials, seen.lots) == (1, 0, 2)
    take_in(sheet, key=uuid4(), user=None)
    cord.refresh_from_db()
    # 5 m at the row's 1.30; 2 m whose row says no price, at 1.15 as the shelf had it.
    assert (cord.on_hand, cord.value_minor) == (17_000, 11_50 + 6_50 + 2_30)
    assert (cord.material.name, cord.material.unit_cost) == ("Cord 6 mm", Decimal("1.30"))
    assert cord.lots.count() == 3
    assert list(PriceRecord.objects.values_list("unit_cost_millionths", flat=True)) == [1_300_000]
    assert audit().differences == ()


def test_a_new_length_is_added_to_what_is_there():
    take_in(matched(as_csv(BUSK)), key=uuid4(), user=None)
    take_in(matched(as_csv([*BUSK[:6], "229", *BUSK[7:]])), key=uuid4(), user=None)
    assert StockMaterial.objects.get().lengths_tenths_mm == [2290, 2540]
    assert set(StockItem.objects.values_list("code", "on_hand")) == {("busk-254", 4), ("busk-229", 4)}


def test_a_price_without_stock_makes_no_posting():
    take_in(matched(as_csv([*COUTIL[:4], "0", *COUTIL[5:]])), key=uuid4(), user=None)
    assert counts() == (1, 1, 0, 0, 0, 1)


def test_an_items_code_that_is_taken_gets_a_number():
    item("tip", code="busk-254", material__code="busk-254")
    take_in(matched(as_csv(BUSK)), key=uuid4(), user=None)
    assert set(StockItem.objects.values_list("code", flat=True)) == {"busk-254", "busk-254-2"}


def test_new_materials_stand_behind_those_that_are_there():
    """The first of a kind is the one that new quotes take unasked."""
    old = item(material__sort_order=7).material
    take_in(matched(as_csv(["a-cord", "A cord", "cord", "1", *[""] * 7])), key=uuid4(), user=None)
    assert list(StockMaterial.objects.filter(kind="cord").values_list("code", flat=True)) == [old.code, "a-cord"]


def test_one_bad_row_among_a_thousand_changes_nothing_and_is_named():
    rows = [[f"m-{number}", f"Material {number}", "cord", "1.15", "3", *[""] * 6] for number in range(1000)]
    rows[15][3] = "4,5o"
    sheet = matched(as_csv(*rows))
    before = counts()
    with pytest.raises(Refused) as refused:
        take_in(sheet, key=uuid4(), user=None)
    (found,) = refused.value.findings
    assert (found.where, found.message) == ("Row 17, column D, unit cost", "“4,5o” is not a number: write 4.50.")
    assert counts() == before
    sheet.refresh_from_db()
    assert sheet.taken_at is None
    rows[15][3] = "4,50"
    take_in(matched(as_csv(*rows)), key=uuid4(), user=None)
    assert StockItem.objects.filter(on_hand=3000).count() == 1000
    assert Posting.objects.count() == 1
    assert audit().differences == ()


def test_a_sheet_is_taken_in_once():
    sheet, key = matched(as_csv(COUTIL)), uuid4()
    assert take_in(sheet, key=key, user=None) is not None
    assert take_in(sheet, key=key, user=None) is None
    assert take_in(sheet, key=uuid4(), user=None) is None
    assert counts() == (1, 1, 1, 1, 1, 1)
    with pytest.raises(Refused, match="sent before"):
        take_in(matched(as_csv(BUSK)), key=key, user=None)
    assert StockMaterial.objects.count() == 1


def test_the_same_count_of_queries_whatever_the_rows(django_assert_max_num_queries: Any):
    rows = [[f"m-{number}", f"Material {number}", "cord", "1.15", "3", *[""] * 6] for number in range(300)]
    sheet = matched(as_csv(*rows))
    with django_assert_max_num_queries(60):
        take_in(sheet, key=uuid4(), user=None)


def test_rows_are_numbered_as_in_the_file_below_titles_and_blanks():
    sheet = keep_sheet(
        upload=as_xlsx(["What lies here"], [], ["Name", "Kind", "Price"], ["Cord", "cord", 1.15], [], ["Tip", "?", 1]),
        user=None,
    )
    assert sheet.first_row == 3
    match_columns(sheet, likely_columns(sheet))
    seen = look_at(sheet)
    assert [row.number for row in seen.rows] == [4]
    assert [found.where for found in seen.stops] == ["Row 6, column B, kind"]


@pytest.mark.parametrize(
    ("upload", "words"),
    [
        (SimpleUploadedFile("stock.csv", b""), "empty"),
        (SimpleUploadedFile("stock.csv", b"Name,Kind\n"), "no row below"),
        (SimpleUploadedFile("stock.csv", b"Name\n" + b"Cord\n" * 20_000), "20000 rows"),
        (SimpleUploadedFile("stock.csv", b",".join([b"a"] * 61) + b"\n"), "60 columns"),
        (SimpleUploadedFile("stock.xlsx", b"PK\x03\x04 broken"), "XLSX"),
    ],
)
def test_what_is_no_table_is_refused(upload: SimpleUploadedFile, words: str):
    with pytest.raises(Refused, match=words):
        keep_sheet(upload=upload, user=None)
    assert not ImportSheet.objects.exists()


def test_columns_are_guessed_once_and_then_remembered():
    odd = ["Blim", "Blam", "Blum"]
    sheet = keep_sheet(upload=as_csv(["Cord", "cord", "1"], header=odd), user=None)
    assert likely_columns(sheet) == {}
    columns = {Field.NAME: 0, Field.KIND: 1, Field.UNIT_COST: 2}
    match_columns(sheet, columns)
    other = keep_sheet(upload=as_csv(["Tip", "tip", "2"], header=["blim ", "BLAM", "blum"]), user=None)
    assert likely_columns(other) == columns
    match_columns(other, {Field.NAME: 0})
    assert ColumnMatching.objects.count() == 1
    assert likely_columns(keep_sheet(upload=as_csv(["x", "y", "z"], header=odd), user=None)) == {Field.NAME: 0}


def test_the_pages_lead_from_the_file_to_the_shelf(browser: Browser):
    answer = browser.post(reverse("inventory:import"), {"file": as_csv(COUTIL, BUSK)})
    sheet = ImportSheet.objects.get()
    match = reverse("inventory:import-match", args=[sheet.pk])
    assert answer.url == match
    page = browser.get(match)
    assert page.context["form"].initial["unit_cost"] == 3
    assert "Coutil, white" in page.content.decode()
    preview = reverse("inventory:import-preview", args=[sheet.pk])
    assert browser.get(preview).url == match
    chosen = {name: "" if column is None else column for name, column in page.context["form"].initial.items()}
    assert browser.post(match, chosen).url == preview
    page = browser.get(preview)
    text = " ".join(page.content.decode().split())
    assert "2 rows of stock.csv are good." in text
    assert "2 materials are new." in text
    assert "2 lots worth €343.10 would be received." in text
    key = page.context["form"]["key"].value()
    for _ in range(2):
        assert browser.post(preview, {"key": str(key)}).url == reverse("inventory:stock")
    assert Posting.objects.count() == 1
    assert browser.get(match).url == reverse("inventory:stock")


def test_the_preview_says_what_is_there_already(browser: Browser):
    for code in ("a", "b", "c"):
        item(code=code, material__code=code)
    sheet = matched(as_csv(*([code, "", "", "2", "1", *[""] * 6] for code in "abcd"[:3])))
    page = browser.get(reverse("inventory:import-preview", args=[sheet.pk]))
    text = " ".join(page.content.decode().split())
    assert "3 materials are there already: their price is set and their stock added." in text


def test_bad_rows_are_shown_and_not_taken_in(browser: Browser):
    sheet = matched(as_csv(COUTIL, [*BUSK[:3], "4,5o", *BUSK[4:]]))
    address = reverse("inventory:import-preview", args=[sheet.pk])
    page = browser.get(address)
    text = page.content.decode()
    assert "Row 3, column D, unit cost" in text
    assert "“4,5o” is not a number: write 4.50." in text
    assert "Take it in" not in text
    answer = browser.post(address, {"key": str(uuid4())})
    assert answer.status_code == 422
    assert "Nothing was taken in" in answer.content.decode()
    assert not StockMaterial.objects.exists()


def test_forms_that_are_wrong_say_so(browser: Browser):
    assert browser.post(reverse("inventory:import"), {"file": ""}).status_code == 422
    broken = browser.post(reverse("inventory:import"), {"file": SimpleUploadedFile("a.csv", b"")})
    assert broken.status_code == 422
    sheet = keep_sheet(upload=as_csv(COUTIL), user=None)
    address = reverse("inventory:import-match", args=[sheet.pk])
    answer = browser.post(address, {"kind": 2})
    assert answer.status_code == 422
    assert "Say which column holds the name, or the code." in answer.content.decode()
    answer = browser.post(address, {"name": 1, "kind": 1})
    assert "Column B is the name already." in answer.content.decode()
    assert browser.post(address, {"name": 99}).status_code == 422
    match_columns(sheet, likely_columns(sheet))
    assert browser.post(reverse("inventory:import-preview", args=[sheet.pk]), {"key": "x"}).status_code == 422
