"""Eight presses at once on every form that makes something: one of what it makes, and every answer leads there.

That the same form sent again leads to what it made is what RFC 9110 (9.2.2) calls an idempotent request. On SQLite in a
file, or PostgreSQL where it is named.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from support_clicks import CASES
from support_processes import own_world, python, said

NAMED = (
    *(
        "revise",
        "pattern-new",
        "pattern-measures",
        "operation-add",
        "construction-copy",
        "supplier-new",
        "material-new",
    ),
    *("item-substitute", "lot-count", "stocktakes", "job-start", "fitting-new", "change-new", "calendar, a day off"),
)
"""What is made once whoever asks for it: it has a name or a place of its own."""


def pressed(folder: Path, *arguments: str) -> dict[str, Any]:
    """What the presses came to, case by case, and what the books say of it afterwards."""
    with own_world(folder) as world:
        said(python(world, "manage.py", "migrate", "--verbosity", "0"))
        answers: dict[str, Any] = json.loads(said(python(world, "tests/support_clicks.py", *arguments)))
        answers["audit"] = json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"]
    return answers


@pytest.fixture(scope="module")
def on_one_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return pressed(tmp_path_factory.mktemp("presses"))


@pytest.fixture(scope="module")
def each_on_its_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return pressed(tmp_path_factory.mktemp("pages"), "each-its-page")


@pytest.mark.parametrize("case", CASES)
def test_eight_presses_on_one_page_make_one(on_one_page: dict[str, Any], case: str):
    answers = on_one_page[case]
    assert answers["statuses"] == [302], answers
    assert answers["made"] == 1, answers
    assert len(answers["led_to"]) == 1, answers


@pytest.mark.parametrize("case", CASES)
def test_eight_pages_at_once_are_answered_in_words(each_on_its_page: dict[str, Any], case: str):
    """Two clients may have one name, but no press ends in a fault."""
    answers = each_on_its_page[case]
    assert set(answers["statuses"]) <= {302, 422}, answers
    assert 302 in answers["statuses"], answers
    assert answers["made"] == 1 if case in NAMED else 1 <= answers["made"] <= 8, answers


def test_the_books_agree_afterwards(on_one_page: dict[str, Any], each_on_its_page: dict[str, Any]):
    assert on_one_page["audit"] == each_on_its_page["audit"] == []
    assert set(on_one_page) == {*CASES, "audit"}
