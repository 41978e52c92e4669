"""The recipe for a construction: a file, brought into a workroom that was installed before by `migrate` alone."""

import json
from collections.abc import Callable
from typing import Any

from support_recipes import PROJECT, Tree, browser

SHIPPED = "quotes/construction/shipped/"


def use() -> dict[str, Any]:
    from django.contrib.auth.models import User
    from support_books import OPTION

    from quotes.construction.shipped import shipped_codes
    from quotes.desk.quoting import start_quote
    from quotes.models import Client, KeptConstruction, PatternRevision

    maker, pattern = User.objects.get(), PatternRevision.objects.get()
    draft = start_quote(
        client=Client.objects.get(),
        title="Laid over",
        due=None,
        pattern=pattern,
        options=[{**OPTION, "construction": "laid-over"}],
        user=maker,
    )
    return {
        "shipped": sorted(shipped_codes()),
        "first": shipped_codes()[0],
        "is shipped": KeptConstruction.objects.get(code="laid-over").is_shipped,
        "title": draft.snapshot.quotation.options[0].takeoff.construction.title,
        "page": browser().get("/workroom/constructions/laid-over/").status_code,
    }


def test_migrate_brings_it_into_the_site(copied: Callable[..., Tree]):
    document = json.loads((PROJECT / SHIPPED / "two-layer.json").read_text(encoding="utf-8"))
    tree = copied("A construction")
    tree.add(f"{SHIPPED}laid-over.json", json.dumps({**document, "code": "laid-over", "title": "Laid over"}))
    assert tree.is_followed()
    assert tree.run(use) == {
        "shipped": ["fused", "laid-over", "single-layer", "three-layer", "two-layer", "welt"],
        "first": "two-layer",
        "is shipped": True,
        "title": "Laid over",
        "page": 200,
    }
