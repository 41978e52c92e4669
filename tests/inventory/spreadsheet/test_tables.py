"""Which cells of a file are its table: invented sheets as people keep them; common practice, no source."""

import io
import random
import re
from collections import Counter

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.confined import confined
from inventory.ground.findings import Refused
from inventory.ground.materials import KINDS, MaterialKind
from inventory.ground.money import currency_of
from inventory.ground.rec20 import UNITS
from inventory.spreadsheet.rows import SHEET_MEND, cells_kept, file_pages, kept_cells
from inventory.spreadsheet.table import Books, read_table
from inventory.spreadsheet.tables import FileTables, asides_of, read_file, table_rows
from inventory.spreadsheet.words import Field, guess_columns, kind_of, likely_kind, unit_codes

BOOKS = Books(currency=currency_of("EUR"), suppliers={})
HEADER = ["Artikel", "Art", "Menge", "Preis"]
DRILL = ["Drell weiß", "Stoff", "12,5 m", "23,80"]
EYELETS = ["Ösen 5 mm", "Ösen", "200", "0,12"]


def book(**sheets: list[list[object]]) -> bytes:
    made, out = openpyxl.Workbook(), io.BytesIO()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    made.save(out)
    return out.getvalue()


def proposed(found: FileTables) -> tuple[str, str]:
    table = found.tables[0]
    return found.pages[table.page].name, table.span


def beside(found: FileTables) -> list[tuple[str, str]]:
    return [(aside.span, aside.reason) for aside in asides_of(found.pages, found.tables, found.tables[0])]


def test_titles_above_stay_above():
    found = read_file(book(Lager=[["Mein Lager"], ["Stand Neujahr"], [], HEADER, DRILL, [], EYELETS]), "a.xlsx")
    assert proposed(found) == ("Lager", "A4:D7")
    assert beside(found) == [("rows 1–2", "stands above the header")]
    assert table_rows(found.pages, found.tables[0])[-1] == EYELETS


def test_a_second_table_below_is_another_one():
    clients = [["Kundinnen"], ["Name", "Notiz"], ["Edda", "zahlt bar"]]
    found = read_file(book(Lager=[HEADER, DRILL, EYELETS, [], *clients]), "a.xlsx")
    assert proposed(found) == ("Lager", "A1:D3")
    assert beside(found) == [("A6:B7", "another table"), ("row 5", "belongs to no table")]


def test_a_second_table_beside_is_another_one_and_a_remark_is_none():
    rows = [
        [*HEADER, None, "Name", "Menge", None, "bestellen!"],
        [*DRILL, None, "Nadeln", "4"],
        [*EYELETS, None, "Garn", "2"],
    ]
    found = read_file(book(Lager=rows), "a.xlsx")
    assert proposed(found) == ("Lager", "A1:D3")
    assert [aside.span for aside in asides_of(found.pages, found.tables, found.tables[0])] == ["F1:G3", "I1:I1"]


def test_a_column_that_is_empty_by_habit_parts_nothing():
    rows = [["Artikel", "Art", None, "Menge", "Preis"], ["Drell", "Stoff", None, "3", "2"]]
    assert proposed(read_file(book(Lager=rows), "a.xlsx")) == ("Lager", "A1:E2")


def test_the_same_header_once_more_begins_no_table():
    found = read_file(book(Lager=[HEADER, DRILL, [], ["Kleinteile"], HEADER, EYELETS]), "a.xlsx")
    assert proposed(found) == ("Lager", "A1:D6")


def test_of_several_sheets_the_one_whose_header_is_known():
    sheets = {"Notizen": [["anrufen"], ["backen"]], "Bestand": [HEADER, DRILL], "Leer": []}
    found = read_file(book(**sheets), "a.xlsx")
    assert proposed(found) == ("Bestand", "A1:D2")
    assert beside(found) == [("A1:A2", "no header is seen in it")]


def test_a_hidden_sheet_is_never_proposed_before_one_that_is_shown():
    made = openpyxl.load_workbook(io.BytesIO(book(Alt=[[*HEADER, "Lagerort"], [*DRILL, "K1"]], Neu=[HEADER, DRILL])))
    made["Alt"].sheet_state = "hidden"
    out = io.BytesIO()
    made.save(out)
    found = read_file(out.getvalue(), "a.xlsx")
    assert proposed(found)[0] == "Neu"
    assert [page.is_hidden for page in found.pages] == [True, False]


def test_all_sheets_together_hold_no_more_rows_than_one_may():
    data = book(A=[["x"]] * 3, B=[["x"]] * 3)
    assert len(file_pages(data, "a.xlsx", most_rows=6).pages) == 2
    with pytest.raises(Refused, match="more than 5 rows"):
        file_pages(data, "a.xlsx", most_rows=5)


GERMAN = 'Artikel;Menge\r\n"Ösen; 5 mm";1.049,60\r\n'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("sign", [";", ",", "\t"])
def test_a_csv_is_read_in_the_encodings_and_by_the_signs_that_programs_write(encoding: str, sign: str):
    text = GERMAN.replace("Artikel;", f"Artikel{sign}").replace('";1', f'"{sign}1').replace("1.049,60", '"1.049,60"')
    found = file_pages(text.encode(encoding), "a.csv")
    assert found.pages[0].rows == [["Artikel", "Menge"], ["Ösen; 5 mm", "1.049,60"]]
    assert bool(found.assumed) is (encoding == "cp1252")


def test_a_csv_may_name_its_sign():
    assert file_pages(b"sep=;\r\na,b;c\r\n", "a.csv").pages[0].rows == [["sep=", ""], ["a,b", "c"]]


def test_numbers_of_a_workbook_are_kept_as_numbers():
    rows = file_pages(book(A=[["1.500", 1.5, 3, 0.1 + 0.2, -7, 1e-6]]), "a.xlsx").pages[0].rows
    kept = kept_cells(rows)
    assert kept == [["1.500", 1.5, 3, 0.3, -7, 1e-6]]
    back = cells_kept(kept)
    assert back == rows == [["1.500", "1.5", "3", "0.3", "-7", "0.000001"]]
    assert [type(cell) is str for cell in back[0]] == [True, False, False, False, False, False]


ROWS = re.compile(r"\d+")
CELLS = st.one_of(st.just(""), st.sampled_from([*HEADER, "Summe", "12,5 m", "Ösen", "€ 45,50"]), st.text(max_size=6))


@given(st.lists(st.lists(CELLS, min_size=1, max_size=7), min_size=1, max_size=9))
def test_every_cell_of_a_file_is_in_a_table_or_told_beside_it(rows: list[list[str]]):
    """Nothing is lost unseen: the cells of the tables and those told beside them are all there are."""
    data = "\n".join("\t".join(cell.replace("\t", " ").replace('"', "") for cell in row) for row in rows)
    try:
        found = read_file(data.replace("\r", " ").encode("utf-8", "ignore"), "a.csv")
    except Refused:
        return
    loose = [aside.span for aside in asides_of(found.pages, found.tables, found.tables[0]) if aside.span[:3] == "row"]
    told = {number for span in loose for number in range(int(ROWS.findall(span)[0]), int(ROWS.findall(span)[-1]) + 1)}
    for number, row in enumerate(found.pages[0].rows, start=1):
        for column, cell in enumerate(row):
            holding = [
                table
                for table in found.tables
                if table.top <= number <= table.bottom and table.left <= column < table.right
            ]
            assert len(holding) <= 1
            assert holding or not cell or number in told


def test_a_file_is_read_within_the_limits_of_the_ground():
    data = book(Lager=[["Mein Lager"], HEADER, DRILL])
    found = confined(read_file, data, "a.xlsx", name="a.xlsx", mend=SHEET_MEND)
    assert proposed(found) == ("Lager", "A2:D3")
    with pytest.raises(Refused, match="XLSX"):
        confined(read_file, data[:-40], "a.xlsx", name="a.xlsx", mend=SHEET_MEND)


def test_no_damage_to_a_file_is_worse_than_a_refusal():
    """Bytes altered, parts cut out, halves put together: read to the last row, or refused in a sentence."""
    text = "\n".join(";".join(row) for row in [["Lager"], HEADER, DRILL, EYELETS, ["Summe"], [], HEADER, DRILL])
    parts = {"a.csv": text.encode(), "a.xlsx": book(Lager=[["Lager"], HEADER, DRILL, [], HEADER, EYELETS], B=[HEADER])}
    random.seed(23)
    outcomes: Counter[str] = Counter()
    for turn in range(300):
        name = ("a.csv", "a.xlsx")[turn % 2]
        data = bytearray(parts[name])
        for _ in range(random.randrange(1, 4)):
            place = random.randrange(len(data))
            data[place : place + random.randrange(4)] = random.choice(
                [b"", b"9", b";", b'"', b"\xfc", b"\n\n", b"1,500"]
            )
        try:
            found = read_file(bytes(data), name)
        except Refused:
            outcomes["refused"] += 1
            continue
        for chosen in found.tables:
            table = table_rows(found.pages, chosen)
            reading = read_table(table, guess_columns(table[0]), first_row=chosen.top, books=BOOKS)
            assert len(reading.rows) + len(reading.faults) <= reading.filled
        outcomes["read"] += 1
    assert min(outcomes["refused"], outcomes["read"]) > 0


@pytest.mark.parametrize(
    ("header", "fields"),
    [
        (
            ["Bezeichnung", "Warengruppe", "Bestand", "ME", "EK-Preis", "Lagerort"],
            "name kind quantity unit unit_cost place",
        ),
        (
            ["Art.-Nr.", "Artikel", "Farbe", "Menge", "Einzelpreis", "Gesamt"],
            "code name colour quantity unit_cost value",
        ),
        (["Désignation", "Famille", "Quantité", "Unité", "Prix unitaire HT"], "name kind quantity unit unit_cost"),
        (["Réf.", "Nom", "Coloris", "Qté", "PU", "Fournisseur"], "code name colour quantity unit_cost supplier"),
    ],
)
def test_headers_in_german_and_french(header: list[str], fields: str):
    assert " ".join(field.value for field, _ in sorted(guess_columns(header).items(), key=lambda at: at[1])) == fields


@pytest.mark.parametrize(
    ("word", "code"),
    [("Paar", "PR"), ("St.", "EA"), ("Stück", "EA"), ("lfm", "MTR"), ("lfd. m", "MTR"), ("mètres", "MTR"), ("paires", "PR"),
     ("pièces", "EA"), ("Dutzend", "DZN"), ("Sätze", "SET"), ("pouces", "INH"), ("Zoll", "INH"), ("pairs", "PR")],
)  # fmt: skip
def test_units_in_german_french_and_english(word: str, code: str):
    found = unit_codes(word)
    assert found is not None
    assert found[0] == code
    assert code in UNITS


@pytest.mark.parametrize(
    ("word", "kind"),
    [("Korsettstoff", "cloth"), ("Ösen", "grommet"), ("busk", "busk"), ("Planchette", "busk"), ("œillets", "grommet"),
     ("lacet", "cord"), ("Reißverschluss", "zip"), ("REISSVERSCHLUSS", "zip")],
)  # fmt: skip
def test_kinds_in_german_and_french(word: str, kind: str):
    assert kind_of(word) == kind


def test_what_may_mean_several_is_proposed_and_not_known():
    assert (kind_of("Stahl"), likely_kind("Stahl")) == (None, MaterialKind.FLAT)
    assert (kind_of("Seidensatin"), likely_kind("Seidensatin")) == (None, MaterialKind.CLOTH)
    assert likely_kind("Glitzer") is None


def test_fields_units_and_kinds_have_words_in_three_languages():
    from inventory.ground.reading import data_beside
    from inventory.spreadsheet import words

    data = data_beside(words.__file__, "words.json")
    assert data["source"]
    assert set(data["headers"]) == set(Field)
    assert set(data["kinds"]) <= set(KINDS)
    for section in ("headers", "units"):
        assert all(set(said) == {"en", "de", "fr"} for said in data[section].values())
    assert all(set(said) == {"de", "fr"} for said in data["kinds"].values())
