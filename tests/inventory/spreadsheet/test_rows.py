"""Tables of text from XLSX and CSV, against files that another program's writer (openpyxl) made or that follow the
standards by hand: ECMA-376 part 1, 18.3 and 18.8.30 (cells, number formats); RFC 4180 (CSV)."""

import io
import random
import zipfile
from datetime import date, datetime, time
from decimal import Decimal

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from inventory.ground.findings import Refused
from inventory.ground.sheets import SheetBook
from inventory.spreadsheet.rows import MOST_COLUMNS, sheet_rows


def workbook(*rows: list[object], epoch: datetime | None = None) -> bytes:
    book = openpyxl.Workbook()
    if epoch:
        book.epoch = epoch
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_sheet(cells: str, *, prolog: str = "") -> bytes:
    """A workbook whose first sheet holds these rows in XML."""
    out = io.BytesIO()
    name = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(workbook(["text"]))) as old, zipfile.ZipFile(out, "w", 8) as new:
        for entry in old.namelist():
            if entry != name:
                new.writestr(entry, old.read(entry))
        main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
        new.writestr(name, f'{prolog}<worksheet xmlns="{main}"><sheetData>{cells}</sheetData></worksheet>')
    return out.getvalue()


def code(data: bytes, *, most_rows: int = 100, filename: str = "stock.xlsx") -> str:
    with pytest.raises(Refused) as refused:
        sheet_rows(data, filename, most_rows=most_rows)
    (found,) = refused.value.findings
    assert found.where.startswith(filename)
    return found.code


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("Coutil, white ", "Coutil, white"),
        ("=1+1 as text"[1:], "1+1 as text"),
        (None, ""),
        (3, "3"),
        (-3, "-3"),
        (3.0, "3"),
        (12.5, "12.5"),
        (1.15, "1.15"),
        (0.1 + 0.2, "0.3"),
        (1e-6, "0.000001"),
        (1.5e15, "1500000000000000"),
        (Decimal("0.008"), "0.008"),
        (True, "true"),
        (False, "false"),
        (date(2027, 1, 31), "2027-01-31"),
        (datetime.fromisoformat("2027-01-31 09:30"), "2027-01-31 09:30:00"),
        (time(9, 30), "09:30:00"),
        ("#N/A", "#N/A"),
    ],
)
def test_a_cell_reads_as_it_is_shown(value: object, text: str):
    assert sheet_rows(workbook(["head", value, "tail"]), "a.xlsx", most_rows=9) == [["head", text, "tail"]]


def test_days_count_from_1904_where_the_workbook_says_so():
    data = workbook([date(2027, 1, 31)], epoch=CALENDAR_MAC_1904)
    assert sheet_rows(data, "a.xlsx", most_rows=9) == [["2027-01-31"]]


def test_blank_rows_keep_their_number_and_blank_ends_go():
    data = workbook(["name", "stock", None], [], [None, "4"], ["", " "], [])
    assert sheet_rows(data, "a.xlsx", most_rows=9) == [["name", "stock"], ["", ""], ["", "4"]]
    text = "name;stock;\n\n;4\n;  \n\n"
    assert sheet_rows(text.encode(), "a.csv", most_rows=9) == [["name", "stock"], ["", ""], ["", "4"]]


def test_rows_and_cells_that_the_file_leaves_out_are_blank():
    cells = (
        '<row r="2"><c r="B2"><v>1.5E1</v></c><c t="inlineStr"><is><r><t>dark </t></r><r><t>green</t></r>'
        '<rPh sb="0" eb="1"><t>no</t></rPh></is></c></row><row><c t="str"><f>A1</f><v>came to</v></c><c><f>A1</f></c></row>'
    )
    assert sheet_rows(with_sheet(cells), "a.xlsx", most_rows=9) == [
        ["", "", ""],
        ["", "15", "dark green"],
        ["came to", "", ""],
    ]


def test_our_own_workbooks_come_back_as_they_went():
    book = SheetBook()
    book.sheet("Stock", ["name", "stock"], [["=Coutil", Decimal("12.50")], ["-2 to +2", 3], ["", None], ["x", 0.25]])
    book.sheet("Second", ["not this"], [])
    assert sheet_rows(book.data(), "a.xlsx", most_rows=9) == [
        ["name", "stock"],
        ["=Coutil", "12.5"],
        ["-2 to +2", "3"],
        ["", ""],
        ["x", "0.25"],
    ]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("name,price\nCoutil,3.40\n", [["name", "price"], ["Coutil", "3.40"]]),
        ("name;price\nCoutil;3,40\nBusk;11,40\n", [["name", "price"], ["Coutil", "3,40"], ["Busk", "11,40"]]),
        ("name\tprice, each\nCoutil\t3,40\n", [["name", "price, each"], ["Coutil", "3,40"]]),
        ("My shelf\n\nname,note\nCoutil,a;b\n", [["My shelf", ""], ["", ""], ["name", "note"], ["Coutil", "a;b"]]),
        ('name,note\r\n"Busk, 11 in","two\r\nlines"\r\n', [["name", "note"], ["Busk, 11 in", "two\r\nlines"]]),
        ('name,width\nTape,1/2"\n', [["name", "width"], ["Tape", '1/2"']]),
        ("name\nCoutil", [["name"], ["Coutil"]]),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_csv_reads_by_its_own_sign(text: str, rows: list[list[str]], encoding: str):
    assert sheet_rows(text.encode(encoding), "a.csv", most_rows=9) == rows


def test_the_library_that_wrote_a_sheet_reads_the_same():
    random.seed(7)
    choices = ["Coutil", "café ½", 0, 7, -2.25, 1 / 3, True, None, date(2026, 2, 28), "12", "  "]
    rows = [[random.choice(choices) for _ in range(12)] for _ in range(300)]
    data = workbook(*rows)
    theirs = openpyxl.load_workbook(io.BytesIO(data)).active.iter_rows(values_only=True)
    for ours, row in zip(sheet_rows(data, "a.xlsx", most_rows=300), theirs, strict=True):
        for text, value in zip(ours, row, strict=True):
            match value:
                case bool():
                    assert text == str(value).lower()
                case int() | float():
                    assert float(text) == pytest.approx(value, rel=1e-14)
                case datetime():
                    assert text == value.date().isoformat()
                case _:
                    assert text == (value or "").strip()


@pytest.mark.parametrize("kind", ["a.xlsx", "a.csv"])
def test_too_long_and_too_wide_tables_are_refused_blank_ends_are_not(kind: str):
    def table(*rows: list[object]) -> bytes:
        if kind == "a.xlsx":
            return workbook(*rows)
        return "\n".join(";".join(str(cell or "") for cell in row) for row in rows).encode()

    full = table(["a", "b"], ["c", "d"])
    assert code(full, most_rows=1, filename=kind) == "table.too-long"
    assert len(sheet_rows(full, kind, most_rows=2)) == 2
    assert len(sheet_rows(table(["a", "b"], ["", ""]), kind, most_rows=1)) == 1
    assert code(table(["a"] * (MOST_COLUMNS + 1)), filename=kind) == "table.too-wide"
    assert code(table(["a"] + [None] * 200 + ["b"]), filename=kind) == "table.too-wide"
    assert len(sheet_rows(table(["a"] * MOST_COLUMNS + [""]), kind, most_rows=1)[0]) == MOST_COLUMNS


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        (b"", "file.empty"),
        (b" \n;;\n", "file.empty"),
        (b"caf\x81;1", "file.not-text"),
        (b"\x00\x01", "file.not-text"),
        (b'a;b\n"c;d', "table.broken"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "file.old-workbook"),
        (b"PK\x03\x04 no archive", "file.not-a-workbook"),
        (with_sheet("<row>"), "file.not-a-workbook"),
        (with_sheet('<row r="2"/><row r="2"/>'), "file.not-a-workbook"),
        (with_sheet('<row r="99999999999"><c><v>1</v></c></row>'), "file.not-a-workbook"),
        (with_sheet('<row><c t="s"><v>12</v></c></row>'), "file.not-a-workbook"),
        (with_sheet("<row><c><v>many</v></c></row>"), "file.not-a-workbook"),
        (with_sheet("", prolog='<!DOCTYPE worksheet [<!ENTITY a "b">]>'), "file.not-a-workbook"),
        (with_sheet("", prolog=f"<!--{' ' * 9000}--><!DOCTYPE worksheet>"), "file.not-a-workbook"),
        (with_sheet(""), "file.empty"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_table_is_said_in_a_sentence(data: bytes, wrong: str):
    assert code(data) == wrong


def test_files_that_are_or_become_too_large_are_not_read():
    assert code(b"a" * 20_000_001) == "file.too-large"
    assert code(with_sheet(f"<!--{' ' * 61_000_000}-->")) == "file.unpacks-too-large"


def test_no_damage_to_a_workbook_is_worse_than_a_refusal():
    whole = workbook(*([number, f"name {number}", number / 3, date(2027, 1, 1)] for number in range(9)))
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist() if name.startswith(("xl/", "_rels"))}
    random.seed(11)
    refused = 0
    for _ in range(400):
        name = random.choice(list(parts))
        data = bytearray(parts[name])
        place = random.randrange(len(data))
        data[place : place + random.randrange(3)] = random.choice([b"", b"9", b"-", b"x", b"<", b"&a;"])
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as damaged:
            for other, kept in parts.items():
                damaged.writestr(other, data if other == name else kept)
        try:
            sheet_rows(out.getvalue(), "a.xlsx", most_rows=100)
        except Refused:
            refused += 1
    assert 0 < refused < 400
