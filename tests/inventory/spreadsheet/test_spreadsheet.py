"""A maker's table read: headers guessed, cells exact, faults named with the row of the file.

Figures are worked by hand from the international yard (0.9144 m, agreement of 1959) and ISO 4217 (the yen has no decimals,
the dinar three). What makers call their kinds and columns: common practice, no source.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.materials import MaterialKind, StockUnit
from inventory.ground.money import currency_of
from inventory.spreadsheet.cells import KnownMaterial
from inventory.spreadsheet.points import Mark
from inventory.spreadsheet.table import Books, Choices, Reading, SheetRow, read_table
from inventory.spreadsheet.words import Field, guess_columns, header_key, header_place, kind_of, length_unit_of

HEADER = ["Code", "Name", "Kind", "Unit cost", "On hand", "Unit", "Value", "Length", "Width", "Dye lot", "Supplier"]
CORD = {"Name": "Flat cord", "Kind": "cord", "Unit cost": "1.15"}


def books(*materials: KnownMaterial, currency: str = "EUR") -> Books:
    return Books(
        currency=currency_of(currency), materials=materials, suppliers={"mill": "mill", "the old mill": "mill"}
    )


def read(
    *rows: dict[str, str],
    there: Books | None = None,
    header: list[str] = HEADER,
    first_row: int = 1,
    choices: Choices | None = None,
) -> Reading:
    table = [header, *([row.get(words, "") for words in header] for row in rows)]
    return read_table(table, guess_columns(header), first_row=first_row, books=there or books(), choices=choices)


def one(**said: str) -> SheetRow:
    reading = read({**CORD, **{name.replace("_", " ").capitalize(): text for name, text in said.items()}})
    assert reading.findings == ()
    (row,) = reading.rows
    return row


def sentences(reading: Reading) -> list[str]:
    return [f"{found.where}: {found.message}" for found in reading.findings]


@pytest.mark.parametrize(
    ("header", "fields"),
    [
        (["SKU", "Item", "Category", "Price each", "Qty on hand", "UOM"], "code name kind unit_cost quantity unit"),
        (["Item name", "Material type", "Colour", "Unit price (EUR)"], "name kind colour unit_cost"),
        (["Description", "Stock", "Stock value", "Bin", "Remarks"], "name quantity value place note"),
        (["Supplier code", "Item code", "Batch no.", "Busk length (in)"], "supplier code dye_lot length"),
        (["Usable width", "What", "Anything else"], "width name -"),
    ],
)
def test_headers_are_guessed_as_people_write_them(header: list[str], fields: str):
    by_column = {column: field.value for field, column in guess_columns(header).items()}
    assert " ".join(by_column.get(place, "-") for place in range(len(header))) == fields


def test_the_header_is_found_below_a_title():
    assert header_place([["Stock at New Year"], [], ["Name", "Kind", "Price"], ["Coutil", "cloth", "23.80"]]) == 2
    assert header_place([["", ""], ["a", "b"], ["c", "d"]]) == 1


def test_a_header_is_known_again_whatever_its_capitals_and_spaces():
    assert header_key(["Unit  Cost", "NAME"]) == header_key(["unit cost", "name "])
    assert header_key(["Name", "Unit cost"]) != header_key(["Unit cost", "Name"])


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("fabric", "cloth"),
        ("Coutil", "cloth"),
        ("eyelet", "grommet"),
        ("GROMMETS", "grommet"),
        ("lacing", "cord"),
        ("Waist-tape", "waist-tape"),
        ("spiral  steel", "spiral"),
        *((kind.value, kind.value) for kind in MaterialKind),
    ],
)
def test_kinds_go_by_our_words_and_by_common_ones(word: str, kind: str):
    assert kind_of(word) == kind


@pytest.mark.parametrize(
    ("kind", "written", "unit", "quantity"),
    [
        ("cord", "2.5", "", 2500),
        ("cord", "2,5", "m", 2500),
        ("cord", "10", "yd", 9144),
        ("cord", "1", "yards", 914),  # 914.4 mm: never more than is there
        ("cord", "3 yd", "", 2743),
        ("cord", "250", "cm", 2500),
        ("cord", "0.36", "", 360),
        ("cord", "3.33333333333333", "", 3333),  # a formula's thirds
        ("cord", "4.57199999999999999", "", 4572),
        ("tip", "2", "pairs", 4),
        ("tip", "3 St.", "", 3),
        ("tip", "1/2 Dutzend", "", 6),
        ("busk", "4 Paar", "", 4),
        ("busk", "2 pairs", "", 2),
        ("busk", "2 paires", "", 2),
        ("cord", "12 m", "", 12_000),
        ("cord", "12\u00a0m", "", 12_000),
        ("cord", "12,5m", "", 12_500),
        ("cord", "1/2", "m", 500),
        ("cord", "1.049,60 lfd. m", "", 1_049_600),
        ("cord", "1\u202f049,60 mètres", "", 1_049_600),
        ("tip", "1", "gross", 144),
        ("busk", "3", "pair", 3),
        ("grommet", "2", "dozen", 24),
        ("needle", "0", "each", 0),
        ("needle", "", "", 0),
    ],
)
def test_quantities_are_exact_in_base_units(kind: str, written: str, unit: str, quantity: int):
    assert one(kind=kind, on_hand=written, unit=unit).quantity == quantity


def test_a_price_is_for_the_rows_own_unit():
    """20.00 a yard is 20 ÷ 0.9144 = 21.872266 a metre; five yards are worth 100.00 all the same."""
    row = one(unit_cost="20", on_hand="5", unit="yd")
    assert (row.unit_cost_millionths, row.quantity, row.value_minor) == (21_872_266, 4572, 100_00)
    assert one(kind="tip", unit_cost="1.20", on_hand="2", unit="dozen").unit_cost_millionths == 100_000
    # Nobody sells by the centimetre: the price stays that of a metre.
    assert one(unit_cost="20", on_hand="50", unit="cm").value_minor == 10_00


@pytest.mark.parametrize(
    ("cost", "millionths"),
    [
        ("4.50", 4_500_000),
        ("4,50", 4_500_000),
        ("0.008", 8_000),
        ("0,000001", 1),
        ("€ 4.50", 4_500_000),
        ("4.5 EUR", 4_500_000),
        ("€ 45,50", 45_500_000),
        ("45,50\u00a0EUR", 45_500_000),
        ("45,50 Euro", 45_500_000),
        ("1.049,60 €", 1_049_600_000),
        ("1,049.60", 1_049_600_000),
        ("45,-", 45_000_000),
        ("2,50 €/m", 2_500_000),
        ("0,9144 euros le yard", 1_000_000),
        ("1 € per cm", 100_000_000),
        ("0", 0),
        ("0.0868055555555556", 86_806),
    ],
)
def test_prices_have_up_to_six_decimals(cost: str, millionths: int):
    assert one(unit_cost=cost).unit_cost_millionths == millionths


@pytest.mark.parametrize(
    ("currency", "written", "minor"),
    [("EUR", "", 3_45), ("EUR", "2,005", 2_01), ("JPY", "2.5", 3), ("BHD", "1.0005", 1001), ("EUR", "0", 0)],
)
def test_a_value_is_as_said_or_quantity_times_price_half_up(currency: str, written: str, minor: int):
    told = Choices(marks={Field.VALUE: "," if "," in written else "."})
    reading = read({**CORD, "On hand": "3", "Value": written}, there=books(currency=currency), choices=told)
    assert [row.value_minor for row in reading.rows] == [minor]


@given(st.integers(min_value=1, max_value=10**9), st.sampled_from((".", ",")))
def test_millimetres_written_in_metres_come_back_whole(quantity: int, point: Mark):
    text = f"{quantity // 1000}{point}{quantity % 1000:03}"
    told = Choices(marks={Field.QUANTITY: point})
    assert [row.quantity for row in read({**CORD, "On hand": text}, choices=told).rows] == [quantity]


@given(st.fractions(min_value=0, max_value=1000, max_denominator=64))
def test_yards_are_never_rounded_up(yards: Fraction):
    whole, rest = divmod(yards, 1)
    text = f"{whole} {rest.numerator}/{rest.denominator}" if rest else f"{whole}"
    exact = yards * Fraction("914.4")
    reading = read({**CORD, "On hand": text, "Unit": "yd"})
    if 0 < exact < 1:
        assert reading.rows == ()
    else:
        assert [row.quantity for row in reading.rows] == [exact.numerator // exact.denominator]


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"Unit cost": "4,5o"}, "Row 17, unit cost: “4,5o” is not a number: write 4.50."),
        ({"Unit cost": "12,34.50"}, "Row 17, unit cost: “12,34.50” is not a number: write 1234.50."),
        (
            {"On hand": "plenty"},
            "Row 17, quantity on hand: “plenty” is not a number: write a plain number such as 4.50.",
        ),
        ({"Unit cost": "£4.50"}, "Row 17, unit cost: “£4.50” is not a number: write a plain number such as 4.50."),
        ({"Unit cost": "-1"}, "Row 17, unit cost: -1 is less than zero: write 0 or more."),
        ({"On hand": "-2"}, "Row 17, quantity on hand: -2 is less than zero: write 0 or more."),
        ({"Unit cost": "0.1234567"}, "Row 17, unit cost: 0.1234567 has more than six decimals: write 0.123457."),
        ({"Unit cost": ""}, "Row 17, unit cost: No price is said: write what one metre costs, or 0."),
        ({"On hand": "1.2345"}, "Row 17, quantity on hand: 1.2345 is finer than a millimetre: round it."),
        ({"Kind": "busk", "On hand": "1.5"}, "Row 17, quantity on hand: 1.5 is finer than one pair: round it."),
        ({"Unit": "pair"}, "Row 17, unit of the quantity: “pair” is no unit for a cord: write one of metre, "),
        ({"Kind": "grommet", "Unit": "pcs"}, "“pcs” is no unit for a grommet: write one of set, dozen, gross."),
        ({"Value": "12"}, "Row 17, value of the stock: 12 is the value of no quantity: write how much lies there."),
        ({"Length": "250"}, "Row 17, length: “250” is said, and a cord comes in no lengths: leave it empty."),
        ({"Kind": "flat", "Length": "25"}, "25 would be 25 mm, outside 30 to 1000 mm: write its unit behind it."),
        ({"Kind": "cloth", "Width": "54"}, "54 would be 54 mm, outside 200 to 5000 mm: write its unit behind it."),
        ({"Kind": "flat", "Length": "long"}, "“long” is not a length: write it in mm, or with its unit, as in 10 in."),
        ({"Kind": "sparkle"}, "Row 17, kind: “sparkle” is no kind known here: write one of cloth, toile-cloth, "),
        ({"Kind": ""}, "Row 17, kind: No kind is said: write one of cloth, "),
        ({"Name": ""}, "Row 17, name: There is no name and no code: write one of them."),
        ({"Name": "x" * 121}, "has 121 letters: shorten it to 120."),
        ({"Code": "!!!"}, "Row 17, code: “!!!” makes no code: write up to 60 letters and digits."),
        ({"Supplier": "nobody"}, "Row 17, supplier code: “nobody” is no supplier of this shelf: add it first, "),
        ({"On hand": "10000001"}, "10000001 is more than can be kept: check its unit."),
        ({"Unit cost": "1000001"}, "1000001 is more than can be kept: check its decimal point."),
    ],
)
def test_a_fault_is_one_sentence_with_the_row_of_the_file_and_the_mend(said: dict[str, str], sentence: str):
    reading = read({**CORD, **said}, first_row=16)
    assert reading.rows == ()
    (found,) = sentences(reading)
    assert sentence in found


def test_all_faults_of_all_rows_are_told_at_once_in_the_files_order():
    reading = read({**CORD, "On hand": "x", "Unit cost": "y"}, {}, CORD, {**CORD, "Kind": "z"}, first_row=3)
    assert [found.where for found in reading.findings] == [
        "Row 4, quantity on hand",
        "Row 4, unit cost",
        "Row 7, kind",
    ]
    assert [row.number for row in reading.rows] == [6]
    assert reading.filled == 3


def test_one_code_in_several_lengths_is_one_material_with_several_items():
    flats = {"Code": "flat-7", "Name": "Flat 7 mm", "Kind": "flat", "Unit cost": "1.35"}
    reading = read({**flats, "Length": "254"}, {**flats, "Length": '9 1/2"'}, {**flats, "Length": "25.4 cm"})
    assert [(row.code, row.size_tenths_mm) for row in reading.rows] == [("flat-7", 2540), ("flat-7", 2413)]
    assert sentences(reading) == [
        "Row 4, code: flat-7 in 254 mm stands in row 2 already: keep one row, or give each its own dye lot."
    ]
    (found,) = sentences(read({**flats, "Length": "254"}, flats))
    assert found == "Row 3, length: flat-7 comes in lengths: write which one this is."


def test_one_cloth_in_two_dye_lots_is_two_lots():
    cloth = {"Code": "coutil", "Kind": "cloth", "Unit cost": "23.80", "On hand": "2"}
    assert len(read({**cloth, "Dye lot": "K7"}, {**cloth, "Dye lot": "K9"}).rows) == 2
    assert len(read({**cloth, "Dye lot": "K7"}, {**cloth, "Dye lot": "k7"}).rows) == 1


def test_rows_of_one_code_agree_in_kind_and_their_prices_are_told():
    cord, tip = {**CORD, "Code": "c", "Dye lot": "1"}, {**CORD, "Code": "c", "Kind": "tip"}
    assert sentences(read(cord, tip)) == ["Row 3, kind: c is cord in row 2: write the same here."]
    reading = read(cord, {**cord, "Dye lot": "2", "Unit cost": "1.20"})
    assert len(reading.rows) == 2
    assert "c has prices from 1.15 to 1.20 in its rows" in sentences(reading)[0]
    assert reading.findings[0].severity == "warn"


def test_codes_are_made_from_names_and_stay_apart():
    names = ["Coutil, white", "Coutil (white)", "Шнур", "Шёлк"]
    there = books(KnownMaterial(code="coutil-white", name="Other", kind=MaterialKind.CORD, unit_cost=Decimal(1)))
    reading = read(*({**CORD, "Name": name} for name in names), there=there)
    assert [row.code for row in reading.rows] == ["coutil-white-2", "coutil-white-3", "material", "material-2"]
    assert not any(row.is_there for row in reading.rows)


def test_codes_of_the_file_are_kept_as_the_shelf_writes_them():
    reading = read({**CORD, "Code": "C 01/W"}, {**CORD, "Code": "C-01.W"})
    assert [row.code for row in reading.rows] == ["c-01-w"]
    assert sentences(reading) == [
        "Row 3, code: “C-01.W” and “C 01/W” of row 2 would both be kept as c-01-w: alter one of them."
    ]


def test_what_is_there_keeps_its_name_and_its_price_where_none_is_said():
    cord = KnownMaterial(code="Cord-6", name="Cord 6 mm", kind=MaterialKind.CORD, unit_cost=Decimal("1.15"))
    (row,) = read({"Code": "cord-6", "On hand": "10"}, there=books(cord)).rows
    assert (row.code, row.is_there, row.name, row.kind, row.unit) == (
        "Cord-6",
        True,
        "Cord 6 mm",
        MaterialKind.CORD,
        StockUnit.METRE,
    )
    assert (row.unit_cost_millionths, row.quantity, row.value_minor) == (None, 10_000, 11_50)
    assert [row.code for row in read({"Name": "cord 6 MM"}, there=books(cord)).rows] == ["Cord-6"]
    (found,) = sentences(read({"Code": "cord-6", "Kind": "tip", "On hand": "1"}, there=books(cord)))
    assert found.startswith("Row 2, kind: Cord-6 is on the shelf as cord, not as tip: ")


def test_stock_of_what_comes_in_lengths_says_which():
    flat = KnownMaterial(
        code="flat", name="Flat", kind=MaterialKind.FLAT, unit_cost=Decimal(1), lengths_tenths_mm=(2540,)
    )
    assert len(read({"Code": "flat", "Unit cost": "2"}, there=books(flat)).rows) == 1
    (found,) = sentences(read({"Code": "flat", "On hand": "2"}, there=books(flat)))
    assert found == "Row 2, length: flat comes in lengths: write which one this is."


def test_a_header_may_name_the_unit_of_its_lengths():
    header = ["Name", "Kind", "Unit cost", "Length (in)", "Width (cm)"]
    busk = {"Name": "Busk", "Kind": "busk", "Unit cost": "11.40", "Length (in)": "10"}
    cloth = {"Name": "Coutil", "Kind": "cloth", "Unit cost": "23.80", "Width (cm)": "134"}
    first, second = read(busk, cloth, header=header).rows
    assert (first.size_tenths_mm, second.usable_width_mm, second.width_tenths_mm) == (2540, 1340, None)
    assert length_unit_of("Length in cm") == "cm"
    assert length_unit_of("Length") == "mm"


def test_a_width_is_usable_on_cloth_and_its_own_on_a_bone():
    tip = one(kind="tip", width="7")
    assert (tip.usable_width_mm, tip.width_tenths_mm) == (None, 70)


def test_commas_that_may_mean_thousands_are_asked_about_once_for_the_column():
    rows = {**CORD, "On hand": "1,500"}, {**CORD, "Name": "Other", "On hand": "2,250"}
    reading = read(*rows)
    assert (reading.rows, reading.marks[Field.QUANTITY].is_asked) == ((), True)
    assert reading.marks[Field.QUANTITY].readings() == ((",", "1.5"), (".", "1500"))
    assert sentences(reading)[0] == (
        "Row 2, quantity on hand: “1,500” may be 1.500 or 1500. Say what the column’s commas and points are."
    )
    for mark, quantities in ((",", [1500, 2250]), (".", [1_500_000, 2_250_000])):
        told = read(*rows, choices=Choices(marks={Field.QUANTITY: mark}))
        assert [row.quantity for row in told.rows] == quantities


def test_an_apostrophe_that_hid_a_formula_is_taken_off():
    assert one(name="'=cord").name == "=cord"
    assert one(name="'t Gulden Vlies").name == "'t Gulden Vlies"


def test_a_supplier_goes_by_code_or_name():
    assert one(supplier="The Old Mill").supplier == "mill"


def test_a_field_that_is_not_matched_is_never_read():
    table = [["Name", "Kind", "Price"], ["Cord", "cord", "1"], ["", "", "in all"]]
    columns = {Field.NAME: 0, Field.KIND: 1, Field.UNIT_COST: 2}
    assert read_table(table[:2], columns, first_row=1, books=books()).filled == 1
    del columns[Field.UNIT_COST]
    reading = read_table(table, columns, first_row=1, books=books())
    assert sentences(reading) == ["Row 2, unit cost: No price is said: write what one metre costs, or 0."]
    assert reading.filled == 1
