"""The papers of a lay: true to scale, on the layers of ASTM D6673, with what the cutter looks for.

Sizes of paper: ISO 216 (A4), ANSI/ASME Y14.1 (Letter). Layers: ASTM D6673 / ANSI/AAMA-292. A point is 1/72 in (PDF reference).
"""

import json
import re
from collections import Counter
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
from django.core.management import call_command
from pypdf import PdfReader
from shapely import Polygon
from support_commands import run, stop_codes
from support_lay import NESTING, item, strip_file

from quotes.documents.lay_sheets import Paper, sheets_of
from quotes.drawings.cutting_table import CuttingTable, Kind, cutting_table
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem
from quotes.lay.nest import lay

PATTERNS = Path(__file__).parents[3] / "fixtures" / "patterns"
SVG = "{http://www.w3.org/2000/svg}"


def drawn(path: Path) -> ElementTree.Element:
    return ElementTree.fromstring(path.read_text())


def rings(root: ElementTree.Element, kind: str) -> list[Polygon]:
    paths = [path.get("d") or "" for path in root.iter(f"{SVG}path") if path.get("class") == kind]
    return [Polygon([(float(x), -float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", path)]) for path in paths]


def test_the_drawing_is_to_scale_and_shows_what_a_cutter_looks_for(tmp_path: Path):
    file = tmp_path / "lay.svg"
    code, document = run("lay", PATTERNS / "underbust.json", "--width", "700", "--effort", "quick", "--svg", file)
    assert code == 0
    root = drawn(file)
    left, _, width, height = map(float, (root.get("viewBox") or "").split())
    assert (root.get("width"), root.get("height")) == (f"{width:.1f}mm", f"{height:.1f}mm")
    assert left < 0 < document["length"] < left + width
    cut = rings(root, "cut-line")
    for row in document["placements"]:
        assert any(ring.symmetric_difference(Polygon(row["outline"])).area < 20 for ring in cut)
    sewn = rings(root, "stitching-line")
    _, takeoff = run("takeoff", PATTERNS / "underbust.json", "--effort", "none")
    net = sorted(row["net_area_mm2"] for row in takeoff["pattern"]["panels"] for _ in range(2))
    assert sorted(ring.area for ring in sewn) == pytest.approx(net, rel=1e-3)
    assert all(any(outer.contains(ring) for outer in cut) for ring in sewn)
    kinds = Counter(path.get("class") for path in root.iter(f"{SVG}path"))
    assert kinds["waist-line"] == 12
    assert kinds["selvedge"] == 2
    assert kinds["grain-line"] == 24
    words = Counter(text.text for text in root.iter(f"{SVG}text"))
    assert {row["piece"] for row in document["placements"]} <= set(words)
    assert words["turned"] == sum(row["rotation"] == 180 for row in document["placements"])
    assert words["up"] == 12
    assert words["700 mm wide"] == 1


def test_a_folded_lay_names_both_pieces_of_a_pair_and_the_fold(tmp_path: Path):
    file = tmp_path / "lay.svg"
    run("lay", PATTERNS / "underbust.json", "--width", "1340", "--folded", "--effort", "none", "--svg", file)
    words = {text.text or "" for text in drawn(file).iter(f"{SVG}text")}
    assert {f"{number}A + {number}B" for number in range(1, 7)} <= words
    assert any(word.startswith("fold") for word in words)
    assert "both selvedges" in words


@pytest.mark.parametrize("name", ["underbust", "overbust"])
def test_the_plotter_file_reads_back_as_the_same_pattern(tmp_path: Path, name: str):
    file = tmp_path / "lay.dxf"
    run("lay", PATTERNS / f"{name}.json", "--width", "1340", "--nap", "--effort", "none", "--dxf", file)
    keys = ("net_area_mm2", "front_mm", "back_mm", "waist_mm")
    _, before = run("takeoff", PATTERNS / f"{name}.json", "--effort", "none")
    code, after = run("takeoff", file, "--effort", "none")
    assert code == 0
    for panel, again in zip(before["pattern"]["panels"], after["pattern"]["panels"], strict=True):
        assert [again[key] for key in keys] == pytest.approx([panel[key] for key in keys], rel=1e-3, abs=0.1)


def test_the_plotter_file_has_a_block_for_each_copy(tmp_path: Path):
    file = tmp_path / "lay.dxf"
    code, document = run("lay", strip_file(tmp_path, item(demand=3)), "--effort", "none", "--dxf", file)
    assert code == 0
    read = ezdxf.readfile(file)
    assert read.header["$INSUNITS"] == 0
    assert [insert.dxf.name for insert in read.modelspace().query("INSERT")] == [
        "PIECE-0",
        "PIECE-0-COPY-2",
        "PIECE-0-COPY-3",
    ]
    for row, block in zip(document["placements"], ("PIECE-0", "PIECE-0-COPY-2", "PIECE-0-COPY-3"), strict=True):
        (line,) = read.blocks[block].query('LWPOLYLINE[layer=="1"]')
        # A strip of 30 is drawn ten times as large.
        assert sum(line.get_points("xy"), ()) == pytest.approx([10 * value for at in row["outline"] for value in at])


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_the_cutting_sheet_and_its_tiles(tmp_path: Path, paper: str, size: tuple[float, float]):
    file = tmp_path / "lay.pdf"
    code, document = run(
        "lay", PATTERNS / "underbust.json", "--width", "700", "--effort", "none", "--pdf", file, "--paper", paper
    )
    assert code == 0
    pages = PdfReader(file).pages
    for page in pages:
        assert (page.mediabox.width / 72 * 25.4, page.mediabox.height / 72 * 25.4) == pytest.approx(size, abs=0.1)
    first = pages[0].extract_text()
    assert all(row["piece"] in first for row in document["placements"])
    assert f"{document['length']:.1f} mm" in first
    assert "50 mm" in pages[1].extract_text()
    assert "row 1, column 1" in pages[2].extract_text()


SQUARES = LayProblem(
    width=1000.0,
    pieces=(LayPiece(label="1A", outline=((0, 0), (400, 0), (400, 400), (0, 400)), copies=3, rotations=(0.0,)),),
    spacing=0.0,
)


def table_of(problem: LayProblem) -> tuple[CuttingTable, LayPlan]:
    plan = lay(problem, Effort.NONE)
    table = cutting_table("squares", problem, plan, marked={}, partners={}, is_folded=False, is_in_mm=True)
    return table, plan


@pytest.mark.parametrize("paper", list(Paper))
def test_tiles_cover_every_piece_and_lap_over_each_other(paper: Paper):
    table, plan = table_of(SQUARES)
    sheets = sheets_of(table, SQUARES, plan, paper)
    windows = []
    for tile in sheets.tiles:
        root = ElementTree.fromstring(tile.svg)
        left, top, width, height = map(float, (root.get("viewBox") or "").split())
        # What stands as 1 mm in the drawing is 1 mm on the page.
        assert (width, height) == pytest.approx((sheets.tile_width, sheets.tile_height), abs=0.1)
        windows.append(
            (
                (tile.row, tile.column),
                Polygon([(left, -top - height), (left + width, -top - height), (left + width, -top), (left, -top)]),
            )
        )
    places = dict(windows)
    covered = Polygon()
    for window in places.values():
        covered = covered.union(window.buffer(0.1))
    assert all(covered.contains(Polygon(piece.outline)) for piece in table.pieces)
    for (row, column), window in places.items():
        if (row, column + 1) in places:
            shared = window.intersection(places[row, column + 1]).bounds
            assert shared[2] - shared[0] == pytest.approx(sheets.overlap, abs=0.2)
        if (row + 1, column) in places:
            shared = window.intersection(places[row + 1, column]).bounds
            assert shared[3] - shared[1] == pytest.approx(sheets.overlap, abs=0.2)


def test_too_many_tiles_are_left_out_with_a_word():
    broad = LayPiece(label="1", outline=((0, 0), (40_000, 0), (40_000, 40_000), (0, 40_000)))
    problem = LayProblem(width=50_000.0, pieces=(broad,))
    table, plan = table_of(problem)
    sheets = sheets_of(table, problem, plan, Paper.A4)
    assert not sheets.tiles
    assert "left out" in sheets.why_none


def test_flaws_repeats_and_remnants_are_drawn(tmp_path: Path):
    file = tmp_path / "lay.svg"
    path = strip_file(
        tmp_path,
        item(demand=6),
        repeat={"along": 15},
        flaws=[[0, 0, 5, 5]],
        remnants=[{"width": 10, "length": 40, "worth": 1}],
    )
    code, document = run("lay", path, "--effort", "none", "--svg", file)
    assert code == 0
    kinds = Counter(shape.get("class") for shape in drawn(file).iter(f"{SVG}path"))
    assert kinds["flaw"] == 3
    assert kinds["repeat"] == int(document["length"] // 15) + 1
    assert kinds["selvedge"] == 4
    assert any("remnant 0" in (text.text or "") for text in drawn(file).iter(f"{SVG}text"))


def test_a_problem_without_a_unit_is_drawn_too(tmp_path: Path):
    code, _ = run(
        "lay", NESTING / "shirts.json", "--effort", "none", "--svg", tmp_path / "s.svg", "--dxf", tmp_path / "s.dxf", "--pdf", tmp_path / "s.pdf"
    )  # fmt: skip
    assert code == 0
    cut = rings(drawn(tmp_path / "s.svg"), Kind.CUT.value)
    data = json.loads((NESTING / "shirts.json").read_text())
    area = sum(Polygon(row["shape"]["data"]).area * row["demand"] for row in data["items"])
    # A strip of 40 is drawn ten times as large.
    assert sum(ring.area for ring in cut) / 100 == pytest.approx(area, rel=1e-3)
    assert (tmp_path / "s.pdf").read_bytes().startswith(b"%PDF")


def test_lengths_of_a_problem_in_metres_are_told_to_the_millimetre(tmp_path: Path):
    """Three of 0.4567 by 0.9 on a width of 1 lie behind each other: 1.3701."""
    oblong = [[0, 0], [0.4567, 0], [0.4567, 0.9], [0, 0.9]]
    problem, out = strip_file(tmp_path, item(oblong, demand=3), strip_height=1), StringIO()
    call_command("lay", str(problem), "--effort", "none", "--pdf", str(tmp_path / "lay.pdf"), stdout=out)
    assert "1.370 long" in out.getvalue()
    assert "1.370" in PdfReader(tmp_path / "lay.pdf").pages[0].extract_text()


@pytest.mark.parametrize("option", ["--svg", "--dxf", "--pdf"])
def test_a_paper_that_cannot_be_written_is_refused(tmp_path: Path, option: str):
    code, document = run("lay", PATTERNS / "underbust.json", "--effort", "none", option, tmp_path / "no" / "lay")
    assert (code, stop_codes(document)) == (1, {f"option.{option[2:]}"})
    assert document["findings"][0]["where"] == option


def test_nothing_is_written_where_one_of_the_papers_cannot_be(tmp_path: Path):
    """Nor is it searched for first: thorough effort would take a minute."""
    written = tmp_path / "lay.svg"
    nowhere = ("--dxf", tmp_path / "no" / "lay.dxf")
    code, document = run("lay", PATTERNS / "underbust.json", "--effort", "thorough", "--svg", written, *nowhere)
    assert (code, stop_codes(document)) == (1, {"option.dxf"})
    assert not written.exists()


def test_a_paper_takes_the_place_of_no_other_and_of_nothing_that_is_laid(tmp_path: Path):
    problem = strip_file(tmp_path)
    said = problem.read_bytes()
    code, document = run("lay", problem, "--effort", "none", "--svg", f"{tmp_path}/./{problem.name}")
    assert (code, stop_codes(document)) == (1, {"option.svg"})
    assert problem.read_bytes() == said
    same = tmp_path / "lay"
    code, document = run("lay", problem, "--effort", "none", "--svg", same, "--pdf", same)
    assert (code, stop_codes(document)) == (1, {"option.pdf"})
    assert not same.exists()


def test_papers_are_a4_or_letter():
    code, document = run("lay", PATTERNS / "underbust.json", "--effort", "none", "--paper", "a0")
    assert (code, stop_codes(document)) == (1, {"option.paper"})
