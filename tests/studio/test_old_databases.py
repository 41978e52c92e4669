"""Databases that earlier versions wrote open, migrate and answer as they did; the answers were kept from those versions."""

import json
import lzma
import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

PROJECT = Path(__file__).parents[2]
QUERIES: dict[str, int] = json.loads((PROJECT / "tests" / "query_budgets.json").read_text(encoding="utf-8"))
"""The most queries that a page of each kind may ask, by the name of its address."""
SHARE = 3
"""Of the documents of a database one in so many is printed and read: the databases tell of much the same quotes, each of another share."""
DATABASES = sorted((PROJECT / "fixtures" / "databases").glob("*.sqlite3.xz"))


def read(path: Path) -> bytes:
    with lzma.open(path) as packed:
        return packed.read()


@pytest.fixture(
    scope="module",
    params=[
        # What one of them answers is asked once, by whichever process has its tests.
        pytest.param(path, id=name, marks=pytest.mark.xdist_group(name))
        for path in DATABASES
        for name in (path.name.split(".")[0],)
    ],
)
def answers(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict, dict]:
    """What the version that wrote the database answered, and what this one answers."""
    data = tmp_path_factory.mktemp("old")
    (data / "studio.sqlite3").write_bytes(read(request.param))
    then = json.loads(read(request.param.with_name(request.param.name.replace("sqlite3", "answers.json"))))
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    program = PROJECT / "tests" / "support_old_databases.py"
    documents = f"{1 + DATABASES.index(request.param) % SHARE} of {SHARE}"
    done = subprocess.run(
        [sys.executable, program],
        env={**environment, "STUDIO_DATA": str(data), "ASKED_AT": then["asked_at"], "DOCUMENTS": documents},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    return then, json.loads(done.stdout)


def assert_holds(now: Any, then: Any, where: str = "") -> None:
    """All that was said is said still; keys may be added, as the commands promise."""
    if isinstance(then, dict):
        for key, value in then.items():
            assert key in now, f"{where}.{key}"
            assert_holds(now[key], value, f"{where}.{key}")
    elif isinstance(then, list):
        assert len(now) == len(then), where
        for number, (new, old) in enumerate(zip(now, then, strict=True)):
            assert_holds(new, old, f"{where}[{number}]")
    else:
        assert now == then, where


def test_an_audit_of_the_migrated_books_finds_nothing(answers: tuple[dict, dict]):
    then, now = answers
    assert now["audit"]["differences"] == []
    assert_holds(now["audit"], then["audit"])


def test_every_piece_earned_what_it_earned(answers: tuple[dict, dict]):
    """But for time that nobody logged: in open months it counts as planned now, and closed ones stand."""
    then, now = answers
    pieces = list(zip(now["profit"]["pieces"], then["profit"]["pieces"], strict=True))
    told_anew = [(new, old) for new, old in pieces if Decimal(new["missing_hours"]) and "missing_hours" not in old]
    if "missing_hours" in pieces[0][1]:
        assert_holds(now["profit"], then["profit"])
    else:
        assert 0 < len(told_anew) < 6 < len(pieces)
    for new, old in pieces:
        if (new, old) not in told_anew:
            assert_holds(new, old)
    for new, old in told_anew:
        steps = sum(Decimal(step["amount"]) for step in new["bridge"])
        assert Decimal(new["quoted_profit"]) + steps == Decimal(new["actual_profit"])
        assert (new["net"], new["quoted_profit"]) == (old["net"], old["quoted_profit"])
        assert Decimal(new["hours"]) >= Decimal(old["hours"])
    totals = now["profit"]["totals"]
    assert_holds(totals["win_rates"], then["profit"]["totals"]["win_rates"])
    assert (totals["net"], totals["pieces"]) == (then["profit"]["totals"]["net"], len(pieces))
    assert Decimal(totals["actual_profit"]) == sum(Decimal(new["actual_profit"]) for new, _ in pieces)


def test_every_sealed_quote_reads_as_it_was_sent(answers: tuple[dict, dict]):
    then, now = answers
    assert len(now["documents"]) >= len(then["documents"]) // SHARE > 0
    assert now["documents"].items() <= then["documents"].items()
    assert all(text for text in then["documents"].values())


def test_every_page_answers(answers: tuple[dict, dict]):
    _, now = answers
    assert len(now["pages"]) > 100
    assert {address: page for address, page in now["pages"].items() if page["status"] not in (200, 302)} == {}


def test_reading_a_page_writes_nothing(answers: tuple[dict, dict]):
    _, now = answers
    assert {address: page["writes"] for address, page in now["pages"].items() if page["writes"]} == {}


def test_every_kind_of_page_keeps_to_its_queries(answers: tuple[dict, dict]):
    """On two years of books; a kind that the table lacks is a page that nobody has counted."""
    _, now = answers
    asked: dict[str, int] = {}
    for page in now["pages"].values():
        asked[page["kind"]] = max(asked.get(page["kind"], 0), page["queries"])
    assert {kind: most for kind, most in asked.items() if most > QUERIES.get(kind, 0)} == {}
