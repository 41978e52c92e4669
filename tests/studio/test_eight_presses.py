"""Eight presses at once on every form that makes something: one of what it makes, and every answer leads there.

That the same form sent again leads to what it made is what RFC 9110 (9.2.2) calls an idempotent request. On SQLite in a
file, or PostgreSQL where it is named.
"""

import json
import os
from pathlib import Path
from typing import Any

import pytest
from support_addresses import POSTED
from support_clicks import CASES
from support_processes import own_world, python, said

NAMED = frozenset(
    {
        *("revise", "pattern-new", "pattern-measures", "operation-add", "construction-copy", "supplier-new"),
        *("material-new", "item-substitute", "lot-count", "stocktakes", "job-start", "fitting-new", "change-new"),
        *("calendar, a day off", "payment-reverse", "credit-take-back", "day-present", "day-answer", "time-correct"),
        *("sitting-start", "timer-join", "job-dates", "job-deliver", "crumbs", "order-new-day", "order-receive"),
        *("reorder-orders", "order-cost", "lot-cost", "job-stand-in"),
        *("import-preview", "stocktake-review", "send", "accept", "private-offer, a yes", "month-close"),
        *("job-cut", "cut-together", "joint-lay", "month-reopen", "pattern-table-keep"),
    }
)
"""What is made once whoever asks for it: it has a name or a place of its own, or is decided or answered once."""
WRITES_OVER = "keeps what stands in the form in place of what stood there; the same once more changes nothing"
OLD_PAGE = f"{WRITES_OVER}, and a page of an older version is refused"
TAKES_AWAY = "takes away what is there; once more finds nothing"
STATE = "brings something into a state that it has or has not; once more finds it there"
NOTHING_MADE = {
    **dict.fromkeys(("client-edit", "client-health", "construction", "item-edit", "material", "minutes"), WRITES_OVER),
    **dict.fromkeys(("offer", "offer-answer", "settings", "supplier-edit", "workroom", "workroom-rates"), WRITES_OVER),
    **dict.fromkeys(("account-again", "fitting-held", "fitting-move", "import-match", "reservation-line"), WRITES_OVER),
    **dict.fromkeys(("count-line", "stocktake-by-length", "stocktake-upload", "job-move"), WRITES_OVER),
    **dict.fromkeys(("material-forms-add", "material-forms-prices"), WRITES_OVER),
    **dict.fromkeys(("import-table", "import-answers", "import-row", "import-leave-out", "pattern-table"), WRITES_OVER),
    "pattern-cards-measured": WRITES_OVER,
    **dict.fromkeys(
        ("extras", "newer-pattern", "folding", "option", "option-remove", "order-edit", "overrule", "rates"), OLD_PAGE
    ),
    **dict.fromkeys(
        ("calendar-link-take-away", "client-erase", "day-off-take-away", "item-substitute-remove"), TAKES_AWAY
    ),
    **dict.fromkeys(
        ("job-photo-take-away", "offer-remove", "pattern-measuring-drop", "pattern-photographs-drop"), TAKES_AWAY
    ),
    "pattern-measuring-ruler": WRITES_OVER,
    "pattern-measuring": "takes whatever step is next, each once; tried in test_measuring_photographs",
    "pattern-measuring-again": "takes back what the clock refused, of which then nothing is left",
    "pattern-measuring-others": "takes the place of what was refused, of which then nothing is left",
    **dict.fromkeys(("decline", "job-cancel", "job-seams", "job-stage", "learning-refuse", "learning-take"), STATE),
    **dict.fromkeys(
        ("learning-take-back", "offer-revoke", "operation-tick", "order-cancel", "order-line-close"), STATE
    ),
    **dict.fromkeys(("order-place", "reservation-again", "reservation-release", "stocktake-drop", "timer-stop"), STATE),
    "first-day": "pressed in test_first_day_at_once, where nobody has logged in yet",
    **dict.fromkeys(
        ("lays", "lay-cloth", "joint-search", "joint-lay-longer"), "a lay is kept by the key of its problem"
    ),
    **dict.fromkeys(("login", "logout", "password"), "Django’s own"),
}
"""The forms that make nothing, and why none of them can make it twice."""


def test_every_form_is_pressed_or_makes_nothing():
    """A route that takes a posted form is a case of `support_clicks`, or stands above with its reason."""
    tried = {case.partition(",")[0] for case in CASES}
    assert tried & NOTHING_MADE.keys() == set()
    assert tried | NOTHING_MADE.keys() == POSTED


def pressed(folder: Path, *arguments: str) -> dict[str, Any]:
    """What the presses came to, case by case, and what the books say of it afterwards."""
    with own_world(folder) as world:
        said(python(world, "manage.py", "migrate", "--verbosity", "0"))
        answers: dict[str, Any] = json.loads(
            said(python(world, "tests/support_clicks.py", *arguments), within_seconds=600)
        )
        answers["audit"] = json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"]
    return answers


pytestmark = pytest.mark.xdist_group("eight presses")
"""All presses are made once, by whichever process has their tests."""


@pytest.fixture(scope="module")
def on_one_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return pressed(tmp_path_factory.mktemp("presses"))


@pytest.fixture(scope="module")
def each_on_its_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return pressed(tmp_path_factory.mktemp("pages"), "each-its-page")


def test_one_process_has_all_of_these_tests(request: pytest.FixtureRequest):
    """pytest-xdist keeps a group together by a name that it adds; where pytest does not take it, each process presses anew."""
    assert "PYTEST_XDIST_WORKER" not in os.environ or request.node.nodeid.endswith("@eight presses")


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
