"""Snapshots of earlier versions read as they were meant. The golden document was sealed by the version that wrote it,
and `snapshot-1.said.json` is what that version made of it: papers, pages, needs. Two options, one of whose names begins
with the other's, an overruled line, drawn lays, a zip, doubled bones.
"""

import json
from dataclasses import asdict
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from quotes.documents.earlier_quote import earlier_quote
from quotes.documents.internal_sheet import internal_workbook
from quotes.documents.material_needs import material_needs
from quotes.seal.snapshot import SNAPSHOT, Snapshot, fingerprint
from quotes.takeoff.takeoff import BonePlace

DOCUMENTS = Path(__file__).parents[3] / "fixtures" / "documents"


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return json.loads((DOCUMENTS / "snapshot-1.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def said() -> dict[str, Any]:
    return json.loads((DOCUMENTS / "snapshot-1.said.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def snapshot(document: dict[str, Any]) -> Snapshot:
    return SNAPSHOT.read(document)


def plain(value: object) -> Any:
    return json.loads(json.dumps(value, default=str))


def test_reading_leaves_the_document_and_its_seal_as_they_were(document: dict[str, Any], said: dict[str, Any]):
    before = json.dumps(document)
    SNAPSHOT.read(document)
    assert json.dumps(document) == before
    assert fingerprint(document) == said["fingerprint"]


def test_the_client_reads_what_they_read(snapshot: Snapshot, said: dict[str, Any]):
    assert plain(asdict(earlier_quote(snapshot))) == said["client_quote"]


def test_the_workrooms_sheet_has_the_same_cells(snapshot: Snapshot, said: dict[str, Any]):
    """Of bones it says their form besides, at the end of each row."""
    book = load_workbook(BytesIO(internal_workbook(snapshot)))
    book["Bones"].delete_cols(8, 2)
    assert (
        plain([[sheet.title, *([cell.value for cell in row] for row in sheet.iter_rows())] for sheet in book])
        == (said["workbook"])
    )


def test_the_shelf_is_asked_for_the_same(snapshot: Snapshot, said: dict[str, Any]):
    """Before bones came in forms, every material was asked for in its own."""
    needs = [[asdict(need) for need in material_needs(option)] for option in snapshot.quotation.options]
    assert {need.pop("form") for option in needs for need in option} == {""}
    assert plain(needs) == said["needs"]


def test_a_cost_line_has_the_material_and_the_reason_of_its_takeoff(document: dict[str, Any], snapshot: Snapshot):
    for written, option in zip(document["quotation"]["options"], snapshot.quotation.options, strict=True):
        lines = {line["code"]: line for line in written["takeoff"]["lines"]}
        for line in option.lines_of("material"):
            if line.code == "sundries":
                assert (line.material, line.reason) == ("", None)
            else:
                assert line.material == lines[line.code]["material"]
                assert line.reason is not None
                assert asdict(line.reason) == lines[line.code]["reason"]
    cord = next(line for line in snapshot.quotation.options[0].lines if line.code == "cord")
    assert (cord.quantity, cord.overrule_reason) == (Decimal(8), "she wants long ends")
    assert cord.overruled is not None


def test_facts_that_stood_in_words_are_facts(snapshot: Snapshot):
    first, second = snapshot.quotation.options
    assert [(run.place, run.number) for run in first.takeoff.bones][:2] == [(BonePlace.SEAM, 1), (BonePlace.SEAM, 2)]
    assert {run.place for run in second.takeoff.bones} == {
        BonePlace.SEAM, BonePlace.CENTRE_BACK, BonePlace.BESIDE_FRONT,
    }  # fmt: skip
    assert [(found.option, found.place) for found in snapshot.quotation.findings] == [
        ("Two layers, busk", "beside busk"),
        ("Two layers, busk", "centre front"),
        ("Two layers, busk: double", "beside zip"),
    ]
    assert [(lay.option, lay.role) for lay in snapshot.drawings.lays] == [
        ("Two layers, busk", "outer"),
        ("Two layers, busk", "inner"),
        ("Two layers, busk: double", "outer"),
        ("Two layers, busk: double", "inner"),
        ("Two layers, busk: double", "lining"),
    ]
    assert {row.code: row.role for row in first.takeoff.labour.operations if row.role}["TAPE"] == "waist-tape"


def test_what_is_written_today_reads_back_to_the_same(snapshot: Snapshot):
    written = SNAPSHOT.written(snapshot)
    assert written["schema_version"] == SNAPSHOT.version
    assert SNAPSHOT.read(json.loads(json.dumps(written))) == snapshot


def test_every_figure_of_the_old_form_stands_in_the_new_one(document: dict[str, Any], snapshot: Snapshot):
    written = SNAPSHOT.written(snapshot)

    def held(old: Any, new: Any, where: str) -> None:
        if isinstance(old, dict):
            for key, value in old.items():
                held(value, new[key], f"{where}.{key}")
        elif isinstance(old, list):
            assert len(old) == len(new), where
            for number, (one, other) in enumerate(zip(old, new, strict=True)):
                held(one, other, f"{where}[{number}]")
        else:
            assert old == new, where

    held(document["quotation"], written["quotation"], "quotation")
    head = written["letterhead"]
    as_one = {**head, "number": f"{head['number']}, revision {head['revision']}"}
    held(document["letterhead"], as_one, "letterhead")


@pytest.mark.parametrize("version", [0, 5, "1"])
def test_a_version_that_is_not_known_is_refused(document: dict[str, Any], version: object):
    with pytest.raises(ValueError, match="cannot be read here"):
        SNAPSHOT.read({**document, "schema_version": version})


def test_a_document_that_is_not_of_its_form_is_refused_with_the_place(snapshot: Snapshot):
    written = SNAPSHOT.written(snapshot)
    written["quotation"]["options"][1]["gross"] = "a lot"
    with pytest.raises(ValueError, match=r"quotation\.options\[1\]\.gross"):
        SNAPSHOT.read(written)
