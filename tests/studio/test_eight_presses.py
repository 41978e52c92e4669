"""Eight presses at once on every form that makes something: one of what it makes, and every answer leads there.

That the same form sent again leads to what it made is what RFC 9110 (9.2.2) calls an idempotent request. On SQLite in a
file, or PostgreSQL where it is named.
"""

import json
from typing import Any

import pytest
from support_clicks import CASES
from support_processes import own_world, python, said


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the presses came to, case by case, and what the books say of it afterwards."""
    with own_world(tmp_path_factory.mktemp("presses")) as world:
        said(python(world, "manage.py", "migrate", "--verbosity", "0"))
        answers: dict[str, Any] = json.loads(said(python(world, "tests/support_clicks.py")))
        answers["audit"] = json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"]
    return answers


@pytest.mark.parametrize("case", CASES)
def test_eight_presses_make_one(told: dict[str, Any], case: str):
    answers = told[case]
    assert answers["statuses"] == [302], answers
    assert answers["made"] == 1, answers
    assert len(answers["led_to"]) == 1, answers


def test_the_books_agree_afterwards(told: dict[str, Any]):
    assert told["audit"] == []
    assert set(told) == {*CASES, "audit"}
