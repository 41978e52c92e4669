"""Sheets as makers keep them, invented, in German, English and French: read, asked about, mended, taken in.

Sums are worked by hand beside the rows; the books are checked by the ledger's own audit.
"""

import io
from typing import Any
from uuid import uuid4

import openpyxl
import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import reverse
from support_importing import keep_sheet

from inventory.ground.findings import Refused
from inventory.ground.materials import MaterialKind
from inventory.importing.choosing import answer, asides, choose_table, mend_row, table_at
from inventory.importing.importing import Preview, likely_columns, look_at, match_columns, take_in
from inventory.models import ImportSheet, LearntWord, Lot, Posting, StockItem, StockMaterial
from inventory.spreadsheet.words import Field
from inventory.stock.audit import audit

pytestmark = pytest.mark.django_db

GERMAN: list[list[Any]] = [
    ["Materiallager Atelier"],
    ["Stand: Neujahr"],
    [],
    ["Artikel", "Art", "Menge", "Preis", "Gesamt", "Lagerort"],
    ["STOFFE"],
    ["Korsettdrell weiß", "Korsettstoff", "12,5 m", "€ 23,80", "297,50", "Regal 1"],
    ["Seidensatin rot", "Seidensatin", "3 lfm", "45,50 EUR/m", "136,50", "Regal 1"],
    [],
    ["Spiralfeder 5 mm", "Stahl", 40, "1,15 €", 46, "Schublade"],
    ["Schließe 28 cm", "Planchette", "4 Paar", "11,40", "45,60", "Schublade"],
    ["Ösen 5 mm", "Ösen", "1.049", "0,12", "125,88", "Dose"],
    ["Summe", None, None, None, 651.48],
    [],
    ["Lieferanten"],
    ["Name", "Notiz"],
    ["Weberei am Bach", "liefert dienstags"],
]
"""12.5 × 23.80 = 297.50, 3 × 45.50 = 136.50, 40 × 1.15 = 46.00, 4 × 11.40 = 45.60, 1049 × 0.12 = 125.88: in all 651.48."""


def as_xlsx(**sheets: list[list[Any]]) -> SimpleUploadedFile:
    book, out = openpyxl.Workbook(), io.BytesIO()
    book.remove(book.active)
    for name, rows in sheets.items():
        made = book.create_sheet(name)
        for row in rows:
            made.append(row)
    book.save(out)
    return SimpleUploadedFile("lager.xlsx", out.getvalue())


def matched(upload: SimpleUploadedFile) -> ImportSheet:
    sheet = keep_sheet(upload=upload, user=None)
    match_columns(sheet, likely_columns(sheet))
    return sheet


def again(sheet: ImportSheet) -> Preview:
    sheet.refresh_from_db()
    return look_at(sheet)


def asked(seen: Preview) -> list[tuple[str, str | None]]:
    return [(found.words, found.likely) for found in seen.reading.kinds if found.kind is None]


def test_a_german_workbook_is_read_asked_about_and_taken_in_to_the_cent():
    sheet = matched(as_xlsx(Notizen=[["anrufen"]], Bestand=GERMAN))
    assert (sheet.table["sheet"], sheet.first_row, len(sheet.rows)) == ("Bestand", 4, 9)
    assert [place for place, _ in asides(sheet)] == [
        "Sheet Bestand, A15:B16",
        "Sheet Notizen, A1:A1",
        "Sheet Bestand, rows 1–2",
        "Sheet Bestand, row 14",
    ]
    seen = look_at(sheet)
    assert [(row.number, row.reason) for row in seen.reading.left_out] == [
        (5, "a heading or a remark: one cell only"),
        (12, "a total of other rows"),
    ]
    assert asked(seen) == [("Seidensatin", "cloth"), ("Stahl", "flat")]
    marks = seen.reading.marks
    # Of quantities the one with a comma shows what 1.049 is; numbers of the workbook itself show nothing.
    assert (marks[Field.QUANTITY].mark, marks[Field.QUANTITY].evidence) == (",", ((",", 6, "12,5", 1),))
    with pytest.raises(Refused, match="no kind known here"):
        take_in(sheet, key=uuid4(), user=None)
    answer(sheet, marks={}, kinds={"seidensatin": MaterialKind.CLOTH, "stahl": MaterialKind.SPIRAL})
    assert again(sheet).stops == ()
    assert not StockMaterial.objects.exists()
    assert not LearntWord.objects.exists()
    take_in(sheet, key=uuid4(), user=None)
    assert list(StockItem.objects.order_by("pk").values_list("code", "on_hand", "value_minor")) == [
        ("korsettdrell-weiss", 12_500, 297_50),
        ("seidensatin-rot", 3_000, 136_50),
        ("spiralfeder-5-mm", 40_000, 46_00),
        ("schliesse-28-cm", 4, 45_60),
        ("osen-5-mm", 1049, 125_88),
    ]
    assert sum(StockItem.objects.values_list("value_minor", flat=True)) == 651_48
    assert audit().differences == ()


def test_a_word_for_a_kind_is_learnt_once():
    sheet = matched(as_xlsx(Bestand=GERMAN))
    answer(sheet, marks={}, kinds={"seidensatin": MaterialKind.CLOTH, "stahl": MaterialKind.SPIRAL})
    take_in(sheet, key=uuid4(), user=None)
    assert dict(LearntWord.objects.values_list("word", "kind")) == {"seidensatin": "cloth", "stahl": "spiral"}
    later = matched(as_xlsx(Neu=[["Artikel", "Art", "Preis"], ["Spiralfeder 7 mm", "STAHL", "1,25"]]))
    seen = look_at(later)
    assert (asked(seen), [row.kind for row in seen.rows]) == ([], [MaterialKind.SPIRAL])
    # What was learnt may be said otherwise, and is then learnt anew.
    answer(later, marks={}, kinds={"stahl": MaterialKind.FLAT})
    take_in(later, key=uuid4(), user=None)
    assert LearntWord.objects.get(word="stahl").kind == "flat"


def test_a_french_sheet_of_an_office_program_without_a_column_for_kinds():
    """Windows-1252, semicolons, a narrow space between thousands; kinds are asked by the names, each with its proposal."""
    text = (
        "Inventaire;;;\r\nDésignation;Quantité;Prix unitaire;Rangement\r\n"
        "Coutil écru;3,5 m;1\u00a0049,60 €;étagère\r\nŒillets 5 mm;2 douzaines;1,20;tiroir\r\n"
        "Busc 30 cm;2 paires;12 € la paire;tiroir\r\nTotal;;1\u00a0061,70;\r\n"
    )
    sheet = matched(SimpleUploadedFile("stock.csv", text.encode("cp1252")))
    assert sheet.assumed == ["The file is not UTF-8 and was read as Windows-1252: look whether its letters are right."]
    seen = look_at(sheet)
    assert [found.number for found in seen.reading.left_out] == [6]
    assert asked(seen) == [("Coutil écru", "cloth"), ("Œillets 5 mm", "grommet"), ("Busc 30 cm", "busk")]
    answer(
        sheet, marks={}, kinds={found.plain: found.likely for found in seen.reading.kinds if found.likely is not None}
    )
    seen = again(sheet)
    assert seen.stops == ()
    assert [(row.quantity, row.value_minor) for row in seen.rows] == [(3500, 3673_60), (24, 2_40), (2, 24_00)]


def test_an_english_sheet_with_pairs_yards_and_points():
    rows = [
        ["Item", "Type", "Qty", "Price each"],
        ["Busk, silver", "busk", "2 pairs", "£ 1,049.60"],
        ["Coutil", "fabric", "1/2 yd", "20 / yd"],
        ["Tips", "tips", "1,500", "0.05"],
    ]
    sheet = matched(as_xlsx(Stock=rows))
    seen = look_at(sheet)
    # The shelf counts in euro; what one of “1,500” is stays open, as no other quantity shows it.
    assert [(row, [fault.where for fault in faults]) for row, faults in seen.faults] == [
        (2, ["Row 2, column D, unit cost"])
    ]
    assert (seen.is_asking, seen.reading.marks[Field.QUANTITY].is_asked) == (True, True)
    answer(sheet, marks={Field.QUANTITY: "."}, kinds={})
    mend_row(sheet, 2, cells={Field.UNIT_COST: "€ 1,049.60"}, is_left_out=False)
    seen = again(sheet)
    assert seen.stops == ()
    # Half a yard is 457.2 mm, never more than is there; its value is half of 20.
    assert [(row.quantity, row.value_minor) for row in seen.rows] == [(2, 2099_20), (457, 10_00), (1500, 75_00)]


def test_a_refused_row_says_sheet_row_and_column_and_is_mended_or_left_out():
    rows = [["Artikel", "Art", "Menge", "Preis"], ["Garn", "Garn", "2 Rollen", "1o"], ["Nadeln", "Nadeln", "5", "0,80"]]
    sheet = matched(as_xlsx(Alt=[["leer"]], Neu=[["Vorrat"], [], *([None, *row] for row in rows)]))
    seen = look_at(sheet)
    assert [fault.where for _, faults in seen.faults for fault in faults] == [
        "Sheet Neu, row 4, column D, quantity on hand",
        "Sheet Neu, row 4, column E, unit cost",
    ]
    mend_row(sheet, 4, cells={Field.QUANTITY: "200 m", Field.UNIT_COST: "0,01"}, is_left_out=False)
    assert [(row.number, row.quantity) for row in again(sheet).rows] == [(4, 200_000), (5, 5)]
    mend_row(sheet, 4, cells={}, is_left_out=True)
    seen = again(sheet)
    assert (seen.stops, [row.number for row in seen.rows]) == ((), [5])
    assert seen.reading.left_out[0].reason == "left out by you"
    take_in(sheet, key=uuid4(), user=None)
    assert Lot.objects.count() == StockMaterial.objects.count() == 1
    with pytest.raises(Refused, match="taken in meanwhile"):
        mend_row(sheet, 4, cells={}, is_left_out=False)


def test_a_row_that_would_be_left_out_is_taken_by_choice():
    sheet = matched(as_xlsx(A=[["Artikel", "Art", "Menge", "Preis"], ["Summe", None, "2", "3"], ["X", "Garn", 1, 1]]))
    assert [row.number for row in look_at(sheet).rows] == [3]
    mend_row(sheet, 2, cells={Field.KIND: "Garn"}, is_left_out=False)
    assert [row.name for row in again(sheet).rows] == ["Summe", "X"]


def test_another_table_is_taken_by_choice_and_what_was_said_of_the_first_is_forgotten():
    sheet = matched(as_xlsx(Bestand=GERMAN))
    answer(sheet, marks={}, kinds={"stahl": MaterialKind.FLAT})
    choose_table(sheet, table_at(sheet, page=0, row=15))
    sheet.refresh_from_db()
    assert (sheet.rows, sheet.columns, sheet.choices) == (
        [["Name", "Notiz"], ["Weberei am Bach", "liefert dienstags"]],
        {},
        {},
    )
    for page, row in ((0, 16), (0, 13), (0, 99), (3, 1)):
        with pytest.raises(Refused, match="no header with rows below it"):
            table_at(sheet, page=page, row=row)


def test_a_sheet_that_was_handed_in_before_files_were_kept_whole_goes_on(maker: User):
    rows = [["Name", "Kind", "Price"], ["Cord", "cord", "1.15"]]
    sheet = ImportSheet.objects.create(filename="old.csv", rows=rows, first_row=3, made_by=maker)
    match_columns(sheet, likely_columns(sheet))
    assert list(asides(sheet)) == []
    assert [row.number for row in look_at(sheet).rows] == [4]


def test_the_pages_ask_mend_and_take_in(browser: Browser):
    browser.post(reverse("inventory:import"), {"file": as_xlsx(Notizen=[["anrufen"]], Bestand=GERMAN)})
    sheet = ImportSheet.objects.get()
    match, preview, answers, table = (
        reverse(f"inventory:import-{name}", args=[sheet.pk]) for name in ("match", "preview", "answers", "table")
    )
    page = browser.get(match).content.decode()
    assert "Sheet Bestand, A15:B16" in page
    assert "stands above the header" in page
    match_columns(sheet, likely_columns(sheet))
    page = browser.get(preview)
    text = " ".join(page.content.decode().split())
    assert "3 of 5 rows of lager.xlsx are good." in text
    assert "“Seidensatin”" in text
    assert "Summe · 651.48”: a total of other rows." in text
    assert "Take it in" not in text
    said = {bound.name: bound.initial for bound in page.context["questions"].open_fields}
    assert said == {"kind_0": "cloth", "kind_1": "flat"}
    assert browser.post(answers, {**said, "kind_1": "spiral"}).url == preview
    assert browser.post(answers, {"kind_0": "sparkle"}).status_code == 422
    row = reverse("inventory:import-row", args=[sheet.pk, 9])
    form = browser.get(row).context["form"]
    shown = {field.value: form.initial.get(field.value, "") for field in Field}
    assert (shown["quantity"], shown["unit_cost"]) == ("40", "1,15 €")
    assert browser.post(row, {**shown, "quantity": "20", "value": "23"}).url == preview
    for _ in range(2):
        text = " ".join(browser.get(preview).content.decode().split())
        assert "5 rows of lager.xlsx are good." in text
        assert "20 m" in text
        assert "9</a> mended" in text
    assert not Posting.objects.exists()
    assert browser.get(reverse("inventory:import-row", args=[sheet.pk, 4])).url == preview
    assert browser.post(table, {"table": "elsewhere"}).status_code == 422
    assert browser.post(table, {"table": "elsewhere", "page": "1", "row": "13"}).status_code == 422
    assert browser.get(table).context["form"].initial["table"] == "0"
    key = browser.get(preview).context["form"]["key"].value()
    assert browser.post(preview, {"key": str(key)}).url == reverse("inventory:stock")
    assert StockItem.objects.get(code="spiralfeder-5-mm").value_minor == 23_00
    for address in (table, answers, row):
        assert browser.get(address).url == reverse("inventory:stock")


def test_another_table_is_chosen_on_its_page(browser: Browser):
    sheet = matched(as_xlsx(Bestand=GERMAN))
    address = reverse("inventory:import-table", args=[sheet.pk])
    assert browser.post(address, {"table": "1"}).url == reverse("inventory:import-match", args=[sheet.pk])
    sheet.refresh_from_db()
    assert sheet.first_row == 15
    assert browser.post(address, {"table": "elsewhere", "row": "4"}).status_code == 302
    sheet.refresh_from_db()
    assert (sheet.first_row, len(sheet.rows)) == (4, 13)


def test_many_rows_are_seen_page_by_page(browser: Browser):
    rows = [["Name", "Kind", "Price"], *([f"Cord {at}", "cord", at] for at in range(1, 46))]
    sheet = matched(as_xlsx(A=rows))
    address = reverse("inventory:import-preview", args=[sheet.pk])
    assert "Rows 1 to 20 of 45" in browser.get(address).content.decode()
    last = browser.get(f"{address}?page=3").content.decode()
    assert "Rows 41 to 45 of 45" in last
    assert "Cord 45" in last


def test_rows_are_left_out_by_their_ticks(browser: Browser):
    rows = [["Name", "Kind", "Price"], ["Cord", "cord", "1o"], ["Tape", "casing", "x"], ["Tip", "tip", "0.05"]]
    sheet = matched(as_xlsx(A=rows))
    address, preview = (reverse(f"inventory:import-{name}", args=[sheet.pk]) for name in ("leave-out", "preview"))
    assert "Leave row 3 out" in browser.get(preview).content.decode()
    assert "Tick the rows that are left out." in browser.post(address, {"x": ""}, follow=True).content.decode()
    assert browser.post(address, {"row": ["1", "99"]}).url == preview
    assert len(again(sheet).faults) == 2
    assert browser.post(address, {"row": ["2", "3"]}).url == preview
    seen = again(sheet)
    assert ([row.number for row in seen.rows], [row.number for row in seen.reading.left_out]) == ([4], [2, 3])
    take_in(sheet, key=uuid4(), user=None)
    assert browser.get(address).url == reverse("inventory:stock")
