"""The recipe for a figure that is learnt from materials: needles that break, quoted by the default, then as learnt.

By hand: one needle a piece; a tenth more, whole pieces up, is one more: 2. Four pieces that each took 30 where 1 was needed
broke 116 of 4; (100 × 0.1 + 116) ÷ (100 + 4) = 121 %: two more, 3.
"""

from collections.abc import Callable
from typing import Any

from support_recipes import Tree

ROW = """    "needle_spoilage_share": {"value": 0.1, "unit": "share", "words": "needles broken", "source": "house practice, no source"},
"""
SUBJECT = """        Subject(name="needle_spoilage_share", families=("needle",), is_share=True, is_counted=True, least=0.0),
"""
NEEDED = """    "needle_spoilage_share": lambda _: 1,
"""
IN_THE_LINE = {
    "choices: Choices, shelf: Shelf) -> list[MaterialLine]:": "choices: Choices, shelf: Shelf, losses: Losses) -> list[MaterialLine]:",
    "import Figure, with_use": "import Figure, Losses, with_use",
    'garment", shelf, source="from memory"': 'garment", shelf, source="from memory", more=losses.needle_spoilage_share.value',
    "*, source: str) -> MaterialLine:": "*, source: str, more: float = 0.0) -> MaterialLine:",
    "quantity=each(1),": "quantity=each(1 + whole_up(more)),",
}


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

    def needles() -> int:
        takeoff = work_out(draft.inputs, draft.pattern).quotation.options[0].takeoff
        return sum(int(line.quantity) for line in takeoff.lines if line.needed.family == "needle")

    maker, draft = User.objects.get(), QuoteRevision.objects.get()
    before = needles()
    job = finished(agreed(PatternRevision.objects.get(), maker), maker, on=timezone.localdate(), speed=0)
    lot = stocked(StockItem.objects.filter(material__kind="needle")[0], 1000, 10_000)
    for days in (4, 3, 2, 1):
        issue(act(), lot=lot, quantity=30, job=delivered_copy(job, days_ago=days).reference, takes_reserved=True)
    propose(timezone.localdate())
    change = LearntChange.objects.get(what="needle_spoilage_share", state="open")
    take(change, maker)
    return {
        "before": before,
        "words": change.evidence["words"],
        "after": needles(),
    }


def test_it_is_quoted_by_the_default_and_then_as_learnt(copied: Callable[..., Tree]):
    tree = copied("A figure that is learnt from materials")
    tree.put("quotes/defaults.json", ROW, after='  "takeoff": {\n')
    tree.put("quotes/defaults.py", "    needle_spoilage_share: float\n", after="    tip_spoilage_share: float\n")
    tree.put(
        "quotes/takeoff/losses.py", "    needle_spoilage_share: Figure\n", after="    tip_spoilage_share: Figure\n"
    )
    tree.put("quotes/takeoff/losses.py", SUBJECT, after="    for subject in (\n")
    for words, others in IN_THE_LINE.items():
        tree.swap("quotes/takeoff/sundries.py", words, others)
    tree.swap(
        "quotes/takeoff/take_off.py", "small_lines(places, choices, shelf)", "small_lines(places, choices, shelf, lost)"
    )
    tree.put(
        "studio/learning/material_use.py",
        NEEDED,
        after='    "tip_spoilage_share": lambda takeoff: sum(run.tips * run.count for run in takeoff.bones),\n',
    )
    assert tree.is_followed()
    answer = tree.run(use)
    assert answer["before"] == 2
    assert answer["words"].startswith("116 were spoilt where 4 were needed, in 4 jobs;")
    assert answer["after"] == 3
