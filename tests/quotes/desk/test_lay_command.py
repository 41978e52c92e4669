"""`lay` as others run it: its keys, its exit codes, its refusals; no database is asked.

What is promised is the interface's own. Published instances and the densities that no lay may pass: fixtures/nesting/README.md
(Gardeyn et al., arXiv 2509.13329, Table 3).
"""

import json
from collections import Counter
from pathlib import Path

import pytest
from shapely import Polygon
from shapely.affinity import rotate, scale, translate
from support_commands import run, stop_codes
from support_lay import NESTING, SQUARE, item, must_be_true, strip_file

FIXTURES = Path(__file__).parents[3] / "fixtures" / "patterns"
PROMISED = ["width", "length", "density_share", "lower_bound", "seconds", "effort", "cached", "placements", "findings"]


def test_a_published_instance_keeps_its_unit_and_its_ids():
    code, document = run("lay", NESTING / "albano.json", "--effort", "quick")
    assert code == 0
    assert [key for key in document if key in PROMISED] == PROMISED
    data = json.loads((NESTING / "albano.json").read_text())
    counts = Counter({row["id"]: row["demand"] for row in data["items"]})
    must_be_true(document, width=4900, counts=counts, hair=4900e-6)
    assert document["density_share"] <= 0.8982
    area = sum(Polygon(row["shape"]["data"]).area * row["demand"] for row in data["items"])
    assert document["density_share"] == pytest.approx(area / (4900 * document["length"]))
    assert document["lower_bound"] == pytest.approx(area / 4900)
    assert (document["cached"], document["effort"], document["width"]) == (False, "quick", 4900)
    shapes = {row["id"]: Polygon(row["shape"]["data"]) for row in data["items"]}
    for row in document["placements"]:
        true = rotate(shapes[row["piece"]], row["rotation"], origin=(0, 0))
        lies = Polygon(row["outline"])
        assert row["rotation"] in (0, 180)
        moved = translate(true, lies.bounds[0] - true.bounds[0], lies.bounds[1] - true.bounds[1])
        assert lies.hausdorff_distance(moved) < 1e-6 * 4900


def test_the_pieces_of_a_pattern_are_the_cut_pieces_of_both_halves():
    code, document = run("lay", FIXTURES / "underbust.json", "--width", "1340", "--effort", "none", "--layers", "2")
    assert code == 0
    _, takeoff = run("takeoff", FIXTURES / "underbust.json", "--effort", "none")
    assert {row["piece"] for row in document["placements"]} == {row["label"] for row in takeoff["pieces"]}
    must_be_true(document, width=1340, hair=0.01)
    outlines = {row["piece"]: Polygon(row["outline"]) for row in document["placements"]}
    for right, left in [("1A", "1B"), ("4C", "4D")]:
        # Pieces of the right half are mirror images across the cloth.
        mirror = scale(outlines[right], yfact=-1, origin=(0, 0))
        moved = translate(
            mirror, outlines[left].bounds[0] - mirror.bounds[0], outlines[left].bounds[1] - mirror.bounds[1]
        )
        assert outlines[left].hausdorff_distance(moved) < 1e-6
    assert {row["mirrored"] for row in document["placements"] if row["piece"].endswith(("A", "C"))} == {True}
    assert not any(row["mirrored"] for row in document["placements"] if row["piece"].endswith(("B", "D")))


def test_several_patterns_are_one_lay():
    code, document = run(
        "lay", FIXTURES / "underbust.json", FIXTURES / "overbust.csv", "--width", "1340", "--effort", "none"
    )
    assert code == 0
    assert len(document["placements"]) == 12 + 14
    assert {"underbust 1A", "overbust 7B"} <= {row["piece"] for row in document["placements"]}


def test_one_file_twice_keeps_its_pieces_apart():
    code, document = run(
        "lay", FIXTURES / "underbust.json", FIXTURES / "underbust.json", "--width", "1340", "--effort", "none"
    )
    assert code == 0
    assert len({row["piece"] for row in document["placements"]}) == 24


def test_a_nap_turns_nothing():
    code, document = run("lay", FIXTURES / "underbust.json", "--width", "1340", "--nap", "--effort", "quick")
    assert code == 0
    assert {row["rotation"] for row in document["placements"]} == {0}


def test_a_folded_lay_cuts_each_pair_once_within_half_the_width():
    code, document = run("lay", FIXTURES / "underbust.json", "--width", "1340", "--folded", "--effort", "none")
    assert code == 0
    assert document["width"] == 1340
    must_be_true(document, width=670, hair=0.01)
    pairs = {(row["piece"], row["cut_with"]) for row in document["placements"]}
    assert pairs == {(f"{number}A", f"{number}B") for number in range(1, 7)}
    assert not document["findings"]


def test_an_odd_piece_of_a_folded_lay_is_named(tmp_path: Path):
    hook = [[0, 0], [12, 0], [12, 3], [6, 3], [6, 10], [0, 10], [0, 0]]
    code, document = run(
        "lay", strip_file(tmp_path, item(hook, id=7, demand=3), item(id=8, demand=3)), "--folded", "--effort", "none"
    )
    assert code == 0
    # A hook's mirror image is no hook that may be turned by 0 only; of three squares two are a pair.
    assert [(found["code"], found["where"]) for found in document["findings"]] == [
        ("lay.odd-piece", "piece 7"),
        ("lay.odd-piece", "piece 8"),
    ]
    assert Counter(row["piece"] for row in document["placements"]) == {7: 3, 8: 2}


@pytest.mark.parametrize(
    ("options", "code", "where"),
    [
        (["--width", "-5"], "option.out-of-range", "--width"),
        (["--width", "wide"], "option.not-a-length", "--width"),
        (["--spacing", "-1"], "option.out-of-range", "--spacing"),
        (["--layers", "0"], "option.out-of-range", "--layers"),
        (["--layers", "1.5"], "option.not-whole", "--layers"),
        (["--seconds", "0"], "option.out-of-range", "--seconds"),
        (["--seconds", "2.5"], "option.not-whole", "--seconds"),
        (["--workers", "none"], "option.not-whole", "--workers"),
        (["--effort", "utmost"], "option.effort", "--effort"),
    ],
)
def test_option_values_are_checked(options: list[str], code: str, where: str):
    left, document = run("lay", FIXTURES / "underbust.json", *options)
    assert left == 1
    assert stop_codes(document) == {code}
    assert document["findings"][0]["where"] == where


def test_seconds_overrule_the_effort():
    code, document = run("lay", NESTING / "dagli.json", "--effort", "none", "--seconds", "1", "--workers", "1")
    assert (code, document["effort"], document["method"]) == (0, "1 s", "packed")
    # Published: no lay fills more than 90.17 %; rows, which are what no effort gives, are longer.
    _, rows = run("lay", NESTING / "dagli.json", "--effort", "none")
    assert document["density_share"] <= 0.9017
    assert document["length"] < rows["length"]
    must_be_true(document, width=60, hair=60e-6)


def test_a_width_must_agree_with_the_file(tmp_path: Path):
    path = strip_file(tmp_path)
    assert run("lay", path, "--width", "30", "--effort", "none")[0] == 0
    left, document = run("lay", path, "--width", "31", "--effort", "none")
    assert (left, stop_codes(document)) == (1, {"lay.width-differs"})


def test_a_strip_packing_problem_stands_alone(tmp_path: Path):
    left, document = run("lay", strip_file(tmp_path), FIXTURES / "underbust.json")
    assert (left, stop_codes(document)) == (1, {"lay.file-alone"})


@pytest.mark.parametrize(
    ("changes", "code", "where"),
    [
        ({"strip_height": 0}, "lay.too-small", "strip_height"),
        ({"strip_height": "30"}, "lay.type", "strip_height"),
        ({"strip_height": 1e300}, "lay.too-large", "strip_height"),
        ({"items": []}, "lay.too-few", "items"),
        ({"items": None}, "lay.type", "items"),
        ({"items": [item(demand=0)]}, "lay.too-small", "items[0].demand"),
        ({"items": [item(demand=1.5)]}, "lay.type", "items[0].demand"),
        ({"items": [item(allowed_orientations=[])]}, "lay.too-few", "items[0].allowed_orientations"),
        ({"items": [item(), item()]}, "lay.id-twice", "items[1].id"),
        ({"items": [item([[0, 0], [1, 1], [1, 0], [0, 1]])]}, "lay.outline", "items[0].shape.data"),
        ({"items": [item([[0, 0], [1, 1], [2, 2], [0, 0]])]}, "lay.outline", "items[0].shape.data"),
        ({"items": [item([[0, 0], [1, 1], [0, 0]])]}, "lay.outline", "items[0].shape.data"),
        ({"repeat": {"along": 0, "across": 5}}, "lay.too-small", "repeat.along"),
        ({"repeat": {"along": -1}}, "lay.too-small", "repeat.along"),
        ({"flaws": [[0, 40, 10, 50]]}, "lay.flaw", "flaws[0]"),
        ({"flaws": [[0, 1, 2, 1]]}, "lay.flaw", "flaws[0]"),
        ({"remnants": [{"width": 10}]}, "lay.missing-key", "remnants[0].length"),
        ({"remnants": [{"width": 10, "length": 0}]}, "lay.too-small", "remnants[0].length"),
    ],
)
def test_broken_problems_are_refused_with_their_place(tmp_path: Path, changes: dict, code: str, where: str):
    left, document = run("lay", strip_file(tmp_path, **changes))
    assert left == 1
    assert code in stop_codes(document)
    assert document["findings"][0]["where"] == where


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "3", '{"items": NaN, "strip_height": 1}', "[" * 50_000])
def test_what_is_no_problem_is_refused(tmp_path: Path, text: str):
    path = tmp_path / "problem.json"
    path.write_text(text)
    left, document = run("lay", path)
    assert left == 1
    assert stop_codes(document)


@pytest.mark.parametrize(
    ("outline", "folded", "mend"),
    [
        ([[0, 0], [10, 0], [10, 40], [0, 40]], False, "Turned by 90° it would be 10 wide"),
        ([[0, 0], [50, 0], [50, 80], [0, 80]], False, "pieced of 3 parts"),
        ([[0, 0], [10, 0], [10, 20], [0, 20]], True, "It fits the open cloth"),
    ],
)
def test_a_piece_wider_than_the_cloth_is_told_with_what_would_help(tmp_path: Path, outline, folded: bool, mend: str):
    left, document = run("lay", strip_file(tmp_path, item(outline, id=5)), *(["--folded"] if folded else []))
    assert (left, stop_codes(document)) == (1, {"lay.piece-wider-than-cloth"})
    found = document["findings"][0]
    assert found["where"] == "piece 5"
    assert f"{outline[2][1] - (15 if folded else 30)} more than" in found["message"]
    assert mend in found["hint"]


def test_four_hundred_pieces_are_laid(tmp_path: Path):
    code, document = run("lay", strip_file(tmp_path, item(SQUARE, demand=400)), "--effort", "none")
    assert (code, len(document["placements"])) == (0, 400)
    must_be_true(document, width=30, counts=Counter({0: 400}), hair=1e-9)
