"""The recipe for an operation, as a workroom meets it that was installed before the operation was there.

By hand: 4 minutes to set up and 0.75 for each of four garter loops are 7 minutes.
"""

from collections.abc import Callable
from typing import Any

import pytest
from support_recipes import Tree, browser

CODE = "GARTR"
ROW = {"code": CODE, "name": "Garter loops", "group": "making", "setup_min": 4, "unit_min": {"garter_loop": 0.75}}
SHIPPED = "quotes/construction/shipped/two-layer.json"


def use() -> dict[str, Any]:
    """A draft made before quoted again, a piece made of a new one, its minutes learnt."""
    from django.contrib.auth.models import User
    from django.utils import timezone
    from support_books import agreed, finished
    from support_learning import deliver_again, minutes_of

    from quotes.desk.figures import work_out
    from quotes.models import PatternRevision, QuoteRevision
    from quotes.workroom.settings import workroom
    from studio.learning.answers import take
    from studio.learning.learning import propose
    from studio.models import LearntChange, PieceAccount

    maker, site = User.objects.get(), browser()
    stored = {row["code"] for row in workroom().times["operations"]}
    draft = QuoteRevision.objects.get()
    again = work_out(draft.inputs, draft.pattern)
    pages = {path: site.get(path).status_code for path in ("/quotes/1/1/", "/workroom/minutes/")}
    job = finished(agreed(PatternRevision.objects.get(), maker), maker, on=timezone.localdate(), speed=1)
    for days in (4, 3, 2, 1):
        deliver_again(job, maker, days_ago=days, slow=2.0, at=CODE)
    propose(timezone.localdate())
    take(LearntChange.objects.get(what=CODE, state="open"), maker)
    return {
        "was stored": CODE in stored,
        "quoted again": [
            row.minutes for row in again.quotation.options[0].takeoff.labour.operations if row.code == CODE
        ],
        "pages": list(pages.values()),
        "logged": job.operations.get(code=CODE).entries.get().minutes,
        "in the account": any(op.code == CODE for op in PieceAccount.objects.get(job=job).kept.actual.hours),
        "planned after": minutes_of(job, CODE),
    }


@pytest.fixture
def answer(copied: Callable[..., Tree]) -> dict[str, Any]:
    tree = copied("An operation")
    tree.put("quotes/takeoff/drivers.py", '    GARTER_LOOP = "garter_loop"\n', after='    BUSK_PART = "busk_part"\n')
    tree.put(
        "quotes/takeoff/work.py",
        "        Driver.GARTER_LOOP: 4,\n",
        after="        Driver.BUSK_PART: 2 * front.loops,\n",
    )
    tree.put_row("quotes/labour/standard_minutes.json", "operations", ROW)
    tree.put_row(SHIPPED, "operations", {"code": CODE}, after="CORD")
    assert tree.is_followed()
    return tree.run(use)


def test_a_workroom_installed_before_quotes_makes_times_and_learns_it(answer: dict[str, Any]):
    assert not answer["was stored"]
    assert answer["quoted again"] == [7.0]
    assert answer["pages"] == [200, 200]
    assert answer["logged"] == round(7 * 1.15)  # with the allowance
    assert answer["in the account"]
    assert 9 < answer["planned after"] < 14  # toward the double, as far as five short sittings can be believed
