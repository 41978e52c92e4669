"""Names that are no text, transforms that are none, broken workbooks: a sentence with its place.

Sources: Unicode 15, 3.9 (D75: a lone surrogate is no character); SVG 1.1, 7.6 (the transforms and how many numbers each takes);
DXF reference (\\\\U+xxxx writes a character); ECMA-376, 22.9.2.19 (_xHHHH_ does in a workbook).
"""

from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from support_dxf import dxf_bytes, underbust_dxf
from support_processes import PROJECT

from inventory.ground.findings import Refused, stop
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.readers import read_pattern
from quotes.pattern.readers.child import read_here

PATTERNS = PROJECT / "fixtures" / "patterns"


def refused(data: bytes, kind: str) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as refusal:
        read_here(data, kind, "soak", ReadOptions(), True)
    return [(found.code, found.where) for found in refusal.value.findings]


def moved(transform: str) -> bytes:
    """The underbust, its first panel moved."""
    data = (PATTERNS / "underbust.svg").read_text(encoding="utf-8")
    as_drawn = 'id="panel-1" transform="translate(60.000 240)"'
    assert as_drawn in data
    return data.replace(as_drawn, f'id="panel-1" transform="{transform}"').encode()


@pytest.mark.parametrize(
    "transform",
    [
        "spin(3)",
        "rotate(",
        "rotate(10) spin(2)",
        "translate(1,2",
        "matrix(1 2 3)",
        "rotate(1 2)",
        "translate(10mm)",
        "translate(NaN)",
        "rotate(nan)",
        "scale(Infinity)",
        "scale()",
        "left",
        ",",
    ],
)
def test_an_unknown_transform_is_named_with_its_panel(transform: str):
    assert refused(moved(transform), ".svg") == [("svg.transform", 'g "panel-1"')]


@pytest.mark.parametrize(
    "transform",
    [
        "",
        "none",
        "translate(3)",
        "translate(3,-4) scale(1)",
        "matrix(1 0 0 1 .5 0),rotate(0deg, 1 2)",
        "skewX(0)\nskewY( 0 )",
    ],
)
def test_what_svg_knows_is_read(transform: str):
    assert isinstance(read_here(moved(transform), ".svg", "soak", ReadOptions(), True), Reading)


def test_an_escape_that_is_no_character_stays_as_it_is_written():
    drawn = dxf_bytes(underbust_dxf()).replace(b"PIECE-2", b"PIECE-\\U+D8002")
    reading = read_here(drawn, ".dxf", "soak", ReadOptions(), False)
    assert isinstance(reading, Drawing)
    assert "".join(panel.where for panel in reading.panels).encode()


def test_a_file_whose_name_is_no_text_is_refused(tmp_path: Path):
    path = tmp_path / b"na\xffme.svg".decode("utf-8", "surrogateescape")
    path.write_bytes((PATTERNS / "underbust.svg").read_bytes())
    with pytest.raises(Refused) as refusal:
        read_pattern(path, ReadOptions())
    (found,) = refusal.value.findings
    assert (found.code, found.where) == ("file.not-text", "na\ufffdme.svg")


def test_findings_can_be_shown_whatever_they_quote():
    found = stop("a.b", "row \ud800", "\udcff is no number.", "Write 1½.")
    assert (found.where, found.message, found.hint) == ("row \ufffd", "\ufffd is no number.", "Write 1½.")


@pytest.mark.parametrize(
    ("part", "told", "instead"),
    [
        ("xl/styles.xml", b"<xf numFmtId=", b"<xf FF00="),
        ("xl/styles.xml", b'borderId="0"', b'borderId="NaN"'),
        ("xl/worksheets/sheet1.xml", b"<v>1</v>", b"<v>_xD800_</v>"),
        ("xl/workbook.xml", b"<sheets>", b"<sheet>"),
    ],
)
def test_a_workbook_that_says_nonsense_is_refused(part: str, told: bytes, instead: bytes):
    """Files that fuzzing found."""
    out = BytesIO()
    with ZipFile(PATTERNS / "underbust.xlsx") as whole, ZipFile(out, "w") as broken:
        for name in whole.namelist():
            data = whole.read(name)
            assert name != part or told in data
            broken.writestr(name, data.replace(told, instead) if name == part else data)
    assert refused(out.getvalue(), ".xlsx") == [("file.not-a-workbook", "file")]
