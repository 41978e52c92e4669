"""`quote` as others run it: promised keys, exit codes, refusals, the client's PDF; no database where the file has prices."""

import json
import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from support_commands import run, stop_codes
from support_commissions import FIXTURES, changed, plain

PROJECT = FIXTURES.parent
COMMISSIONS = sorted((FIXTURES / "commissions").glob("*.json"))
MONEY = (
    "materials",
    "labour",
    "overhead",
    "contingency",
    "extras",
    "cost",
    "profit",
    "discount",
    "rush",
    "fee",
    "net",
    "tax",
    "gross",
    "per_hour",
)


def written(folder: Path, document: object) -> Path:
    path = folder / "commission.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


@pytest.mark.parametrize("path", COMMISSIONS, ids=lambda path: path.stem)
def test_example_commissions_are_priced(path: Path):
    code, document = run("quote", path, "--effort", "none")
    assert code == 0
    assert set(document) == {"currency", "options", "findings"}
    assert len(document["options"]) == 3
    for option in document["options"]:
        assert {"name", "takeoff", "lines", "deposit", "binding_rule", *MONEY} <= set(option)
        assert option["binding_rule"] in ("margin", "minimum-per-hour", "price-step")
        assert all(isinstance(option[name], str) for name in MONEY)
        line = {"group", "code", "what", "quantity", "unit", "rate", "amount"}
        assert all(line <= set(row) for row in option["lines"])
        groups = {row["group"] for row in option["lines"]}
        assert groups <= {"material", "labour", "overhead", "contingency", "extra"}
        assert sum(map(Decimal, option["deposit"])) == Decimal(option["gross"])


def test_yen_have_no_minor_unit():
    """ISO 4217: JPY has 0 minor digits."""
    _, document = run("quote", FIXTURES / "commissions" / "single-layer-in-yen.json", "--effort", "none")
    assert document["currency"] == "JPY"
    for option in document["options"]:
        assert "." not in "".join([option["gross"], option["net"], option["tax"], *option["deposit"]])
        assert int(option["gross"]) % 500 == 0


def test_the_pdf_is_written_and_is_the_same_each_time(tmp_path: Path):
    path = written(tmp_path, plain())
    pdfs = [tmp_path / "one.pdf", tmp_path / "two.pdf"]
    for pdf in pdfs:
        assert run("quote", path, "--effort", "none", "--pdf", pdf)[0] == 0
    assert pdfs[0].read_bytes() == pdfs[1].read_bytes()
    assert pdfs[0].read_bytes().startswith(b"%PDF-")


def test_a_pdf_that_cannot_be_written_is_refused(tmp_path: Path):
    path = written(tmp_path, plain())
    code, document = run("quote", path, "--effort", "none", "--pdf", tmp_path / "nowhere" / "quote.pdf")
    assert (code, stop_codes(document)) == (1, {"option.pdf"})


def test_a_pdf_takes_not_the_place_of_its_commission(tmp_path: Path):
    path = written(tmp_path, plain())
    before = path.read_bytes()
    code, document = run("quote", path, "--effort", "none", "--pdf", path)
    assert (code, stop_codes(document)) == (1, {"option.pdf"})
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"   ",
        b"\xff\xfe",
        b"not json",
        b"[" * 5000,
        b'{"title": 1, "title": 2}',
        b"null",
        b'{"x": ' + b"9" * 9000 + b"}",
    ],
    ids=["empty", "blank", "no-text", "no-json", "deep", "key-twice", "null", "digits"],
)
def test_what_is_no_commission_is_refused(tmp_path: Path, data: bytes):
    path = tmp_path / "commission.json"
    path.write_bytes(data)
    code, document = run("quote", path)
    assert code == 1
    assert stop_codes(document)


def test_a_missing_commission_is_refused(tmp_path: Path):
    for path, said in ((tmp_path / "none.json", "file.not-found"), (tmp_path, "file.is-a-folder")):
        code, document = run("quote", path)
        assert (code, stop_codes(document)) == (1, {said})


@pytest.mark.parametrize("name", ["../secret.svg", "/etc/hostname", "sub/../../secret.svg", "link.svg", ".."])
def test_a_pattern_outside_the_folder_is_not_read(tmp_path: Path, name: str):
    folder = tmp_path / "commission"
    folder.mkdir()
    (tmp_path / "secret.svg").write_bytes((FIXTURES / "patterns" / "underbust.svg").read_bytes())
    (folder / "link.svg").symlink_to(tmp_path / "secret.svg")
    code, document = run("quote", written(folder, changed({"pattern": {"file": name}})))
    assert (code, stop_codes(document)) == (1, {"commission.file-outside"})


def test_a_name_with_a_zero_in_it_is_refused(tmp_path: Path):
    code, document = run("quote", written(tmp_path, changed({"pattern": {"file": "a\0b.svg"}})))
    assert (code, stop_codes(document)) == (1, {"file.not-text"})


def test_faults_of_the_pattern_file_are_told_at_its_place(tmp_path: Path):
    (tmp_path / "broken.json").write_text("{}", encoding="utf-8")
    code, document = run("quote", written(tmp_path, changed({"pattern": {"file": "broken.json"}})))
    assert code == 1
    assert all(found["where"].startswith("pattern.file") for found in document["findings"])


def test_a_missing_material_is_named_by_its_path(tmp_path: Path):
    code, document = run("quote", written(tmp_path, changed({"options.1.cloths.outer": "velvet"})))
    assert code == 1
    assert [found["where"] for found in document["findings"]] == ["options[1].cloths.outer"]


def test_no_price_list_and_no_books_is_a_sentence(tmp_path: Path):
    """In a process of its own, with an empty data folder: the only case that asks for a database."""
    path = written(tmp_path, changed({"price_list": ...}))
    (tmp_path / "books").mkdir()
    done = subprocess.run(
        [sys.executable, "manage.py", "quote", str(path), "--json", "--effort", "none"],
        cwd=PROJECT,
        env={**os.environ, "STUDIO_DATA": str(tmp_path / "books"), "DJANGO_SETTINGS_MODULE": "studio.settings"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert stop_codes(json.loads(done.stdout)) == {"commission.no-price-list"}
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("arguments", [["quote"], ["quote", "x.json", "--wings"], ["takeoff"]])
def test_wrong_usage_leaves_with_2(arguments: list[str]):
    done = subprocess.run(
        [sys.executable, "manage.py", *arguments], cwd=PROJECT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
