"""Changes that were kept by earlier versions read as they were meant: each golden row was kept by the version that wrote
it, and the words beside it here are those that its page showed.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from quotes.labour.learning.grounds import GROUNDS
from studio.learning.page import change_row
from studio.models import LearntChange

KEPT = json.loads((Path(__file__).parents[3] / "fixtures" / "documents" / "learnt-1.json").read_text(encoding="utf-8"))
ASIDE = "J-10, 6 November 2026: 4.22 m where 0.55 m was expected: a re-cut, or entered wrongly"
SHOWN = [
    ("First pass", "21 min", "31 min", [], "+€6.48", "on J-15"),
    ("How far a piece’s hours may be off", "× 0.92 to 1.19", "× 0.96 to 1.05", [], "", "moves no price"),
    ("Cloth used of what its lay takes", "× 1", "× 1.299", [ASIDE], "+€8.28", "on J-10"),
]


@pytest.mark.parametrize(("row", "shown"), list(zip(KEPT, SHOWN, strict=True)))
def test_the_page_shows_what_it_showed(row: dict[str, Any], shown: tuple[object, ...]):
    change = change_row(LearntChange(pk=1, **row), set())
    assert (change.name, change.now, change.learnt, change.aside, change.effect, change.example) == shown
    assert change.evidence == row["evidence"]["words"]


@pytest.mark.parametrize("row", KEPT)
def test_nothing_that_was_kept_is_lost(row: dict[str, Any]):
    codec = GROUNDS[row["kind"]]
    assert codec.written(codec.read(row["evidence"])) == {"version": 1, "aside": [], **row["evidence"]}


def test_what_was_decided_before_entries_were_kept_names_none():
    evidence = {name: value for name, value in KEPT[2]["evidence"].items() if name != "aside"}
    assert GROUNDS["loss"].read(evidence).aside == ()
