"""The recipe for a figure that is learnt from materials: flats that are spoilt, quoted by the default, then as learnt.

By hand: two flats of one length and four of another; a tenth of each, whole pieces up, is one more of each: 8. Four pieces
that each took 20 where 6 were needed spoilt 56 of 24; (100 × 0.1 + 56) ÷ (100 + 24) = 53 %: two and three more, 11.
"""

from collections.abc import Callable
from typing import Any

from support_recipes import Tree

ROW = """    "flat_spoilage_share": {"value": 0.1, "unit": "share", "words": "flats spoilt in setting", "source": "house practice, no source"},
"""
SUBJECT = """        Subject(name="flat_spoilage_share", families=("flat",), is_share=True, is_counted=True, least=0.0),
"""
NEEDED = """    "flat_spoilage_share": lambda takeoff: (sum(run.count for run in takeoff.bones if run.kind == "flat"), 0),
"""


def use() -> dict[str, Any]:
    from django.contrib.auth.models import User
    from django.utils import timezone
    from support_bench import delivered_copy
    from support_books import agreed, finished
    from support_shelf import act, stocked

    from inventory.models import StockItem
    from inventory.stock.ledger import issue
    from quotes.desk.figures import work_out
    from quotes.models import PatternRevision, QuoteRevision
    from studio.learning.answers import take
    from studio.learning.learning import propose
    from studio.models import LearntChange

    def flats() -> int:
        takeoff = work_out(draft.inputs, draft.pattern).quotation.options[0].takeoff
        return sum(int(line.quantity) for line in takeoff.lines if line.needed.family == "flat")

    maker, draft = User.objects.get(), QuoteRevision.objects.get()
    before = flats()
    job = finished(agreed(PatternRevision.objects.get(), maker), maker, on=timezone.localdate(), speed=0)
    lot = stocked(StockItem.objects.filter(material__kind="flat")[0], 1000, 10_000)
    for days in (4, 3, 2, 1):
        issue(act(), lot=lot, quantity=20, job=delivered_copy(job, days_ago=days).reference, takes_reserved=True)
    propose(timezone.localdate())
    change = LearntChange.objects.get(what="flat_spoilage_share", state="open")
    take(change, maker)
    return {
        "needed": sum(run.count for run in job.option.takeoff.bones if run.kind == "flat"),
        "before": before,
        "words": change.evidence["words"],
        "after": flats(),
    }


def test_it_is_quoted_by_the_default_and_then_as_learnt(copied: Callable[..., Tree]):
    tree = copied("A figure that is learnt from materials")
    tree.put("quotes/defaults.json", ROW, after='  "takeoff": {\n')
    tree.put("quotes/defaults.py", "    flat_spoilage_share: float\n", after="    tip_spoilage_share: float\n")
    tree.put("quotes/takeoff/losses.py", "    flat_spoilage_share: Figure\n", after="    tip_spoilage_share: Figure\n")
    tree.put("quotes/takeoff/losses.py", SUBJECT, after="    for subject in (\n")
    tree.swap(
        "quotes/takeoff/bones.py",
        "quantity=each(count),",
        "quantity=each(count + whole_up(count * losses.flat_spoilage_share.value)),",
    )
    tree.put("studio/learning/material_use.py", NEEDED, after="tuple[int, int]]] = {\n")
    assert tree.is_followed()
    answer = tree.run(use)
    assert (answer["needed"], answer["before"]) == (6, 8)
    assert answer["words"].startswith("56 were spoilt where 24 were needed, in 4 jobs;")
    assert answer["after"] == 11
