"""Tables of widths at levels: what is read, and each row that cannot be."""

import contextlib
import io
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.ground.findings import Refused
from quotes.pattern.assemble import assemble
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.panels import EdgeName
from quotes.pattern.readers.table import read

PLAIN = "panel,height,width\n1,120,60\n1,0,50\n1,-120,70\n2,120,60\n2,0,50\n2,-120,70\n"


def codes(data: bytes, **options: object) -> list[str]:
    with pytest.raises(Refused) as refusal:
        read(data, ReadOptions(**options))  # type: ignore[arg-type]
    return [finding.code for finding in refusal.value.findings]


def pattern(text: str, **options: object):
    drawing = read(text.encode(), ReadOptions(**options))  # type: ignore[arg-type]
    return assemble(drawing, ReadOptions(centre_front="left")).pattern


def test_widths_at_levels():
    panels = pattern(PLAIN).panels
    assert [panel.waist_width_mm for panel in panels] == [50, 50]
    # Trapezoids by hand: (60 + 50) ÷ 2 × 120 + (50 + 70) ÷ 2 × 120.
    assert panels[0].net_area_mm2 == pytest.approx(6600 + 7200)


@pytest.mark.parametrize(
    "text",
    [
        PLAIN.replace(",", ";").replace("120", "120,0"),
        PLAIN.replace(",", "\t"),
        "units: mm\n" + PLAIN,
        "units: cm;;\n"
        + PLAIN.replace(",", ";").replace("120", "12").replace("60", "6").replace("50", "5").replace("70", "7"),
        "height,panel,width,front\n"
        + "".join(f"{h},{p},{w},{-w / 2}\n" for p in (2, 1) for h, w in ((-120, 70), (0, 50), (120, 60))),
    ],
)
def test_every_spelling_says_the_same(text: str):
    assert pattern(text).panels == pattern(PLAIN).panels


def test_a_waist_between_levels_is_interpolated():
    text = "panel,height,width\n1,100,60\n1,-100,80\n2,100,60\n2,-100,80\n"
    assert pattern(text).panels[0].waist_width_mm == pytest.approx(70)


def test_a_back_edge_of_its_own_height_and_a_front_off_the_axis():
    text = "panel,height,width,height_back,front\n1,100,50,110,-20\n1,-100,50,-90,-20\n2,110,50,110,0\n2,-90,50,-90,0\n"
    panel = pattern(text).panels[0]
    assert panel.edge(EdgeName.FRONT) == ((-20.0, -100.0), (-20.0, 100.0))
    assert panel.edge(EdgeName.BACK) == ((30.0, -90.0), (30.0, 110.0))


def workbook(rows) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook_reads_as_the_csv_does():
    rows = [line.split(",") for line in PLAIN.splitlines()]
    numbers = [rows[0], *([int(cell) for cell in row] for row in rows[1:])]
    drawing = read(workbook(numbers), ReadOptions())
    assert assemble(drawing, ReadOptions(centre_front="left")).pattern.panels == pattern(PLAIN).panels


def test_a_workbook_that_unpacks_too_large_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 70_000_000)
    assert codes(out.getvalue()) == ["file.unpacks-too-large"]


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "file.empty"),
        (b"\xff\xfa\x00\x80abc", "file.not-text"),
        (b"PK\x03\x04rubbish", "file.not-a-workbook"),
        (PLAIN.replace("width", "breadth").encode(), "table.columns"),
        (b"panel,height,height,width\n1,1,1,1\n", "table.column-twice"),
        (b"panel,height,width\n", "table.no-rows"),
        (PLAIN.replace("1,0,50", "1,0,5O").encode(), "table.not-a-number"),
        (PLAIN.replace("1,0,50", "1,0,").encode(), "table.cell-empty"),
        (PLAIN.replace("1,0,50", "1,0,-5").encode(), "table.width"),
        (PLAIN.replace("1,0,50", "1,0,nan").encode(), "table.not-a-number"),
        (PLAIN.replace("1,0,50", "1,0,1000000000").encode(), "table.not-a-number"),
        (PLAIN.replace("1,0,50", "1,130,50").encode(), "table.level-order"),
        (PLAIN.replace("1,0,50", "one,0,50").encode(), "pattern.panel-without-number"),
        (b"panel,height,width\n1,0,50\n", "table.one-level"),
        (("units: ell\n" + PLAIN).encode(), "file.unknown-units"),
        (b'panel,height,width\n1,"12,5",60\n1,0,50\n', "table.mixed-decimal-signs"),
    ],
)
def test_what_cannot_be_read_is_refused(data: bytes, code: str):
    assert codes(data)[0] == code


def test_bad_rows_are_all_named():
    text = PLAIN.replace("1,0,50", "1,0,x").replace("2,-120,70", "2,y,70")
    with pytest.raises(Refused) as refusal:
        read(text.encode(), ReadOptions())
    assert [finding.where for finding in refusal.value.findings] == ["row 3, width", "row 7, height"]


@settings(max_examples=80)
@given(st.binary(max_size=40), st.integers(0, 200))
def test_damage_is_refused_or_read_but_never_breaks(noise: bytes, place: int):
    data = PLAIN.encode()
    place %= len(data)
    with contextlib.suppress(Refused):
        read(data[:place] + noise + data[place:], ReadOptions())


def test_numbers_as_programs_write_them_are_read():
    """Seventeen significant digits hold a double (IEEE 754); a formula that comes to nothing leaves 1e-15."""
    rows = "panel,height,width\n1,130.33333333333334,68.28571428571429\n1,-0.00000000000001,50\n2,130.3,60\n2,0,60\n"
    drawing = read(rows.encode(), ReadOptions())
    assert drawing.panels[0].edges[EdgeName.FRONT][-1][1] == pytest.approx(130.33333333333334)


def test_cells_beyond_the_header_are_refused():
    assert "table.too-many-cells" in codes(b"panel,height,width\n1,130,60,5\n1,0,50\n")


def test_two_decimal_signs_in_the_text_cells_of_a_workbook_are_refused():
    book = openpyxl.Workbook()
    for row in (["panel", "height", "width"], [1, "130,5", 60], [1, 0, "50.5"], [2, 130, 60], [2, 0, 50]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    assert "table.mixed-decimal-signs" in codes(out.getvalue())


def refused(data: bytes) -> list[tuple[str, str, str]]:
    with pytest.raises(Refused) as refusal:
        read(data, ReadOptions())
    return [(finding.code, finding.where, finding.message) for finding in refusal.value.findings]


def test_a_file_that_holds_only_a_byte_order_mark_is_empty():
    assert refused(b"\xef\xbb\xbf") == [("file.empty", "file", "The file is empty.")]


def test_a_line_of_units_alone_is_no_table():
    assert refused(b"units: mm\n") == [("table.no-header", "file", "The table has no header row.")]


def test_tables_too_long_or_too_wide_are_refused():
    long = "panel,height,width\n" + "1,0,50\n" * 4000
    assert refused(long.encode()) == [("table.too-long", "file", "The table has more than 4000 rows.")]
    rows = [["panel", "height", "width"], *([1, 0, 50] for _ in range(4000))]
    assert refused(workbook(rows)) == [("table.too-long", "file", "The sheet has more than 4000 rows.")]
    wide = PLAIN + "1,-130,60" + "," * 38 + "\n"
    assert refused(wide.encode()) == [("table.too-wide", "row 8", "The row has more than 40 columns.")]


def test_rows_without_a_word_are_left_out_and_still_counted():
    assert pattern(PLAIN.replace("2,120,60", ",,\n2,120,60")).panels == pattern(PLAIN).panels
    rows = [
        ["panel", "height", "width"],
        [1, 120, 60],
        [1, 0, 50],
        [],
        ["", " "],
        [2, 120, 60],
        [2, 0, 50],
        [2, -90, "x"],
    ]
    assert [where for _, where, _ in refused(workbook(rows))] == ["row 8, width"]


def test_twenty_bad_rows_are_named_and_no_more():
    assert [where for _, where, _ in refused(b"panel,height,width\n" + b"1,0,x\n" * 50)] == [
        f"row {row}, width" for row in range(2, 22)
    ]
