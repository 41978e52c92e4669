"""`takeoff` as others run it: its keys, its exit codes, its refusals; no database is asked.

What is promised is the interface's own; faults of files by their names in fixtures/patterns/broken.
"""

import json
import shutil
import zipfile
from pathlib import Path

import pytest
from support_commands import run, stop_codes

FIXTURES = Path(__file__).parents[3] / "fixtures" / "patterns"
BROKEN = FIXTURES / "broken"
KEYS = {
    "pattern": {"name", "panels_per_half", "closed_waist_mm", "worn_waist_mm", "panels", "seams"},
    "construction": {"name", "cloth_layers"},
    "work": {"pieces", "seams", "seam_passes", "seam_mm", "pass_mm"},
    "front": {"kind", "length_mm", "loops"},
    "grommets": {"per_side", "sets"},
    "labour": {"operations", "allowance_share", "total_min", "low_min", "high_min"},
}
ROWS = {
    "pieces": {"label", "panel", "half", "layer", "cloth"},
    "cloths": {"role", "pieces", "area_mm2", "usable_width_mm", "lay_mm", "utilisation_share", "buy_mm"},
    "bones": {"where", "kind", "channel_mm", "ideal_mm", "length_mm", "count"},
    "lines": {"code", "material", "quantity", "unit", "buy_quantity", "basis"},
}
PANEL = {
    "number",
    "net_area_mm2",
    "cut_area_mm2",
    "front_mm",
    "back_mm",
    "top_mm",
    "bottom_mm",
    "waist_mm",
}
LENGTHS = ("tape_mm", "binding_mm", "casing_mm", "cord_mm", "thread_mm")


def test_the_document_has_every_promised_key():
    code, document = run("takeoff", FIXTURES / "underbust.json", "--effort", "none")
    assert code == 0
    for part, keys in KEYS.items():
        assert keys <= set(document[part]), part
    for part, keys in ROWS.items():
        assert document[part], part
        assert all(keys <= set(row) for row in document[part]), part
    assert all(set(panel) >= PANEL for panel in document["pattern"]["panels"])
    seam = {"number", "length_mm", "other_length_mm", "difference_mm"}
    assert all(seam <= set(row) for row in document["pattern"]["seams"])
    operation = {"code", "name", "driver", "driver_quantity", "minutes"}
    assert all(operation <= set(row) for row in document["labour"]["operations"])
    assert all(document[name] >= 0 for name in LENGTHS)
    assert document["effort"] == "none"
    assert isinstance(document["findings"], list)


def test_totals_are_the_sums_of_their_rows():
    _, document = run("takeoff", FIXTURES / "overbust.dxf", "--effort", "none")
    work, labour = document["work"], document["labour"]
    assert work["pieces"] == len(document["pieces"]) == len({row["label"] for row in document["pieces"]})
    minutes = sum(row["minutes"] for row in labour["operations"]) * (1 + labour["allowance_share"])
    assert labour["total_min"] == pytest.approx(minutes)
    assert labour["low_min"] < labour["total_min"] < labour["high_min"]
    # Two shells of 6 seams in both halves, each sewn twice.
    mean = sum(row["length_mm"] + row["other_length_mm"] for row in document["pattern"]["seams"]) / 2
    assert work["seam_mm"] == pytest.approx(2 * 2 * mean)
    assert work["pass_mm"] == pytest.approx(2 * work["seam_mm"])


def test_a_drawn_lay_is_told_by_its_effort_and_saves_cloth():
    _, quick = run("takeoff", FIXTURES / "underbust.json", "--effort", "none")
    _, drawn = run("takeoff", FIXTURES / "underbust.json", "--effort", "quick")
    assert drawn["effort"] == "quick"
    outer, before = drawn["cloths"][0], quick["cloths"][0]
    assert 0 < outer["lay_mm"] <= before["lay_mm"]
    assert outer["area_mm2"] == before["area_mm2"]
    assert outer["buy_mm"] % 100 == 0


def test_options_reach_the_figures():
    _, plain = run("takeoff", FIXTURES / "underbust.json", "--effort", "none")
    _, fitted = run("takeoff", FIXTURES / "underbust.json", "--effort", "none", "--gap", "60", "--reduction", "1 in")
    closed = plain["pattern"]["closed_waist_mm"]
    assert plain["pattern"]["worn_waist_mm"] == pytest.approx(closed + 50)
    assert fitted["pattern"]["worn_waist_mm"] == pytest.approx(closed + 60)
    assert fitted["cord_mm"] != plain["cord_mm"]
    _, narrow = run("takeoff", FIXTURES / "underbust.json", "--effort", "none", "--width", "700")
    assert narrow["cloths"][0]["usable_width_mm"] == 700
    assert narrow["cloths"][0]["lay_mm"] > plain["cloths"][0]["lay_mm"]


@pytest.mark.parametrize(
    ("name", "layers", "roles"),
    [
        ("single-layer", 1, {"outer"}),
        ("two-layer", 2, {"outer", "inner"}),
        ("welt", 2, {"outer", "inner"}),
        ("fused", 2, {"outer", "inner"}),
        ("three-layer", 3, {"outer", "inner", "lining"}),
    ],
)
def test_shipped_constructions(name: str, layers: int, roles: set[str]):
    code, document = run("takeoff", FIXTURES / "underbust.csv", "--construction", name, "--effort", "none")
    assert code == 0
    assert document["construction"]["cloth_layers"] == layers
    assert {row["cloth"] for row in document["pieces"]} == roles
    assert document["work"]["pieces"] == 12 * layers


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("not-a-number.json", "file.not-a-number"),
        ("a-million-metres.json", "file.not-a-length"),
        ("unknown-units.json", "file.unknown-units"),
        ("crossed-outline.json", "pattern.outline-crosses-itself"),
        ("panel-missing.json", "pattern.panel-missing"),
        ("seam-does-not-true.json", "pattern.seam-does-not-true"),
        ("inches-said-to-be-millimetres.json", "pattern.looks-like-other-units"),
        ("key-twice.json", "file.key-twice"),
        ("empty.json", "file.empty"),
        ("latin-1.csv", "file.not-text"),
        ("two-decimal-signs.csv", "table.mixed-decimal-signs"),
        ("cut-off.dxf", "dxf.cut-off"),
        ("binary.dxf", "dxf.binary"),
        ("entity-bomb.svg", "svg.entities"),
        ("outside-reference.svg", "svg.outside-reference"),
        ("script.svg", "svg.script"),
        ("no-real-size.svg", "file.no-units"),
    ],
)
def test_broken_files_are_refused_in_a_sentence(name: str, code: str):
    exit_code, document = run("takeoff", BROKEN / name)
    assert exit_code == 1
    assert code in stop_codes(document)
    # A drawing's refusal also says what its outlines were taken for.
    assert set(document) - {"taken_for"} == {"findings"}


def test_every_broken_example_is_tried():
    assert len(list(BROKEN.iterdir())) == 17


def test_a_seam_that_does_not_true_may_be_marked_as_ease():
    code, document = run("takeoff", BROKEN / "seam-does-not-true.json", "--ease", "1", "--effort", "none")
    assert code == 0
    assert document["pattern"]["seams"][0]["difference_mm"] < -3


def test_units_said_beside_the_file():
    code, document = run("takeoff", BROKEN / "inches-said-to-be-millimetres.json", "--units", "in", "--effort", "none")
    assert code == 0
    assert document["pattern"]["panels"][0]["front_mm"] == pytest.approx(240, abs=0.5)


def test_a_workbook_that_unpacks_without_end_is_refused(tmp_path: Path):
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 200_000_000)
    exit_code, document = run("takeoff", path)
    assert (exit_code, stop_codes(document)) == (1, {"file.unpacks-too-large"})


@pytest.mark.parametrize(
    ("option", "value", "code"),
    [
        ("--effort", "heroic", "option.effort"),
        ("--construction", "seven-layer", "option.construction"),
        ("--units", "ell", "option.units"),
        ("--centre-front", "up", "option.centre-front"),
        ("--width", "0", "option.out-of-range"),
        ("--width", "nan", "option.not-a-length"),
        ("--width", "1e9", "option.not-a-length"),
        ("--reduction", "-1", "option.out-of-range"),
        ("--gap", "wide", "option.not-a-length"),
        ("--seam-allowance", "-5", "option.out-of-range"),
        ("--ease", "one", "option.ease"),
        ("--ease", "9", "pattern.ease-without-seam"),
        ("--width", "120", "takeoff.piece-wider-than-cloth"),
    ],
)
def test_option_values_are_checked_by_the_command(option: str, value: str, code: str):
    exit_code, document = run("takeoff", FIXTURES / "underbust.json", f"{option}={value}")
    assert exit_code == 1
    assert code in stop_codes(document)


@pytest.fixture
def construction() -> dict:
    path = Path(__file__).parents[3] / "quotes" / "construction" / "shipped" / "two-layer.json"
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"layers": []}, "layers"),
        ({"allowances": {"seam_mm": -3}}, "allowances.seam_mm"),
        ({"allowances": {"seam_mm": float("nan")}}, "own.json, allowances.seam_mm"),
        ({"wings": 2}, "wings"),
        ({"shells": []}, "shells"),
        ({"operations": [{"code": "FLY"}]}, "operation FLY"),
        ({"front": "hooks"}, "front"),
        (
            {"layers": [{"role": "outer", "title": "outer", "panels": [9]}, {"role": "inner", "title": "inner"}]},
            "layer outer",
        ),
    ],
)
def test_constructions_that_cannot_be_made_are_refused(tmp_path: Path, construction: dict, change: dict, place: str):
    path = tmp_path / "own.json"
    path.write_text(json.dumps({**construction, **change}), encoding="utf-8")
    exit_code, document = run("takeoff", FIXTURES / "underbust.json", "--construction", path, "--effort", "none")
    assert exit_code == 1
    assert stop_codes(document)
    assert place in {found["where"] for found in document["findings"]}


def test_a_construction_of_ones_own(tmp_path: Path, construction: dict):
    construction["layers"].append({"role": "net", "title": "net over 3 and 4", "panels": [3, 4]})
    construction["shells"][0]["roles"].append("net")
    path = tmp_path / "own.json"
    path.write_text(json.dumps(construction), encoding="utf-8")
    code, document = run("takeoff", FIXTURES / "underbust.json", "--construction", path, "--effort", "none")
    assert code == 0
    assert sum(row["cloth"] == "net" for row in document["pieces"]) == 4


def test_nothing_but_the_file_is_read(tmp_path: Path):
    shutil.copy(FIXTURES / "underbust.svg", tmp_path / "alone.svg")
    assert run("takeoff", tmp_path / "alone.svg", "--effort", "none")[0] == 0
    assert [path.name for path in tmp_path.iterdir()] == ["alone.svg"]
